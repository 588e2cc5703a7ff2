"""The whole menu on gas rings: how many rings at once, how much gas, which dish when.

Gas gives 46 MJ/kg (propane and butane, handbook value).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from events.food_rules import rules_of
from events.model import Cooker
from events.provenance import Provenance
from solver.plan import GasDay, GasStep
from solver.scheduling.batches import Batch, pots_for, split
from solver.simulation.clock import ceil_to_slot
from solver.simulation.day import Day
from solver.simulation.run import join, run
from solver.solar.irradiance import at_minute
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Forcing, Load

GAS_J_KG = 46e6
STEP_S = 60.0
LIT_AT, GIVEN_UP_AT = 600, 1400  # minutes of the day: a flame is the same at any hour
AIR_C = 20.0
# Without a ring in the event, a camping ring is taken for the gas day: typical figures.
USUAL_RING = Cooker(
    id="ring",
    name="Gas ring",
    kind="burner",
    power_w=2500.0,
    optical_efficiency=0.45,
    wind_factor_s_m=0.3,
    litres=20.0,
    trained=True,
    strength_band_fraction=0.1,
    provenance={key: Provenance(kind="typical") for key in ("power_w", "optical_efficiency")},
)


@dataclass(frozen=True)
class RingUse:
    """One batch on a ring, in minutes of the day."""

    dish_id: str
    start: int
    end: int


def flame_w(ring: Cooker) -> float:
    """Return the heat that a ring's pot wins."""
    return ring.optical_efficiency * (ring.power_w or 0.0)


def gas_day(day: Day) -> GasDay:
    """Return how many rings and how much gas the whole menu takes with no sun at all."""
    ring = next((c for c in day.event.cookers if c.on_gas), USUAL_RING)
    by_dish = _uses(day, ring)
    uses = [u for dish in day.event.dishes for u in by_dish.get(dish.id, ())]
    joules = sum((ring.power_w or 0.0) * (u.end - u.start) * 60 for u in uses)
    at_once = (sum(u.start <= one.start < u.end for u in uses) for one in uses)
    return GasDay(
        rings=max(at_once, default=0),
        gas_kg=round(joules / GAS_J_KG, 2),
        steps=tuple(
            GasStep(dish_id=u.dish_id, at=at_minute(day.sky, u.start), minutes=u.end - u.start)
            for u in sorted(uses, key=lambda u: (u.start, u.end, u.dish_id))
        ),
        not_on_gas=tuple(d.id for d in day.event.dishes if d.id not in by_dish),
    )


def _uses(day: Day, ring: Cooker) -> dict[str, list[RingUse]]:
    """Return each dish's batches on a ring, for the dishes that a ring can cook."""
    uses: dict[str, list[RingUse]] = {}
    waiting = [d for d in day.event.dishes if d.needs_body_c is None and d.suits_gas]
    for number in itertools.count(1):
        waiting = [d for d in waiting if d.id not in uses and number <= d.batches_max]
        if not waiting:
            break
        cut = [split(day, dish, number) for dish in waiting if number >= dish.batches_least]
        uses |= _uses_of(day, ring, cut)
    return uses


def _uses_of(
    day: Day, ring: Cooker, splits: Sequence[tuple[Batch, ...]]
) -> dict[str, list[RingUse]]:
    """Return the uses of the splits whose batches some pot holds and a ring gets done."""
    asked: list[tuple[Batch, ...]] = []
    parts: list[heat.Ensemble] = []
    for batches in splits:
        dish = batches[0].dish
        pots = pots_for(day.event, ring, dish, batches[0].litres)
        if pots:
            asked.append(batches)
            reheat_c = rules_of(day.event).reheat_c
            load = Load((dish,), (batches[0].mass_kg,), (pots[0],), reheat_c=reheat_c)
            parts.append(_lit(day, ring, load))
    if not parts:
        return {}
    watts = np.full((1, day.sky.air_c.size), flame_w(ring))
    forcing = Forcing(watts, day.sky.air_c, day.sky.wind_m_s)
    until = np.full(len(parts), float(GIVEN_UP_AT))
    done_min = run(join(parts), forcing, until=until, boil_c=day.boil_c, dt_s=STEP_S).done_min[0]
    return {
        batches[0].dish.id: [_use(batch, ceil_to_slot(float(took))) for batch in batches]
        for batches, took in zip(asked, done_min, strict=True)
        if np.isfinite(took)
    }


def _use(batch: Batch, minutes: int) -> RingUse:
    ready = batch.serve_minute - batch.dish.rest_min
    return RingUse(batch.dish.id, ready - minutes, ready)


def _lit(day: Day, ring: Cooker, load: Load) -> heat.Ensemble:
    return heat.ensemble(
        ring,
        load,
        minutes=np.asarray([float(LIT_AT)]),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, AIR_C),
        strength=np.ones(1),
        boil_c=day.boil_c,
    )
