"""The words that need saying what they mean: one place, shown where each word stands."""

from __future__ import annotations

from markupsafe import Markup

from events.food_rules import CLOCK_LIMIT_MIN
from events.model import Event
from service.text import formatting
from solver.policy import SKIES_MOST

# Word, then what it means; {cold} and {hot} are 5 and 60 °C as the event says them.
TERMS: dict[str, tuple[str, str]] = {
    "window": ("Usable sun", "High enough, not behind your skyline, and strong enough to cook."),
    "typical": (
        "Typical",
        "Figures of a cooker like this one, not of yours: a wide guess. A litre of water, twenty "
        "minutes and two readings make them yours.",
    ),
    "measured": ("Measured", "From a test or from probe readings of this very cooker."),
    "middle": ("Middle", "Of the thickest part: the last to get hot, and where the probe goes."),
    "poor": (
        "Poor sky",
        "Done by then on the slower side: eight of ten days like this are at least as quick.",
    ),
    "skies": (
        "Of 100 skies",
        "A hundred days drawn about this forecast, with late hands and each cooker’s doubt: on so "
        f"many it is done, safe and in time. In fives, and never over {SKIES_MOST}.",
    ),
    "spare": ("To spare", "Minutes between done, and rested, and the time that was promised."),
    "gas": (
        "On gas by",
        "The last moment at which a slow pot can still be saved on a ring, should the day stay "
        "poor.",
    ),
    "band": (
        "{cold} to {hot}",
        "Warm enough for germs to grow. The minutes add up; food that can spoil is thrown away "
        f"at {CLOCK_LIMIT_MIN}.",
    ),
    "holds": ("Holds until", "By then the sun has walked out of its aim: turn it before that."),
    "tip": (
        "Shadow tip",
        "Lay the aiming card flat in the cooker’s opening, 12 at the upper edge, and stand its pin "
        "up. Move the cooker until the tip of the shadow lies on this ring, at this hour. A cooker "
        "that can’t be tilted has a level dial: only the hour counts.",
    ),
    "proven": (
        "Best possible",
        "Proven: here no plan is better, unless it is worse in a line above this one.",
    ),
    "worth": (
        "Of its described strength",
        "What probe readings say it wins today, beside what was typed of it. In brackets: how "
        "sure that is.",
    ),
}


def band(event: Event | None) -> str:
    """Return the temperatures between which germs grow, as an event says them: 5 to 60 °C."""
    return _filled("{cold} to {hot}", event)


def term(event: Event | None, key: str, shown: str = "") -> Markup:
    """Return a word that says what it means when it is pressed; once on a page, for its id."""
    word, meaning = (_filled(text, event) for text in TERMS[key])
    return Markup(
        '<button type="button" class="term" popovertarget="t-{key}">{shown}</button>'
        '<span popover class="explain" id="t-{key}"><b>{word}</b> {meaning}</span>'
    ).format(key=key, shown=shown or word, word=word, meaning=meaning)


def glossary() -> list[tuple[str, str]]:
    """Return every word with what it means."""
    return [(_filled(word, None), _filled(meaning, None)) for word, meaning in TERMS.values()]


def _filled(text: str, event: Event | None) -> str:
    if "{" not in text:
        return text
    cold, hot = (
        ("5", "60 °C") if event is None else (formatting.temp(event, 5), formatting.temp(event, 60))
    )
    return text.format(cold=cold.split(" ")[0], hot=hot)
