"""Limits of the food rules in whole plans: what is refused, and what is heated longer."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.model import Event
from events.reading.event_file import read_event
from solver.plan import Placement, Plan
from solver.planning.pipeline import make_plan

# A yard under a clear midsummer sky: one good box, one dish, lunch at two.
EVENT = """
format = 1
title = "Yard"
date = 2026-06-21
vulnerable_guests = {vulnerable}
[site]
latitude_deg = 40.0
longitude_deg = 0.0
timezone = "UTC"
opens = 06:00:00
closes = 19:00:00
food_rules = "{rules}"
[[cooker]]
id = "box"
like = "box-better"
[[pot]]
id = "pot-5l"
like = "pot-5l"
[[meal]]
id = "lunch"
from = 14:00:00
until = 15:00:00
portions = 4
[[dish]]
id = "food"
meal = "lunch"
portions = 4
holding_max_min = 120
{dish}
[[helper]]
id = "ada"
from = 05:00:00
until = 19:00:00
may = ["mirrors", "lift"]
[[helper]]
id = "bo"
from = 05:00:00
until = 19:00:00
may = ["mirrors", "lift"]
"""


def event(dish: str, *, rules: str = "US", vulnerable: bool = False) -> Event:
    text = EVENT.replace("{dish}", dish).replace("{rules}", rules)
    return read_event(text.replace("{vulnerable}", str(vulnerable).lower()))


def placed(dish: str, *, rules: str = "US", vulnerable: bool = False) -> Placement | None:
    plan = make_plan(event(dish, rules=rules, vulnerable=vulnerable))
    return plan.placements[0] if plan.placements else None


def warm_limits_min(plan: Plan) -> list[float]:
    """Return the limits that refusals for being warm too long name."""
    reasons = [r for u in plan.unplaced for r in u.reasons]
    return [r.figures["limit_min"] for r in reasons if r.kind == "too-long-warm"]


@pytest.mark.parametrize("out_min", [0, 30])
def test_the_clock_starts_with_the_minutes_out_of_the_cold(out_min: int) -> None:
    cold = placed('like = "chicken-stew"')
    warm = placed(f'like = "chicken-stew"\nout_min = {out_min}')

    assert cold is not None
    assert warm is not None
    assert warm.loaded_at == cold.loaded_at
    assert warm.between_5_and_60_min == cold.between_5_and_60_min + out_min


def test_what_was_out_of_the_cold_for_too_long_is_refused() -> None:
    plan = make_plan(event('like = "chicken-stew"\nbatches_max = 1\nout_min = 200'))

    assert not plan.placements
    assert warm_limits_min(plan) == [240]


def test_vulnerable_guests_have_a_shorter_clock() -> None:
    out = 'like = "chicken-stew"\nbatches_max = 1\nout_min = 60'

    assert placed(out) is not None
    plan = make_plan(event(out, vulnerable=True))
    assert not plan.placements
    assert warm_limits_min(plan) == [120]


@pytest.mark.parametrize(("rules", "limit_c"), [("US", 73.9), ("AU", 75.0), ("UK-SCT", 82.0)])
def test_food_cooked_before_is_heated_to_the_limit_of_the_place(rules: str, limit_c: float) -> None:
    milk = placed('like = "warm-milk"\nkinds = ["box"]', rules=rules)

    assert milk is not None
    before = [p.core_c for p in milk.curve if p.at <= milk.done_at - timedelta(minutes=10)]
    at_done = [p.core_c for p in milk.curve if p.at >= milk.done_at]
    assert max(before) < limit_c <= at_done[0]


def test_food_cooked_before_is_heated_within_two_hours_in_the_us() -> None:
    # US Food Code: reheated within two hours (from memory); elsewhere no time of its own.
    slow = 'like = "warm-milk"\nkinds = ["box"]\nout_min = 90\nbatches_max = 1'

    assert placed(slow, rules="AU") is not None
    plan = make_plan(event(slow, rules="US"))
    assert not plan.placements
    assert warm_limits_min(plan) == [120]
