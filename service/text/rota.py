"""The rota in words: a group's round and a stop's visits, as lines in time order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from events.model import Event
from events.rounds import Group, StopMoment
from service.text.formatting import clock, joined, listed, metres, temp
from solver.plan import Plan
from solver.programme import RotaHelp, RotaLevelKey, RotaPlan, Sight, Visit, posts_of

MOMENT: dict[StopMoment, str] = {
    "loading": "{at} {cooker} is loaded",
    "lid-opened": "{at} the lid of {cooker} is opened",
    "lifted": "{at} the pot comes out of {cooker}",
    "turn": "{at} {cooker} is turned",
    "first-steam": "about {at} first steam in {cooker}, as expected",
    "boil": "from about {at} {cooker} boils, as expected",
    "served": "from {at} food out of {cooker} is served: taste it",
    "over-100": "from about {at} the inside of {cooker} is over {hot}, as expected",
}
LEVEL: dict[RotaLevelKey, str] = {
    "moved": "visits at another time than before",
    "unseen": "visits with nothing to see where there should be",
    "end": "the last group's end",
    "waiting": "minutes of waiting, pauses among them",
}
HELP: dict[RotaHelp, str] = {
    "longer-hours": "half an hour more for every group",
    "shorter-visits": "every visit five minutes shorter",
    "no-pause": "no pause",
    "no-bell": "no bell: groups change when they can",
}
NO_ROTA = "No rota was found in these hours."
OUTSIDE = "Groups stay outside the rope; only the crew touches cookers, lids and pots."


@dataclass(frozen=True)
class RotaLine:
    """One line of a round or of a stop: when, where or who, what to do, what there is to see."""

    at: datetime
    ends_at: datetime
    title: str
    note: str = ""  # how far to walk; who is with the group
    do: str = ""
    sees: tuple[str, ...] = ()
    link: str = ""  # the id of the group, stop or visit it is about


def round_of(event: Event, plan: Plan, group_id: str) -> list[RotaLine]:
    """Return a group's round in time order: visits, its pause, the talks that all come to."""
    rota = _rota(plan)
    lines = [_visit_line(event, v) for v in rota.visits if v.group_id == group_id]
    lines += [
        RotaLine(p.at, p.at + timedelta(minutes=p.minutes), "Pause")
        for p in rota.pauses
        if p.group_id == group_id
    ]
    return sorted([*lines, *talks_for_all(event, plan)], key=lambda line: line.at)


def talks_for_all(event: Event, plan: Plan) -> list[RotaLine]:
    """Return the talks to which all groups come."""
    return [
        RotaLine(
            j.at,
            j.at + timedelta(minutes=j.minutes),
            event.talk(j.talk_id or "").name,
            note="all groups",
        )
        for j in plan.jobs
        if j.kind == "talk" and event.talk(j.talk_id or "").groups == "all"
    ]


def visits_of(event: Event, plan: Plan, stop_id: str) -> list[RotaLine]:
    """Return a stop's visits in time order: which group comes, and what to show it."""
    lines = []
    for v in _rota(plan).visits:
        if v.stop_id == stop_id:
            group = event.group(v.group_id)
            note = who_goes(event, group)
            sees = sights(event, v.sees)
            lines.append(RotaLine(v.at, _end(v), group.name, note, sees=sees, link=group.id))
    return lines


def rounds_led(event: Event, plan: Plan, helper_id: str) -> list[RotaLine]:
    """Return the visits that a helper leads, as who goes with a group or guides a stop."""
    lines = []
    for v in posts_of(event, helper_id).visits(plan.rota):
        group, stop = event.group(v.group_id), event.stop(v.stop_id)
        is_with = group.adult == helper_id
        title = f"With {group.name} at {stop.name}" if is_with else f"{group.name} at {stop.name}"
        sees = sights(event, v.sees)
        lines.append(RotaLine(v.at, _end(v), title, do=stop.do, sees=sees, link=v.id))
    return lines


def who_goes(event: Event, group: Group) -> str:
    """Return how many a group is, and the name of the adult who goes with it."""
    adult = adult_with(event, group)
    return f"{group.people} people" + (f", with {adult}" if adult else "")


def adult_with(event: Event, group: Group) -> str:
    """Return the name of the adult who goes with a group; nothing where none is named."""
    return next((h.name for h in event.helpers if h.id == group.adult), group.adult)


def sights(event: Event, seen: Sequence[Sight]) -> tuple[str, ...]:
    """Return what there is to see, in order: what is turned at one time is said together.

    A cooker that is loaded is set on the sun with it: that is no turn to see.
    """
    loaded = {(s.cooker_id, s.at) for s in seen if s.moment == "loading"}
    turned: dict[datetime, list[str]] = {}
    for s in seen:
        if s.moment == "turn" and (s.cooker_id, s.at) not in loaded:
            turned.setdefault(s.at, []).append(event.cooker(s.cooker_id).name)
    said: list[str] = []
    for s in seen:
        if s.moment != "turn":
            said.append(sight(event, s))
        elif names := turned.pop(s.at, []):
            are = "are" if len(names) > 1 else "is"
            said.append(f"{clock(event, s.at)} {joined(names)} {are} turned")
    return tuple(said)


def sight(event: Event, seen: Sight) -> str:
    """Return what there is to see and when."""
    return MOMENT[seen.moment].format(
        at=clock(event, seen.at), cooker=event.cooker(seen.cooker_id).name, hot=temp(event, 100)
    )


def unseen(event: Event, plan: Plan) -> str:
    """Return which visits have nothing to see where their stop is there for it; empty: none."""
    visits = [v for v in _rota(plan).visits if event.stop(v.stop_id).sees and not v.sees]
    if not visits:
        return ""
    by_stop: dict[str, list[str]] = {}
    for v in visits:
        told = f"{event.group(v.group_id).name} {clock(event, v.at)}"
        by_stop.setdefault(event.stop(v.stop_id).name, []).append(told)
    count = "1 visit has" if len(visits) == 1 else f"{len(visits)} visits have"
    where = "; ".join(f"{stop}: {listed(told)}" for stop, told in by_stop.items())
    return f"{count} nothing to see. {where}. Tick more for these stops to see, or go round later."


def refused(rota: RotaPlan) -> str:
    """Return that there is no rota, and what would help; empty where there is one."""
    if rota.visits:
        return ""
    helps = [HELP[h] for h in rota.helps]
    return f"{NO_ROTA} What would help: {listed(helps)}." if helps else NO_ROTA


def level_lines(event: Event, rota: RotaPlan) -> list[str]:
    """Return the levels of the rota's goal in words, with whether each is proven."""
    midnight = event.instant(datetime.min.time())
    lines = []
    for level in rota.levels:
        figures = [str(level.value), str(level.bound)]
        if level.key == "end":
            figures = [clock(event, midnight + timedelta(minutes=int(f))) for f in figures]
        sure = "proven" if level.proven else f"best possible {figures[1]}, not proven"
        lines.append(f"{LEVEL[level.key]}: {figures[0]} ({sure})")
    return lines


def _visit_line(event: Event, v: Visit) -> RotaLine:
    stop = event.stop(v.stop_id)
    walk = f"{metres(event, v.walk_m)} from the stop before" if v.walk_m else ""
    sees = sights(event, v.sees)
    return RotaLine(v.at, _end(v), stop.name, walk, stop.do, sees, stop.id)


def _rota(plan: Plan) -> RotaPlan:
    return plan.rota or RotaPlan(visits=(), pauses=(), levels=())


def _end(v: Visit) -> datetime:
    return v.at + timedelta(minutes=v.minutes)
