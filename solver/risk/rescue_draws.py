"""Pots on the sun over the drawn days, and what a gas ring would make of each from each moment."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from events.food_rules import rules_of
from events.model import Cooker, Dish
from solver.plan import Placement, Plan
from solver.policy import LATE_HANDS_MIN, SLOT_MIN, in_time_fraction
from solver.simulation.clock import ceil_to_slot
from solver.simulation.day import DRAWS, Day
from solver.simulation.durations import LATER_MIN, drawn_loads
from solver.simulation.query import DurationQuery
from solver.simulation.run import STEP_S, join, run
from solver.simulation.transfer import part_of, some_pots, transfer
from solver.solar.ensemble import stratified_normal
from solver.solar.irradiance import minute_of
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Ints, Load

LOOK_MIN = 10  # a pot is looked at on this grain
PROBE_ERROR_C = 3.0  # of a reading, with the food's start and the pot's contents: judgement
PROBE_SEED = 5


@dataclass(frozen=True)
class SunPot:
    """A batch on the sun that a ring could save; its load has the pots that share its box."""

    placement: Placement
    dish: Dish
    cooker: Cooker
    load: Load
    number: int  # of its pot in the load
    start: int
    leaves: int  # its cooker
    ready_by: int

    @property
    def alone(self) -> Load:
        """The pot by itself."""
        return part_of(self.load, [self.number])


@dataclass(frozen=True)
class PotDraws:
    """A pot on the drawn days: by (moment, draw), but for what comes of it where it is."""

    pot: SunPot
    minutes: Ints  # the moments at which it is looked at
    core_c: Array
    alone: Array  # by draw: how surely it is ready in time where it is
    on_ring: Array  # the same, moved at the moment
    ring_min: Array  # how long the ring then needs, inf for never


def savable(day: Day, plan: Plan, rings: Sequence[Cooker]) -> Iterator[SunPot]:
    """Yield the batches on the sun that fit a ring and are not to go there anyway.

    What had begun when the day was planned again is left out: the day itself says by when.
    """
    event = day.event
    for p in plan.placements:
        dish, cooker, pot = event.dish(p.dish_id), event.cooker(p.cooker_id), event.pot(p.pot_id)
        if not cooker.on_sun or p.route == "sun+burner" or p.id in plan.started_ids:
            continue
        if not dish.suits_gas or not pot.fits_rings or all(p.litres > r.litres for r in rings):
            continue
        fill = [q for q in plan.placements if q.fill == p.fill]
        load = Load(
            tuple(event.dish(q.dish_id) for q in fill),
            tuple(q.mass_kg for q in fill),
            tuple(event.pot(q.pot_id) for q in fill),
            reheat_c=rules_of(event).reheat_c,
        )
        start, lift = minute_of(day.sky, p.loaded_at), minute_of(day.sky, p.lifted_at)
        ready_by = minute_of(day.sky, p.served_at) - dish.rest_min
        if min(lift, ready_by) > start + LOOK_MIN:
            yield SunPot(p, dish, cooker, load, fill.index(p), start, lift, ready_by)


def flown(day: Day, pots: Sequence[SunPot], ring: Cooker) -> list[PotDraws]:
    """Return each pot on the drawn days, left alone and put on a ring at every moment."""
    out: dict[str, PotDraws] = {}
    for size in sorted({len(p.load.pots) for p in pots}):
        group = [p for p in pots if len(p.load.pots) == size]
        out |= {d.pot.placement.id: d for d in _flown(day, group, ring)}
    return [out[p.placement.id] for p in pots]


def _flown(day: Day, pots: Sequence[SunPot], ring: Cooker) -> Iterator[PotDraws]:
    """Fly pots whose loads have the same number of pots, side by side."""
    queries = [
        DurationQuery(p.cooker, p.load, np.asarray([p.start]), p.ready_by + LATER_MIN) for p in pots
    ]
    until = np.tile([float(q.until) for q in queries], DRAWS)
    took = run(drawn_loads(day, queries), day.members, until=until, boil_c=day.boil_c, dt_s=STEP_S)
    done = took.done_min.reshape(-1, DRAWS, len(pots))
    moments = [np.arange(p.start + LOOK_MIN, min(p.leaves, p.ready_by), LOOK_MIN) for p in pots]
    core_c, moved = _looked_at(day, pots, drawn_loads(day, queries), moments, ring)
    rows = np.concatenate([np.repeat(k, m.size * DRAWS) for k, m in enumerate(moments)])
    last = np.asarray([float(p.ready_by) + LATER_MIN for p in pots])[rows]
    lifted = moved.minute.copy()
    ring_took = run(moved, day.forcing, until=last, boil_c=day.boil_c, dt_s=STEP_S).done_min[0]
    for k, pot in enumerate(pots):
        some = rows == k
        shape = (moments[k].size, DRAWS)
        ring_min = ring_took[some].reshape(shape)
        ready = (lifted + ring_took)[some].reshape(shape)
        took_min = done[pot.number, :, k]
        ends = min(pot.leaves, pot.ready_by) - LATE_HANDS_MIN
        yield PotDraws(
            pot=pot,
            minutes=moments[k],
            core_c=core_c[k] + _probe_error_c(core_c[k].shape),
            alone=in_time_fraction(ends - pot.start - took_min, took_min),
            on_ring=in_time_fraction(pot.ready_by - ready, ring_min),
            ring_min=ring_min,
        )


def _probe_error_c(shape: tuple[int, ...]) -> Array:
    """Return what a reading is off by, at (moment, draw): a probe and its place in the pot."""
    rng = np.random.Generator(np.random.PCG64(PROBE_SEED))
    return PROBE_ERROR_C * np.asarray([stratified_normal(rng, shape[1]) for _ in range(shape[0])])


def _looked_at(
    day: Day, pots: Sequence[SunPot], state: Ensemble, moments: Sequence[Ints], ring: Cooker
) -> tuple[list[Array], Ensemble]:
    """Return each pot's middle by (moment, draw), and all of them moved at each moment.

    The moved ones come pot by pot, moment by moment, draw by draw.
    """
    columns = np.arange(DRAWS) * len(pots)
    core_c: list[list[Array]] = [[] for _ in pots]
    moved: list[list[Ensemble]] = [[] for _ in pots]
    row = day.rows[ring.id]
    for n in range(max(m.size for m in moments)):
        for _ in range(int(LOOK_MIN * 60 / STEP_S)):
            heat.step(state, day.members, dt_s=STEP_S, boil_c=day.boil_c)
        for k, pot in enumerate(pots):
            if n >= moments[k].size:
                continue
            core_c[k].append(state.core_c[pot.number, columns + k])
            one = some_pots(state, [pot.number])
            lifted = np.full(DRAWS, float(moments[k][n]))
            after = transfer(day, one, pot.alone, ring, members=columns + k, lifted=lifted)
            after.strength, after.loss = day.member_strength[:, row], day.member_loss[:, row]
            moved[k].append(after)
    return [np.asarray(c) for c in core_c], join([m for of_pot in moved for m in of_pot])


def ring_slot_min(ring_min: Array) -> int:
    """Return for how long a ring is kept: nearly all moved pots are done by then."""
    longest = float(np.quantile(ring_min, 0.9, method="nearest")) if ring_min.size else 0.0
    return max(SLOT_MIN, ceil_to_slot(longest))
