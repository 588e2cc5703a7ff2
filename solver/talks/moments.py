"""How surely a moment is seen in a stretch of time: each load run once more under drawn days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from events.food_rules import rules_of
from events.rounds import HAND_MOMENTS, Moment, StopMoment
from solver.plan import Placement, Plan
from solver.policy import BOIL_WITHIN_K, FIRST_STEAM_K, LAST_LOOK_MIN, LASTING_MIN, SETTLE_MIN
from solver.rounds.sights import OVER_C, Sighting, sightings
from solver.simulation.day import Day
from solver.simulation.drawn_load import DrawnDays, drawn_loads
from solver.solar.irradiance import minute_of
from solver.thermal.energy_balance import Array, Bools, Load

# A time is chosen by the first two, its chance told by the last.
CHOOSING_SEED, SHOWING_SEED, TELLING_SEED = 61, 63, 62
LASTS: tuple[Moment, ...] = ("boil", "over-100")
HEATS: tuple[Literal["first-steam", "boil"], ...] = ("first-steam", "boil")  # of a pot


@dataclass(frozen=True)
class Shown:
    """A moment of a load, or of a cooker's turns: minute by minute whether it is so, by draw.

    For what begins (first steam) only the minute it begins is set, for work of hands the planned
    one, in every draw in which what it needs has come: what is lifted must be done.
    """

    moment: StopMoment
    cooker_id: str
    dish_ids: tuple[str, ...]
    start: int  # the minute of the first column
    seen: Bools  # (draws, minutes)

    def share(self, start: int, end: int) -> float:
        """Return the share of draws in which a talk between two minutes shows it."""
        lasts = self.moment in LASTS
        first = max(start + SETTLE_MIN - self.start, 0)
        last = (end if lasts else end - LAST_LOOK_MIN + 1) - self.start
        if last <= first:
            return 0.0
        count = self.seen[:, first:last].sum(axis=1)
        return float(np.mean(count >= (LASTING_MIN if lasts else 1)))


def shown_moments(day: Day, plan: Plan, seed: int, wanted: set[Moment]) -> list[Shown]:
    """Return every moment of the plan that is wanted, under drawn days of a seed."""
    hands = [
        s
        for s in sightings(day, plan.placements, plan.jobs, plan.turns)
        if s.moment in wanted and s.moment in HAND_MOMENTS
    ]
    fills: dict[str, list[Placement]] = {}
    for p in plan.placements:
        if p.id not in plan.started_ids:
            fills.setdefault(p.fill, []).append(p)
    days = DrawnDays.of(day, seed)
    needed = bool(wanted - set(HAND_MOMENTS)) or "lifted" in wanted
    found = [_planned(s, fills) for s in hands if s.moment != "lifted"]
    for fill in fills.values() if needed else ():
        found += _of_load(days, fill, wanted, hands)
    return found


def _planned(sighting: Sighting, fills: dict[str, list[Placement]]) -> Shown:
    """Return work of hands: it is done when it is planned."""
    dishes = tuple(
        p.dish_id for fill in fills.values() for p in fill if p.cooker_id == sighting.cooker_id
    )
    once = np.ones((1, 1), dtype=bool)
    return Shown(sighting.moment, sighting.cooker_id, dishes, sighting.start, once)


def _of_load(
    days: DrawnDays, fill: Sequence[Placement], wanted: set[Moment], hands: Sequence[Sighting]
) -> list[Shown]:
    """Run one load under every draw, minute by minute, and read off what is to be seen."""
    day, first = days.day, fill[0]
    event, cooker = day.event, day.event.cooker(first.cooker_id)
    dishes = tuple(p.dish_id for p in fill)
    start, lift = minute_of(day.sky, first.loaded_at), minute_of(day.sky, first.lifted_at)
    load = Load(
        tuple(event.dish(p.dish_id) for p in fill),
        tuple(p.mass_kg for p in fill),
        tuple(event.pot(p.pot_id) for p in fill),
        start - minute_of(day.sky, first.preheat_at) if first.preheat_at else 0,
        rules_of(event).reheat_c,
    )
    ran = drawn_loads(days, cooker, load, np.asarray([start]), lift - start + 1)
    shown = [
        Shown(moment, cooker.id, dishes, start, heat_seen(day, moment, ran.hottest_c[0]))
        for moment in HEATS
        if moment in wanted
    ]
    if "over-100" in wanted and cooker.is_oven:
        shown.append(Shown("over-100", cooker.id, dishes, start, ran.body_c[0] >= OVER_C))
    if any(s.moment == "lifted" and s.cooker_id == cooker.id and s.start == lift for s in hands):
        shown.append(Shown("lifted", cooker.id, dishes, lift, ran.done[0][:, -1:]))
    return shown


def heat_seen(day: Day, moment: Literal["first-steam", "boil"], food_c: Array) -> Bools:
    """Return by (draw, minute) where a pot boils, or in which minute its first steam shows."""
    if moment == "boil":
        boils: Bools = food_c >= day.boil_c - BOIL_WITHIN_K
        return boils
    above = food_c >= day.boil_c - FIRST_STEAM_K
    began: Bools = np.concatenate([np.zeros((len(above), 1), bool), above[:, :-1]], axis=1)
    return above & ~began
