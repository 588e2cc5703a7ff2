"""Gas rings as the net under it all: the last moment to save a pot, and the whole menu on gas.

A rescue supposes a poor day: the cooker at six tenths of its strength until that moment. Moving
a pot takes five minutes. Gas gives 46 MJ/kg (propane and butane, handbook value).
"""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from events.model import Cooker, Dish, Event, Pot, changed
from solver.plan import GasDay, GasStep, Placement, Plan, Rescue
from solver.policy import SLOT_MIN
from solver.scheduling.batches import ceil_to_slot, pots_for, split
from solver.simulation.durations import Day, body_start_c, join
from solver.simulation.durations import run as walk
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Ensemble, Forcing, Load

POOR = 0.6  # a poor day's strength: judgement
MOVE_MIN = 5
GAS_J_KG = 46e6
STEP_S = 60.0
Span = tuple[datetime, datetime]
# Without a ring in the event, a camping ring is taken for the gas day: typical figures.
USUAL_RING = Cooker(
    id="ring",
    name="Gas ring",
    kind="burner",
    power_w=2500.0,
    optical_efficiency=0.45,
    litres=20.0,
    trained=True,
)


def rescues(day: Day, plan: Plan) -> tuple[tuple[Rescue, ...], tuple[str, ...]]:
    """Return for each sun batch the last moment to move it to a ring, the least safe dish first.

    A poor day is poor for all: each ring is kept for one pot at a time, beside what is planned on
    it; where it is taken, the moment comes sooner. Second: batches for which no ring is left.
    """
    rings = [c for c in day.event.cookers if c.on_gas]
    dishes = {d.id: d for d in day.event.dishes}
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}
    weakest = min(rings, key=_flame_w, default=USUAL_RING)  # whichever it gets will do then
    pots: list[tuple[Placement, Dish, Cooker, Pot]] = []
    for p in plan.placements if rings else ():
        dish = dishes[p.dish_id]
        cooker = next(c for c in day.event.cookers if c.id == p.cooker_id)
        if not cooker.on_sun or not dish.suits_gas:
            continue
        if p.route == "sun+burner" or p.id in plan.started_ids:
            continue  # it goes there anyway; or the day itself says by when
        pot = next(k for k in day.event.pots if k.id == p.pot_id)
        if not pot.fits_rings or all(p.litres > r.litres for r in rings):
            continue
        pots.append((p, dish, cooker, pot))
    asked = [
        (chance.get(p.dish_id, 0), -dish.priority, moments[0].at, p.id, moments)
        for (p, dish, _, _), moments in zip(pots, _rescues(day, pots, weakest), strict=True)
        if moments
    ]
    taken = _planned(plan, {r.id for r in rings})
    litres = {p.id: p.litres for p in plan.placements}
    kept, lost = [], []
    for *_, name, moments in sorted(asked, key=lambda a: a[:4]):
        fit = [r for r in rings if litres[name] <= r.litres]
        found = next(
            (
                changed(m, ring_id=r.id)
                for m in moments
                for r in fit
                if _free(taken[r.id], m, r.pots_max)
            ),
            None,
        )
        if found is None:
            lost.append(name)
            continue
        taken[found.ring_id].append(_span(found))
        kept.append(found)
    return tuple(kept), tuple(lost)


def _flame_w(ring: Cooker) -> float:
    return ring.optical_efficiency * (ring.power_w or 0.0)


def _planned(plan: Plan, rings: set[str]) -> dict[str, list[Span]]:
    """Return when each ring is taken by the plan itself."""
    taken: dict[str, list[Span]] = {r: [] for r in rings}
    for p in plan.placements:
        if p.cooker_id in rings:
            taken[p.cooker_id].append((p.loaded_at, p.lifted_at))
        if p.then_cooker_id in rings and p.then_cooker_id is not None:
            taken[p.then_cooker_id].append((p.lifted_at, p.off_at or p.served_at))
    return taken


def _span(rescue: Rescue) -> Span:
    return rescue.at, rescue.at + timedelta(minutes=MOVE_MIN + rescue.ring_min)


def _free(taken: list[Span], rescue: Rescue, pots_max: int) -> bool:
    start, end = _span(rescue)
    inside = [start, *(a for a, _ in taken if start < a < end)]
    return all(sum(a <= at < b for a, b in taken) < pots_max for at in inside)


