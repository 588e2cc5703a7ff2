"""When a cooker is shown to people: the talks about it, else those about none, else solar noon."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from events.model import Cooker, Event, Talk
from solver.plan import Plan


@dataclass(frozen=True)
class Occasion:
    """A moment at which a cooker is shown, and in which talk; None: when the sun is highest."""

    at: datetime
    talk: Talk | None = None


def occasions(event: Event, plan: Plan, cooker: Cooker) -> list[Occasion]:
    """Return when a cooker is shown, in time order; at least solar noon."""
    about, general = [], []
    for talk, at, where in [*_fixed(event, plan), *_floating(event, plan)]:
        if cooker.id in where:
            about.append(Occasion(at, talk))
        elif not where:
            general.append(Occasion(at, talk))
    found = about or general or [Occasion(solar_noon(plan))]
    return sorted(found, key=lambda o: o.at)


def solar_noon(plan: Plan) -> datetime:
    """Return when the sun is highest, to ten minutes."""
    return max(plan.sun, key=lambda s: s.elevation_deg).at


def _fixed(event: Event, plan: Plan) -> list[tuple[Talk, datetime, set[str]]]:
    """Return talks at a fixed time, their middle, and the cookers of their dish then."""
    found = []
    for talk in event.talks:
        if talk.at is None:
            continue
        middle = event.instant(talk.at) + timedelta(minutes=talk.minutes) / 2
        mine = [p for p in plan.placements if p.dish_id == talk.dish]
        there = [p for p in mine if p.loaded_at <= middle < p.lifted_at] or mine
        where = {p.cooker_id for p in there} | ({talk.cooker} if talk.cooker else set())
        found.append((talk, middle, where))
    return found


def _floating(event: Event, plan: Plan) -> list[tuple[Talk, datetime, set[str]]]:
    """Return givings of talks that float, the moment they show, and the cooker it is at."""
    return [
        (
            event.talk(g.talk_id),
            g.moment_at or g.at + timedelta(minutes=g.minutes) / 2,
            {g.cooker_id} if g.cooker_id else set(),
        )
        for g in (plan.talks.given if plan.talks else ())
    ]
