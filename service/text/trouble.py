"""What can go wrong at a cooker, what each press is called, and what to do now.

The steps are common practice, no published source; those for burns, eyes and fire are general
first-aid advice from memory. Qualified help decides.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from events.diary import EntryKind
from events.model import Event

Icon = Literal["hurt", "fire", "hand", "wind", "broken", "cloud", "sun", "cold", "late", "pot"]
GRAVE: tuple[EntryKind, ...] = ("hurt", "fire", "need-help")
PHONE_NUMBER = re.compile(r"\+?\d[\d ()/.-]{1,20}\d")


Needs = Literal["mirror", "gas", "no-gas"]


@dataclass(frozen=True)
class Step:
    """One thing to do now: the order, and how; and what must be on the site for it to be said."""

    order: str
    how: str = ""
    needs: Needs | None = None


@dataclass(frozen=True)
class Trouble:
    """A press of the trouble page and what its page says after it."""

    kind: EntryKind
    icon: Icon
    title: str
    hint: str
    steps: tuple[Step, ...]
    needs: Needs | None = None

    @property
    def grave(self) -> bool:
        """Whether it is about people: it comes first, and all phones show it."""
        return self.kind in GRAVE


TROUBLES = (
    Trouble(
        "hurt",
        "hurt",
        "Someone is hurt",
        "burn, eyes, faint",
        (
            Step("Cooker off the sun.", "Turn it away or cover it."),
            Step("Gas off.", needs="gas"),
            Step("Burn: cool running water, 20 minutes.", "No ice, no cream, no butter."),
            Step("Eyes hurt or blurred:", "into the shade, eyes shut, to a doctor."),
            Step("Stay with them.", "Send somebody to fetch help."),
        ),
    ),
    Trouble(
        "fire",
        "fire",
        "Fire",
        "or smoke",
        (
            Step("Shout “Fire”.", "Everybody away, against the wind."),
            Step("Cookers off the sun,", "if you can reach them without danger."),
            Step("Gas off,", "if you can reach it without danger.", needs="gas"),
            Step(
                "Small:", "lid or blanket on it, or the extinguisher. Never water on burning oil."
            ),
            Step("It grows?", "Leave it. Call the fire service."),
        ),
    ),
    Trouble(
        "need-help",
        "hand",
        "I need help",
        "come to me",
        (
            Step("Make the cooker safe.", "Turn it away from the sun, or cover it."),
            Step("Stay there.", "Whoever runs the day sees where you are."),
        ),
    ),
    Trouble(
        "parked",
        "wind",
        "Wind",
        "it rocks or tips",
        (
            Step("Mirror:", "turn it away from the sun, cover it, lay it down.", needs="mirror"),
            Step("Box, panel:", "lid shut, weigh it down. Nobody beside the glass."),
            Step("Wind over?", "Press Trouble, then “Sun is back”. Aim by the card."),
        ),
    ),
    Trouble(
        "out-of-action",
        "broken",
        "Broken",
        "glass, stand, mirror",
        (
            Step("Turn it away from the sun", "or cover it. Nobody near."),
            Step("Broken glass:", "gloves. Food with glass in it is thrown away."),
            Step("The pot is good?", "Lid on, and ask where it goes."),
        ),
    ),
    Trouble(
        "cloud",
        "cloud",
        "Cloud",
        "no clear shadows",
        (
            Step("Lids shut, keep aiming, wait.", "Turn by the ruler at the set times."),
            Step(
                "No sun for 20 minutes?",
                "Say so to whoever runs the day, who decides about gas.",
                needs="gas",
            ),
            Step(
                "No sun for 20 minutes?",
                "Say so to whoever runs the day, who decides what is served.",
                needs="no-gas",
            ),
        ),
    ),
    Trouble(
        "sun",
        "sun",
        "Sun is back",
        "cloud or wind is over",
        (
            Step("Aim by the shadow again."),
            Step("Stay behind the mirror,", "in its shade.", needs="mirror"),
        ),
    ),
    Trouble(
        "to-burner",
        "cold",
        "Pot too cool",
        "it goes on the gas ring",
        (
            Step("Mirror: turn it away first.", needs="mirror"),
            Step("Lift it,", "gloves on, lid on."),
            Step("Onto the gas ring.", "Stir, and bring it to a real boil."),
            Step("The probe decides.", "Write the reading down at the cooker’s page."),
        ),
        needs="gas",
    ),
    Trouble(
        "late",
        "late",
        "I am late",
        "ten minutes",
        (Step("Your next job waits for you.", "Can’t come at all? Call whoever runs the day."),),
    ),
    Trouble(
        "discarded",
        "pot",
        "Food spoilt",
        "not fit to eat",
        (
            Step("Nobody eats it.", "Lid on, carry it away from the table."),
            Step("Wash hands and spoons.", "Then say so to whoever serves."),
        ),
    ),
)


def troubles_of(event: Event) -> list[Trouble]:
    """Return what can go wrong on an event's site: nothing is said of what is not there."""
    gas = any(c.on_gas for c in event.cookers)
    mirrors = any(c.nature.concentrates for c in event.cookers)
    there = {None, "gas" if gas else "no-gas", *(["mirror"] if mirrors else [])}
    return [
        replace(t, steps=tuple(s for s in t.steps if s.needs in there))
        for t in TROUBLES
        if t.needs in there
    ]


def phone_numbers(text: str) -> list[str]:
    """Return the telephone numbers in a text, to be called with one press."""
    return [found.strip() for found in PHONE_NUMBER.findall(text)]
