"""One line for each row of the planner: the figures that matter, read before its form is opened."""

from __future__ import annotations

from events.contest import ContestCooker, Entry, Judge, Team
from events.kinds import Ability
from events.kitchen import Cooker, Helper, Meal
from events.model import Event, Talk
from events.rounds import Group, Stop
from events.site import Station
from service.text.allergens import name_of
from service.text.cookers import strength_source
from service.text.formatting import hour, listed, lower_first, metres, size
from service.text.rota import who_goes
from service.text.sittings import meal_times

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
        case "station":
            return {s.id: _station(event, s) for s in event.stations}
        case "group":
            return {g.id: _group(event, g) for g in event.groups}
        case "stop":
            return {s.id: _stop(event, s) for s in event.stops}
    return _contest_lines(event, kind)


def _contest_lines(event: Event, kind: str) -> dict[str, str]:
    match kind:
        case "team":
            return {t.id: _team(t) for t in event.teams}
        case "entry":
            return {e.id: _entry(event, e) for e in event.entries}
        case "contest_cooker":
            return {c.id: _contest_cooker(event, c) for c in event.contest_cookers}
        case "judge":
            return {j.id: _judge(event, j) for j in event.judges}
        case "criterion":
            return {c.id: f"weight {c.weight}, 0 to {c.points_max}" for c in event.criteria}
    return {}


def _cooker(event: Event, cooker: Cooker) -> str:
    where = event.station(cooker.station).name if cooker.station else ""
    source = strength_source(cooker) if cooker.on_sun else ""
    return ", ".join(filter(None, (size(cooker, event.units), source, lower_first(where))))


def _meal(event: Event, meal: Meal) -> str:
    return f"{meal_times(event, meal)}, {meal.portions} portions"


def _helper(event: Event, helper: Helper) -> str:
    may = [ABILITY_WORDS[ability] for ability in helper.may if helper.adult]
    return f"{_hours(event, helper)}, {listed(may) or 'light jobs'}"


def _station(event: Event, station: Station) -> str:
    drawn = event.contest is not None and station.id in event.contest.stations
    east, north = (metres(event, at_m) for at_m in (station.x_m, station.y_m))
    return f"{east} east, {north} north" + (", drawn by lot" if drawn else "")


def _group(event: Event, group: Group) -> str:
    return who_goes(event, group) + (", children" if group.young else "")


def _stop(event: Event, stop: Stop) -> str:
    at = [event.cooker(c).name for c in stop.cookers]
    return f"{event.rota.minutes_at(stop)} min" + (f", at {listed(at)}" if at else "")


def _team(team: Team) -> str:
    young = f", {team.young} of them young" if team.young else ""
    return f"{team.people} people{young}" + (", one trained for mirrors" if team.trained else "")


def _entry(event: Event, entry: Entry) -> str:
    cooker = event.contest_cooker(entry.cooker).name if entry.cooker else "a cooker by lot"
    out = ", withdrawn" if entry.withdrawn else ""
    return f"{event.team(entry.team).name}, {entry.dish.portions} portions, {cooker}{out}"


def _contest_cooker(event: Event, cooker: ContestCooker) -> str:
    whose = event.team(cooker.team).name if cooker.team else "drawn by lot"
    return f"{size(cooker, event.units)}, {whose}"


def _judge(event: Event, judge: Judge) -> str:
    kin = [event.team(t).name for t in judge.kin]
    avoids = [lower_first(name_of(event, a)) for a in judge.avoids]
    passes = f", not {listed(kin)}" if kin else ""
    return f"{_hours(event, judge)}{passes}" + (f", no {listed(avoids)}" if avoids else "")


def _hours(event: Event, row: Helper | Judge) -> str:
    return f"{hour(event, row.start)} to {hour(event, row.end)}"


def _talk(event: Event, talk: Talk) -> str:
    at = f"at {hour(event, talk.at)}" if talk.at else "the plan chooses when"
    names = [event.helper(s).name for s in (talk.speaker, *talk.speakers) if s]
    speakers = f", {' or '.join(dict.fromkeys(names))}" if names else ""
    cooker = f", at {event.cooker(talk.cooker).name}" if talk.cooker else ""
    return f"{at}, {talk.minutes} min{speakers}{cooker}"
