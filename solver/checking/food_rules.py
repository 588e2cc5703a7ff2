"""The rules that keep food safe, checked by a small law of their own.

What a lifted pot does is worked out here anew from the food's water, its pot and the forecast.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from datetime import datetime, time, timedelta

from events.food_rules import (
    KIDNEY_BEANS_HIGHEST_M,
    KIDNEY_BEANS_MIN,
    clock_limit_min,
    least_middle_c,
    rules_of,
)
from events.site import WeatherHour
from solver import policy
from solver.checking.breach import Breach
from solver.checking.context import Case, minutes
from solver.plan import Placement

COLD_C, HOT_C = 5.0, 60.0  # between these the clock of hazardous food runs
CURVE_MIN = 10  # a plan's curve has a point this often: its minutes are counted so finely
LAW_K = 2.5  # the two laws of a standing pot agree within this
ROUNDED_K = 0.1
NO_WEATHER = WeatherHour(start=time.min)


def food_is_safe(case: Case) -> Iterator[Breach]:
    """Hazardous food spends at most its minutes between 5 and 60 °C, to its last plate."""
    for p in case.fresh():
        dish = case.dishes[p.dish_id]
        limit = clock_limit_min(case.event, dish)
        counted = p.spent_min + (dish.out_min or 0) + _warm_min(p)
        if dish.hazardous and max(p.between_5_and_60_min, counted - 2 * CURVE_MIN) > limit:
            most = max(p.between_5_and_60_min, counted)
            yield Breach("too-long-between-5-and-60", (p.id,), most, limit)
        if dish.kidney_beans != "raw":
            continue
        if dish.done_mode.measured != "boil" or dish.hold_min < KIDNEY_BEANS_MIN:
            yield Breach("kidney-beans-not-boiled", (p.id,), dish.hold_min, KIDNEY_BEANS_MIN)
        altitude_m = case.event.site.altitude_m
        if altitude_m > KIDNEY_BEANS_HIGHEST_M:
            yield Breach("boil-too-cool-for-beans", (p.id,), altitude_m, KIDNEY_BEANS_HIGHEST_M)


def hot_food_stays_hot(case: Case) -> Iterator[Breach]:
    """What is served hot keeps the hot-holding temperature from done to its last plate.

    What can spoil keeps it from when it was hot through, if that is sooner.
    """
    limit = rules_of(case.event).hot_holding_c
    for p in case.fresh():
        dish = case.dishes[p.dish_id]
        if not dish.serve_hot:
            continue
        through_c = max(least_middle_c(case.event, dish), limit) + ROUNDED_K
        through = [q.at for q in p.curve if q.core_c >= through_c and dish.hazardous]
        hot_from = min([p.done_at, *through])
        after = [q for q in p.curve if hot_from <= q.at <= p.last_plate_at]
        if not after or p.curve[-1].at < p.last_plate_at:
            yield Breach("curve-ends-too-soon", (p.id,), p.curve[-1].at, p.last_plate_at)
            continue
        coldest = min(after, key=lambda q: q.core_c)
        if coldest.core_c < limit - ROUNDED_K:
            rewarmed = any(q.at > coldest.at and q.core_c >= limit for q in after)
            rule = "cooled-and-warmed-again" if rewarmed else "hot-food-goes-cold"
            yield Breach(rule, (p.id,), coldest.core_c, limit)
        last_c = _last_plate_c(case, p)
        if last_c < limit - LAW_K:
            yield Breach("hot-food-goes-cold", (p.id,), last_c, limit)


def what_cools_in_progress_is_lost(case: Case) -> Iterator[Breach]:
    """What is hot through on the sun from now on, and cools before it is done, counts as missed."""
    hot_c = rules_of(case.event).hot_holding_c - ROUNDED_K
    for p in case.plan.placements:
        dish, now = case.dishes[p.dish_id], case.plan.replanned_at
        if now is None or p.id not in case.plan.started_ids:
            continue
        if not (dish.hazardous and dish.serve_hot):
            continue
        through_c = max(least_middle_c(case.event, dish), hot_c) + ROUNDED_K
        ends = min(p.done_at, p.lifted_at)
        then = [q.core_c for q in p.curve if now <= q.at <= ends]
        first = next((n for n, core_c in enumerate(then) if core_c >= through_c), len(then))
        after = then[first:]
        if min(after, default=hot_c) < hot_c and p.missed_fraction < 1.0:
            yield Breach("cooled-but-not-missed", (p.id,), min(after), p.missed_fraction)


def served_out_in_its_wave(case: Case) -> Iterator[Breach]:
    """A batch's last plate is served when its wave ends, or when the next batch's begins."""
    for p in case.fresh():
        meal = case.meal_of(p)
        start, end = case.at(meal.start), case.at(meal.end)
        wave = (p.batch - 1) * meal.waves // p.batches
        last = max(wave + 1, p.batch * meal.waves // p.batches)
        ends = start + (end - start) * last / meal.waves
        if not ends - timedelta(minutes=policy.SLOT_MIN) < p.last_plate_at <= ends:
            yield Breach("not-its-last-plate", (p.id, meal.id), p.last_plate_at, ends)


def _warm_min(p: Placement) -> int:
    """Return the minutes between 5 and 60 °C along a placement's curve, at its grain."""
    return sum(
        minutes(b.at - a.at)
        for a, b in itertools.pairwise(p.curve)
        if COLD_C < (a.core_c + b.core_c) / 2 < HOT_C
    )


def _last_plate_c(case: Case, p: Placement) -> float:
    """Return how warm a pot is at its last plate if it stands in the open once it is lifted.

    Newton's law of cooling, hour by hour of the forecast; specific heat 0.84 + 3.35 x water in
    kJ/(kg K) (Siebel 1892, from memory), the pot itself left out.
    """
    leaves = p.off_at or p.lifted_at
    warm_c = [q.core_c for q in p.curve if q.at <= leaves][-1]
    dish, pot = case.dishes[p.dish_id], case.pots[p.pot_id]
    across_m = (4 * pot.litres / 1000 / math.pi) ** (1 / 3)  # as tall as it is wide
    still_w_k = policy.STAND_LOSS_W_M2_K * 1.5 * math.pi * across_m**2
    heat_j_k = 1000 * p.mass_kg * (0.84 + 3.35 * dish.composition.water)
    for hour, stands in _weather(case, leaves, p.last_plate_at):
        loss_w_k = still_w_k * (1 + policy.STAND_WIND_FACTOR_S_M * hour.wind_m_s)
        left = math.exp(-loss_w_k * stands.total_seconds() / heat_j_k)
        warm_c = hour.air_c + (warm_c - hour.air_c) * left
    return warm_c


def _weather(case: Case, start: datetime, end: datetime) -> Iterator[tuple[WeatherHour, timedelta]]:
    """Yield the forecast's hours that an interval touches, each with how long it does."""
    hours = sorted(case.event.weather.hours, key=lambda h: h.start) or [NO_WEATHER]
    begins = [start, *(case.at(h.start) for h in hours[1:]), end]
    for hour, (holds_from, holds_until) in zip(hours, itertools.pairwise(begins), strict=True):
        stands = min(holds_until, end) - max(holds_from, start)
        if stands > timedelta():
            yield hour, stands


FOOD_RULES: list[Callable[[Case], Iterator[Breach]]] = [
    food_is_safe,
    hot_food_stays_hot,
    what_cools_in_progress_is_lost,
    served_out_in_its_wave,
]
