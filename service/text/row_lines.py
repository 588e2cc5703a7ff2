"""One line for each row of the planner: the figures that matter, read before its form is opened."""

from __future__ import annotations

from events.kinds import Ability
from events.kitchen import Cooker, Helper, Meal
from events.model import Event, Talk
from service.text.cookers import strength_source
from service.text.formatting import hour, listed, lower_first, size

ABILITY_WORDS: dict[Ability, str] = {"mirrors": "mirrors", "burner": "gas", "lift": "lifting"}


def row_lines(event: Event, kind: str) -> dict[str, str]:
    """Return the line of each row of one table of an event, by the row's id."""
    match kind:
        case "cooker":
            return {c.id: _cooker(event, c) for c in event.cookers}
        case "meal":
            return {m.id: _meal(event, m) for m in event.meals}
        case "helper":
            return {h.id: _helper(event, h) for h in event.helpers}
        case "talk":
            return {t.id: _talk(event, t) for t in event.talks}
    return {}


def _cooker(event: Event, cooker: Cooker) -> str:
    where = event.station(cooker.station).name if cooker.station else ""
    source = strength_source(cooker) if cooker.on_sun else ""
    return ", ".join(filter(None, (size(cooker, event.units), source, lower_first(where))))


def _meal(event: Event, meal: Meal) -> str:
    groups = f", in {meal.waves} groups" if meal.waves > 1 else ""
    return f"{_hours(event, meal)}, {meal.portions} portions{groups}"


def _helper(event: Event, helper: Helper) -> str:
    may = [ABILITY_WORDS[ability] for ability in helper.may if helper.adult]
    return f"{_hours(event, helper)}, {listed(may) or 'light jobs'}"


def _hours(event: Event, row: Meal | Helper) -> str:
    return f"{hour(event, row.start)} to {hour(event, row.end)}"


def _talk(event: Event, talk: Talk) -> str:
    at = f"at {hour(event, talk.at)}" if talk.at else "the plan chooses when"
    names = [event.helper(s).name for s in (talk.speaker, *talk.speakers) if s]
    speakers = f", {' or '.join(dict.fromkeys(names))}" if names else ""
    cooker = f", at {event.cooker(talk.cooker).name}" if talk.cooker else ""
    return f"{at}, {talk.minutes} min{speakers}{cooker}"
