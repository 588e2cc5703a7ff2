"""Talks that float, in words: what is to be seen, how surely, and why one is not given."""

from __future__ import annotations

from events.model import Event
from events.rounds import Moment
from service.text.formatting import clock, lower_first, mass, temp
from solver.programme import Giving, NotGiven, ShowingLoad, TalkReason

SEES: dict[Moment, str] = {
    "loading": "how {cooker} is loaded",
    "lid-opened": "the lid of {cooker} opened",
    "lifted": "the pot out of {cooker}",
    "turn": "how {cooker} is turned",
    "first-steam": "first steam in {cooker}",
    "boil": "a real boil in {cooker}",
    "over-100": "the inside of {cooker} over {hot}",
}
NOT_GIVEN: dict[TalkReason, str] = {
    "not-shown": "what it shows is to be seen in {best_of_100} of 100 skies at best, wanted are "
    "{wanted_of_100}. What helps: hot water from a flask, less of it, a cooker that was measured, "
    "ten minutes more, or a boil that lasts instead of its beginning.",
    "no-speaker": "it could be shown, but none of its speakers is free then. What helps: another "
    "speaker, or wider hours.",
    "no-cooker": "a pot of water or an empty box put on for it alone would show it, but no cooker "
    "and pot are free then. What helps: another hour, or one more cooker or pot.",
    "no-hands": "a pot of water or an empty box put on for it alone would show it, but nobody is "
    "free to set it on the sun, turn it and speak. What helps: another hour, or one more helper.",
    "cooker-out": "the cooker that was to show it is out of action. What helps: say at which other "
    "cooker, or at any.",
    "no-room": "it could be shown, but other talks take the time. What helps: wider hours, or "
    "fewer times.",
}


def shown(event: Event, giving: Giving) -> str:
    """Return what a giving shows and how surely; empty for one that shows nothing."""
    moment = event.talk(giving.talk_id).moment
    if moment is None or giving.cooker_id is None:
        return ""
    cooker = event.cooker(giving.cooker_id).name
    words = f"Shows {SEES[moment].format(cooker=cooker, hot=temp(event, 100))}"
    if giving.moment_at is not None:
        words += f", about {clock(event, giving.moment_at)}"
    words += f", in {giving.of_100} of 100 skies"
    return f"{words}. {put_on(event, giving.load)}" if giving.load else words


def put_on(event: Event, load: ShowingLoad) -> str:
    """Return what is put on the sun for a talk alone, and when; it is not for eating."""
    cooker, at = event.cooker(load.cooker_id).name, clock(event, load.loaded_at)
    if load.pot_id is None:
        return f"{cooker} is put on the sun for it at {at}, empty"
    pot = lower_first(event.pot(load.pot_id).name)
    return f"For it alone: {mass(event, load.water_kg)} of water in {pot}, put on at {at}"


def not_given(event: Event, why: NotGiven) -> str:
    """Return that a talk has no time, why, and what would help."""
    talk = event.talk(why.talk_id)
    times = "" if talk.times == 1 else f" ({why.givings} of {talk.times} times)"
    figures = {"best_of_100": why.best_of_100, "wanted_of_100": why.wanted_of_100}
    return f"{talk.name} is not given{times}: {NOT_GIVEN[why.reason].format_map(figures)}"
