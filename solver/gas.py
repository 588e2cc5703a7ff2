"""Gas rings as the net under it all: the last moment to save a pot, and the whole menu on gas.

A rescue supposes a poor day: the cooker at six tenths of its strength until that moment. Moving
a pot takes five minutes. Gas gives 46 MJ/kg (propane and butane, handbook value).
"""

from __future__ import annotations

import numpy as np

from events.model import Cooker, Dish, Event, Pot
from solver import cooker as heat
from solver.batches import pots_for, split, up
from solver.cooker import Drive, Lanes, Load
from solver.estimate import SUN_KINDS, Day, body_start_c
from solver.estimate import run as walk
from solver.plan import GasDay, GasStep, Placement, Plan, Rescue
from solver.policy import SLOT_MIN
from solver.sky import at_minute, minute_of

POOR = 0.6  # a poor day's strength: judgement
MOVE_MIN = 5
GAS_J_KG = 46e6
STEP_S = 60.0
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


def rescues(day: Day, plan: Plan) -> tuple[Rescue, ...]:
    """Return for each sun batch the last moment to move it to a ring, the least safe dish first."""
    rings = [c for c in day.event.cookers if c.kind == "burner"]
    if not rings:
        return ()
    dishes = {d.id: d for d in day.event.dishes}
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}
    found = []
    for p in plan.placements:
        dish = dishes[p.dish_id]
        cooker = next(c for c in day.event.cookers if c.id == p.cooker_id)
        if cooker.kind not in SUN_KINDS or "burner" not in dish.kinds:
            continue
        if p.route == "sun+burner" or p.id in plan.begun:
            continue  # it goes there anyway; or the day itself says by when
        pot = next(k for k in day.event.pots if k.id == p.pot_id)
        if "burner" not in pot.fits or p.litres > rings[0].litres:
            continue
        rescue = _rescue(day, p, dish, cooker, pot, rings[0])
        if rescue is not None:
            found.append((chance.get(p.dish_id, 0), -dish.priority, rescue.at, p.id, rescue))
    return tuple(r for *_, r in sorted(found))


def _rescue(
    day: Day, p: Placement, dish: Dish, cooker: Cooker, pot: Pot, ring: Cooker
) -> Rescue | None:
    start, serve = minute_of(day.sky, p.loaded_at), minute_of(day.sky, p.served_at)
    ready_by = serve - dish.rest_min
    lift = minute_of(day.sky, p.lifted_at)
    marks = np.arange(start + SLOT_MIN, min(ready_by, lift + 1), SLOT_MIN)
    if not marks.size:
        return None
    load = Load((dish,), (p.mass_kg,), (pot,))
    poor = heat.lanes(
        cooker,
        load,
        minutes=np.asarray([float(start)]),
        row=np.asarray([day.rows[cooker.id]]),
        body_c=body_start_c(day, cooker, load, np.asarray([start])),
        gain=np.asarray([POOR]),
        boil=day.boil_c,
    )
    flame = heat.lanes(
        ring,
        load,
        minutes=marks.astype(np.float64) + MOVE_MIN,
        row=np.zeros(marks.size, dtype=np.int64),
        body_c=np.full(marks.size, 20.0),
        gain=np.ones(marks.size),
        boil=day.boil_c,
    )
    for k in range(marks.size):
        for _ in range(int(SLOT_MIN * 60 / STEP_S)):
            heat.step(poor, day.drive, dt_s=STEP_S, boil=day.boil_c)
        _hand_over(poor, flame, k)
    started_c = flame.pot_c[0].copy()
    watts = np.full((1, day.sky.air_c.size), ring.optical_efficiency * (ring.power_w or 0.0))
    drive = Drive(watts, day.sky.air_c, day.sky.wind_m_s)
    until = np.full(marks.size, float(serve) + 60)
    done = walk(flame, drive, until=until, boil=day.boil_c, dt_s=STEP_S).done_min[0]
    fine = np.flatnonzero(marks + MOVE_MIN + done <= ready_by)
    if not fine.size:
        return None
    last = int(fine.max())
    return Rescue(
        placement_id=p.id,
        at=at_minute(day.sky, int(marks[last])),
        below_c=float(round(started_c[last])),
        ring_min=up(float(done[last])),
    )


def _hand_over(sun: Lanes, flame: Lanes, k: int) -> None:
    """Let the pot go on where it stands: warmth, what is done, what is safe."""
    for name in ("pot_c", "core_c", "won_min", "lethal_min", "clock_min"):
        getattr(flame, name)[:, k] = getattr(sun, name)[:, 0]
    flame.lag_c[:, :, k] = sun.lag_c[:, :, 0]


def gas_day(day: Day) -> GasDay:
    """Return how many rings and how much gas the whole menu takes with no sun at all."""
    event = day.event
    ring = next((c for c in event.cookers if c.kind == "burner"), USUAL_RING)
    spans: list[tuple[int, int, str]] = []
    joules, never = 0.0, []
    for dish in event.dishes:
        alone = _on_ring(event, day, dish, ring)
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


def _on_ring(event: Event, day: Day, dish: Dish, ring: Cooker) -> list[tuple[int, int]] | None:
    """Return (serving minute, minutes on the ring) of each batch, or None for what no ring does."""
    if dish.needs_body_c is not None or "burner" not in dish.kinds:
        return None
    for number in range(1, dish.batches_max + 1):
        batches = split(day, dish, number)
        pots = pots_for(event, ring, dish, batches[0].litres)
        if not pots:
            continue
        load = Load((dish,), (batches[0].mass_kg,), (pots[0],))
        state = heat.lanes(
            ring,
            load,
            minutes=np.asarray([600.0]),
            row=np.zeros(1, dtype=np.int64),
            body_c=np.full(1, 20.0),
            gain=np.ones(1),
            boil=day.boil_c,
        )
        watts = np.full((1, day.sky.air_c.size), ring.optical_efficiency * (ring.power_w or 0.0))
        drive = Drive(watts, day.sky.air_c, day.sky.wind_m_s)
        told = walk(state, drive, until=np.asarray([1400.0]), boil=day.boil_c, dt_s=STEP_S)
        if np.isfinite(told.done_min[0, 0]):
            return [(b.serve_minute, up(float(told.done_min[0, 0]))) for b in batches]
    return None