def _rescues(
    day: Day, pots: list[tuple[Placement, Dish, Cooker, Pot]], ring: Cooker
) -> list[list[Rescue]]:
    """Return the moments at which each pot could still be saved on a ring, the last one first.

    All pots are walked side by side: first under the poor sun, slot by slot, then on the ring.
    """
    marks: list[heat.Ints] = []
    poor_parts, flame_parts = [], []
    for p, dish, cooker, pot in pots:
        start, serve = minute_of(day.sky, p.loaded_at), minute_of(day.sky, p.served_at)
        lift = minute_of(day.sky, p.lifted_at)
        mine = np.arange(start + SLOT_MIN, min(serve - dish.rest_min, lift + 1), SLOT_MIN)
        marks.append(mine)
        load = Load((dish,), (p.mass_kg,), (pot,))
        poor_parts.append(
            heat.ensemble(
                cooker,
                load,
                minutes=np.asarray([float(start)]),
                row=np.asarray([day.rows[cooker.id]]),
                body_c=body_start_c(day, cooker, load, np.asarray([start])),
                strength=np.asarray([POOR]),
                boil_c=day.boil_c,
            )
        )
        flame_parts.append(
            heat.ensemble(
                ring,
                load,
                minutes=mine.astype(np.float64) + MOVE_MIN,
                row=np.zeros(mine.size, dtype=np.int64),
                body_c=np.full(mine.size, 20.0),
                strength=np.ones(mine.size),
                boil_c=day.boil_c,
            )
        )
    sizes = np.asarray([m.size for m in marks], dtype=np.int64)
    if not sizes.sum():
        return [[] for _ in pots]
    poor, flame = join(poor_parts), join(flame_parts)
    first = np.cumsum(sizes) - sizes
    for n in range(int(sizes.max())):
        for _ in range(int(SLOT_MIN * 60 / STEP_S)):
            heat.step(poor, day.forcing, dt_s=STEP_S, boil_c=day.boil_c)
        mine = np.flatnonzero(sizes > n)
        _hand_over(poor, flame, mine, first[mine] + n)
    started_c = flame.pot_c[0].copy()
    watts = np.full((1, day.sky.air_c.size), _flame_w(ring))
    forcing = Forcing(watts, day.sky.air_c, day.sky.wind_m_s)
    serves = [float(minute_of(day.sky, p.served_at)) + 60 for p, *_ in pots]
    until = np.repeat(serves, sizes)
    done = walk(flame, forcing, until=until, boil_c=day.boil_c, dt_s=STEP_S).done_min[0]
    out = []
    for (p, dish, _, _), mine, at in zip(pots, marks, first, strict=True):
        ready_by = minute_of(day.sky, p.served_at) - dish.rest_min
        took, warm = done[at : at + mine.size], started_c[at : at + mine.size]
        out.append(
            [
                Rescue(
                    placement_id=p.id,
                    at=at_minute(day.sky, int(mine[k])),
                    below_c=float(round(warm[k])),
                    ring_min=ceil_to_slot(float(took[k])),
                )
                for k in reversed(np.flatnonzero(mine + MOVE_MIN + took <= ready_by))
            ]
        )
    return out


def _hand_over(sun: Ensemble, flame: Ensemble, here: heat.Ints, there: heat.Ints) -> None:
    """Let pots go on where they stand: warmth, what is done, what is safe."""
    for name in ("pot_c", "core_c", "won_min", "lethal_min", "clock_min"):
        getattr(flame, name)[:, there] = getattr(sun, name)[:, here]
    flame.lag_c[:, :, there] = sun.lag_c[:, :, here]


def gas_day(day: Day) -> GasDay:
    """Return how many rings and how much gas the whole menu takes with no sun at all."""
    event = day.event
    ring = next((c for c in event.cookers if c.on_gas), USUAL_RING)
    spans: list[tuple[int, int, str]] = []
    joules, never = 0.0, []
    found = _on_ring(event, day, ring)
    for dish in event.dishes:
        alone = found.get(dish.id)
        if alone is None:
            never.append(dish.id)
            continue
        for serve, minutes in alone:
            ready = serve - dish.rest_min
            spans.append((ready - minutes, ready, dish.id))
            joules += (ring.power_w or 0.0) * minutes * 60
    rings = max((sum(a <= s < b for a, b, _ in spans) for s, *_ in spans), default=0)
    steps = tuple(
        GasStep(dish_id=name, at=at_minute(day.sky, a), minutes=b - a)
        for a, b, name in sorted(spans)
    )
    return GasDay(
        rings=rings,
        gas_kg=round(joules / GAS_J_KG, 2),
        steps=steps,
        not_on_gas=tuple(never),
    )


def _on_ring(event: Event, day: Day, ring: Cooker) -> dict[str, list[tuple[int, int]]]:
    """Return (serving minute, minutes on the ring) of each batch, for the dishes a ring does."""
    watts = np.full((1, day.sky.air_c.size), _flame_w(ring))
    forcing = Forcing(watts, day.sky.air_c, day.sky.wind_m_s)
    out: dict[str, list[tuple[int, int]]] = {}
    left = [d for d in event.dishes if d.needs_body_c is None and d.suits_gas]
    number = 0
    while left:
        number += 1
        left = [d for d in left if number <= d.batches_max]
        asked, parts = [], []
        for dish in left:
            batches = split(day, dish, number)
            pots = pots_for(event, ring, dish, batches[0].litres)
            if not pots:
                continue
            asked.append((dish, batches))
            parts.append(
                heat.ensemble(
                    ring,
                    Load((dish,), (batches[0].mass_kg,), (pots[0],)),
                    minutes=np.asarray([600.0]),
                    row=np.zeros(1, dtype=np.int64),
                    body_c=np.full(1, 20.0),
                    strength=np.ones(1),
                    boil_c=day.boil_c,
                )
            )
        if not parts:
            continue
        until = np.full(len(parts), 1400.0)
        told = walk(join(parts), forcing, until=until, boil_c=day.boil_c, dt_s=STEP_S)
        for k, (dish, batches) in enumerate(asked):
            minutes = float(told.done_min[0, k])
            if np.isfinite(minutes):
                out[dish.id] = [(b.serve_minute, ceil_to_slot(minutes)) for b in batches]
        left = [d for d in left if d.id not in out]
    return out
