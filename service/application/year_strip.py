"""The months of a year at a place: how long the sun stands high, and which day each offers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from solver.solar.clear_hours import HIGH_SUN_DEG, high_sun_h

__all__ = ["HIGH_SUN_DEG", "Month", "months"]
DAYS_DRAWN = (4, 12, 20, 28)


@dataclass(frozen=True)
class Month:
    """A month: hours of high sun on four of its days, and the day that a press chooses."""

    first: date
    hours: tuple[float, ...]
    offered: date
    is_chosen: bool
    is_now: bool

    @property
    def mean_h(self) -> float:
        """Return its hours of high sun, on the whole."""
        return sum(self.hours) / len(self.hours)


def months(latitude_deg: float, chosen: date, today: date) -> list[Month]:
    """Return twelve months from January; each offers a day that is to come."""
    return [_month(latitude_deg, number, chosen, today) for number in range(1, 13)]


def _month(latitude_deg: float, number: int, chosen: date, today: date) -> Month:
    is_chosen = number == chosen.month
    return Month(
        first=date(chosen.year, number, 1),
        hours=_hours(round(latitude_deg, 2), number),
        offered=chosen if is_chosen else _offered(number, chosen, today),
        is_chosen=is_chosen,
        is_now=number == today.month,
    )


def _offered(number: int, chosen: date, today: date) -> date:
    """Return the day in the middle of a month that has the chosen day's weekday."""
    for year in (today.year, today.year + 1):
        middle = date(year, number, 15)
        day = middle + timedelta(days=(chosen.weekday() - middle.weekday() + 3) % 7 - 3)
        if day > today:
            return day
    return day


@lru_cache(maxsize=512)
def _hours(latitude_deg: float, number: int) -> tuple[float, ...]:
    # The same in every year to a minute or two: the sun's declination comes back with the date.
    return tuple(round(high_sun_h(latitude_deg, date(2026, number, d)), 1) for d in DAYS_DRAWN)
