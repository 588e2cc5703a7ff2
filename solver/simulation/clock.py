"""The timetable's clock: minutes of the local civil day, and slots of five of them."""

from __future__ import annotations

from datetime import datetime, time

import numpy as np

from events.model import Cooker
from solver.policy import SLOT_MIN
from solver.simulation.day import Day
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal.energy_balance import Array, Ints

NEVER_MIN = 10**6  # what an infinite time is rounded up to


def ceil_to_slot(minute: float) -> int:
    """Return a minute rounded up to a slot; an infinite one becomes NEVER_MIN."""
    return -int(-(min(minute, NEVER_MIN) - 1e-9) // SLOT_MIN) * SLOT_MIN


def ceil_to_slots(minutes: Array) -> Ints:
    """Return minutes rounded up to slots, each as `ceil_to_slot` does."""
    slots = np.floor_divide(-(np.minimum(minutes, NEVER_MIN) - 1e-9), SLOT_MIN)
    whole: Ints = -slots.astype(np.int64) * SLOT_MIN
    return whole


def minute_at(day: Day, local: time) -> int:
    """Return the minute of the day of a local clock time."""
    return minute_of(day.sky, day.event.instant(local))


def instant(day: Day, minute: float) -> datetime:
    """Return the aware instant of a minute of the day, rounded up to a slot."""
    return at_minute(day.sky, ceil_to_slot(minute))


def usable_hours(day: Day, cooker: Cooker) -> tuple[int, int]:
    """Return the minutes of the day between which a cooker may still be used."""
    site = day.event.site
    opens = max([site.opens, *([cooker.opens] if cooker.opens else [])])
    closes = min([site.closes, *([cooker.closes] if cooker.closes else [])])
    now = day.replan.minute + 1 if day.replan else 0
    return ceil_to_slot(max(minute_at(day, opens), now)), minute_at(day, closes)


def next_slot_min(day: Day) -> int:
    """Return the first minute of the day on the timetable's grain that is still to come."""
    return ceil_to_slot(day.replan.minute + 1) if day.replan else 0
