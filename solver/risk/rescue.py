"""Gas rings as the net under it all: the last moment at which each pot can be saved.

A rescue supposes a poor day: the cooker at six tenths of its strength until that moment.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from events.food_rules import rules_of
from events.model import Cooker, Dish
from events.table import changed
from solver.plan import Placement, Plan, Rescue
from solver.policy import SLOT_MIN
from solver.risk.gas import flame_w
from solver.scheduling.two_stage import POOR
from solver.simulation.clock import ceil_to_slot
from solver.simulation.day import Day, loaded
from solver.simulation.run import join, run, select
from solver.simulation.transfer import MOVE_MIN, transfer
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Ensemble, Ints, Load

STEP_S = 60.0


@dataclass(frozen=True)
class RescuePlan:
    """The rescues, the least safe dish first, and the batches for which no ring is left."""

    rescues: tuple[Rescue, ...]
    unsaved_ids: tuple[str, ...]


@dataclass(frozen=True)
class SunPot:
    """A batch on the sun that a ring could save, and the slots at which it could still move."""

    placement: Placement
    dish: Dish
    cooker: Cooker
    load: Load
    minutes: Ints


@dataclass(frozen=True)
class RingUse:
    """A stretch of time in which a ring has a pot on it."""

    starts_at: datetime
    ends_at: datetime


def rescues(day: Day, plan: Plan) -> RescuePlan:
    """Return for each sun batch the last moment to move it to a ring.

    A poor day is poor for all: each ring is kept for one pot at a time, beside what is planned on
    it; where it is taken, the moment comes sooner.
    """
    rings = _rings(day)
    pots = list(_savable(day, plan, rings))
    if not pots:
        return RescuePlan((), ())
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}
    weakest = min(rings, key=flame_w)  # whichever ring a pot gets will do then
    moments = dict(zip((p.placement.id for p in pots), _moments(day, pots, weakest), strict=True))
    pots = [p for p in pots if moments[p.placement.id]]
    pots.sort(
        key=lambda p: (
            chance.get(p.dish.id, 0),
            -p.dish.priority,
            moments[p.placement.id][0].at,
            p.placement.id,
        )
    )
    uses = {r.id: _planned_uses(plan, r.id) for r in rings}
    saved: dict[str, Rescue] = {}
    for pot in pots:
        fit = [r for r in rings if pot.placement.litres <= r.litres]
        rescue = _on_a_free_ring(moments[pot.placement.id], fit, uses)
        if rescue is not None:
            uses[rescue.ring_id].append(_use(rescue))
            saved[pot.placement.id] = rescue
    unsaved = tuple(p.placement.id for p in pots if p.placement.id not in saved)
    return RescuePlan(tuple(saved.values()), unsaved)


def _rings(day: Day) -> list[Cooker]:
    broken = day.replan.unavailable if day.replan else frozenset[str]()
    return [c for c in day.event.cookers if c.on_gas and c.id not in broken]


def _savable(day: Day, plan: Plan, rings: list[Cooker]) -> Iterator[SunPot]:
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
        start, serve = minute_of(day.sky, p.loaded_at), minute_of(day.sky, p.served_at)
        lift = minute_of(day.sky, p.lifted_at)
        minutes = np.arange(start + SLOT_MIN, min(serve - dish.rest_min, lift + 1), SLOT_MIN)
        if minutes.size:
            load = Load((dish,), (p.mass_kg,), (pot,), reheat_c=rules_of(event).reheat_c)
            yield SunPot(p, dish, cooker, load, minutes)


def _moments(day: Day, pots: Sequence[SunPot], ring: Cooker) -> list[list[Rescue]]:
    """Return the moments at which each pot could still be saved on a ring, the last one first."""
    poor = _poor_day(day, pots)
    of_pot = [k + len(pots) * np.arange(p.minutes.size) for k, p in enumerate(pots)]
    on_ring = join(
        [
            transfer(day, poor, p.load, ring, members=members, lifted=p.minutes.astype(np.float64))
            for p, members in zip(pots, of_pot, strict=True)
        ]
    )
    sizes = [p.minutes.size for p in pots]
    last = [float(minute_of(day.sky, p.placement.served_at)) + 60 for p in pots]
    until = np.repeat(last, sizes)
    took = run(on_ring, day.forcing, until=until, boil_c=day.boil_c, dt_s=STEP_S).done_min[0]
    moments = []
    for pot, members, took_min in zip(
        pots, of_pot, np.split(took, np.cumsum(sizes)[:-1]), strict=True
    ):
        ready_by = minute_of(day.sky, pot.placement.served_at) - pot.dish.rest_min
        in_time = np.flatnonzero(pot.minutes + MOVE_MIN + took_min <= ready_by)
        moments.append(
            [
                Rescue(
                    placement_id=pot.placement.id,
                    at=at_minute(day.sky, int(pot.minutes[k])),
                    below_c=float(round(poor.pot_c[0, members[k]])),
                    ring_min=ceil_to_slot(float(took_min[k])),
                )
                for k in reversed(in_time)
            ]
        )
    return moments


def _poor_day(day: Day, pots: Sequence[SunPot]) -> Ensemble:
    """Return every pot under a poor sun, at every slot after its loading: slot by slot."""
    state = join([_at_loading(day, p) for p in pots])
    everyone = np.arange(len(pots))
    slots: list[Ensemble] = []
    for _ in range(max(p.minutes.size for p in pots)):
        for _ in range(int(SLOT_MIN * 60 / STEP_S)):
            heat.step(state, day.forcing, dt_s=STEP_S, boil_c=day.boil_c)
        slots.append(select(state, everyone))
    return join(slots)


def _at_loading(day: Day, pot: SunPot) -> Ensemble:
    start = np.asarray([minute_of(day.sky, pot.placement.loaded_at)])
    return loaded(day, pot.cooker, pot.load, start, strength=POOR)


def _planned_uses(plan: Plan, ring_id: str) -> list[RingUse]:
    """Return when a ring is taken by the plan itself."""
    uses = [RingUse(p.loaded_at, p.lifted_at) for p in plan.placements if p.cooker_id == ring_id]
    uses += [
        RingUse(p.lifted_at, p.off_at or p.served_at)
        for p in plan.placements
        if p.then_cooker_id == ring_id
    ]
    return uses


def _on_a_free_ring(
    moments: Sequence[Rescue], rings: Sequence[Cooker], uses: dict[str, list[RingUse]]
) -> Rescue | None:
    """Return the last moment at which some ring is free for as long as it takes."""
    for moment in moments:
        for ring in rings:
            if _is_free(uses[ring.id], moment, ring.pots_max):
                return changed(moment, ring_id=ring.id)
    return None


def _use(rescue: Rescue) -> RingUse:
    return RingUse(rescue.at, rescue.at + timedelta(minutes=MOVE_MIN + rescue.ring_min))


def _is_free(uses: Sequence[RingUse], rescue: Rescue, pots_max: int) -> bool:
    wanted = _use(rescue)
    starts = [u.starts_at for u in uses if wanted.starts_at < u.starts_at < wanted.ends_at]
    return all(
        sum(u.starts_at <= at < u.ends_at for u in uses) < pots_max
        for at in (wanted.starts_at, *starts)
    )
