"""When a meal is eaten: its hours, or the time of each of its sittings."""

from __future__ import annotations

from datetime import time

from events.model import Event, Meal
from service.text.formatting import hour, listed
from solver.scheduling.batches import serve_minute


def meal_times(event: Event, meal: Meal) -> str:
    """Return from when to when a meal is, and when each sitting of several begins."""
    if meal.waves == 1:
        return f"{hour(event, meal.start)} to {hour(event, meal.end)}"
    return f"{in_sittings(event, meal)}, until {hour(event, meal.end)}"


def in_sittings(event: Event, meal: Meal) -> str:
    """Return when each sitting begins: “in 2 sittings, 12:30 and 13:00”; nothing of one."""
    if meal.waves == 1:
        return ""
    times = [hour(event, at) for at in sittings(meal)]
    return f"in {meal.waves} sittings, {listed(times)}"


def sittings(meal: Meal) -> list[time]:
    """Return when each sitting begins, as the plan serves it."""
    start, end = (60 * at.hour + at.minute for at in (meal.start, meal.end))
    minutes = [serve_minute(start, end, meal.waves, wave) for wave in range(meal.waves)]
    return [time(m // 60, m % 60) for m in minutes]


def meals_line(event: Event) -> str:
    """Return all meals with their times."""
    return "; ".join(f"{meal.name} {meal_times(event, meal)}" for meal in event.meals)
