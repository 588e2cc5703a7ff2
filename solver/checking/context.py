"""An event and a plan for it, laid out for the rule check: look-ups and small sums."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from events.model import Cooker, Dish, Event, Helper, Meal, Pot
from solver.plan import Job, Placement, Plan


@dataclass(frozen=True)
class Case:
    """An event and a plan for it, with what the rules look up."""

    event: Event
    plan: Plan
    cookers: dict[str, Cooker]
    dishes: dict[str, Dish]
    pots: dict[str, Pot]
    helpers: dict[str, Helper]
    meals: dict[str, Meal]

    def at(self, clock: time) -> datetime:
        """Return a local clock time of the event's day as an instant."""
        return self.event.instant(clock)

    def begins(self, p: Placement) -> datetime:
        """Return when a placement's cooker is taken: its preheat, or its loading."""
        return p.preheat_at or p.loaded_at

    def from_now(self, p: Placement) -> datetime:
        """Return when a placement's cooker is taken, as far as it is still to come."""
        begins = self.begins(p)
        return begins if self.plan.replanned_at is None else max(begins, self.plan.replanned_at)

    def fills(self) -> dict[str, list[Placement]]:
        """Return the placements by load."""
        fills: dict[str, list[Placement]] = defaultdict(list)
        for p in self.plan.placements:
            fills[p.fill].append(p)
        return fills

    def fresh(self) -> list[Placement]:
        """Return the placements still to begin: what has begun can’t be judged any more."""
        return [p for p in self.plan.placements if p.id not in self.plan.started_ids]

    def fresh_fills(self) -> list[list[Placement]]:
        """Return the loads that are still to begin."""
        return [f for f in self.fills().values() if f[0].id not in self.plan.started_ids]

    def meal_of(self, p: Placement) -> Meal:
        """Return the meal a placement is served at."""
        return self.meals[self.dishes[p.dish_id].meal]


@dataclass(frozen=True)
class Use:
    """A stretch of time in which so many places of a cooker, or pots of a kind, are taken."""

    starts_at: datetime
    ends_at: datetime
    count: int = 1


def most_at_once(uses: list[Use]) -> int:
    """Return how many are taken at the fullest moment."""
    return max(
        sum(u.count for u in uses if u.starts_at <= start.starts_at < u.ends_at) for start in uses
    )


def is_during(job: Job, at: datetime) -> bool:
    """Return whether an instant lies in a job's time."""
    return job.at <= at < job.at + timedelta(minutes=job.minutes)


def minutes(span: timedelta) -> int:
    """Return a span in whole minutes."""
    return round(span.total_seconds() / 60)


def strongest_wind(case: Case, start: datetime, end: datetime) -> float:
    """Return the strongest wind of the forecast's hours between two instants."""
    hours = sorted(case.event.weather.hours, key=lambda h: h.start)
    blow = 0.0
    for n, hour in enumerate(hours):
        begins = case.at(time(0)) if n == 0 else case.at(hour.start)
        ends = case.at(hours[n + 1].start) if n + 1 < len(hours) else end
        if begins < end and ends > start:
            blow = max(blow, hour.wind_m_s)
    return blow
