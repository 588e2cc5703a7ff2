"""Pots in hand: out of a cooker that broke, and standing in the open until somebody takes them on.

How warm one is, is an estimate from when it came off the heat, or from the last probe reading
since; what stands under the hot-holding limit goes on using up its minutes between 5 and 60 °C.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from solver.live.diary_index import DiaryIndex
from solver.live.load_run import EXPECTED, STRONG, WEAK
from solver.live.load_status import fills_of, off_heat, run_until_left
from solver.live.loadings import Loading
from solver.plan import Placement, Plan, StrandedPot
from solver.simulation.day import Day
from solver.simulation.holding import cools_below_after_min, standing_c
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal.safety import CLOCK_TO_C


@dataclass(frozen=True)
class PotInHand:
    """A pot off the heat: when and how warm it came off, and how it stands now."""

    came_off: StrandedPot
    core_c: float
    low_c: float
    high_c: float
    clock_min: float  # between 5 and 60 °C so far

    @property
    def placement(self) -> Placement:
        """Return the pot as it was placed in the cooker that it came out of."""
        return self.came_off.placement


def pots_in_hand(
    day: Day, plan: Plan, diary: DiaryIndex, loadings: Mapping[str, Loading], now: int
) -> tuple[PotInHand, ...]:
    """Return the pots of broken cookers, those that the plan already knew of among them.

    One that was loaded anew, served or thrown away is in hand no longer.
    """
    known = [
        pot
        for pot in plan.in_hand
        if pot.placement.id not in loadings and pot.placement.id not in diary.finished_ids
    ]
    broken = [*_stranded(day, plan, diary, loadings, now)]
    return tuple(_as_it_stands(day, diary, pot, now) for pot in (*known, *broken))


def _stranded(
    day: Day, plan: Plan, diary: DiaryIndex, loadings: Mapping[str, Loading], now: int
) -> Iterator[StrandedPot]:
    """Yield the pots of the loads whose cooker broke while they were in it."""
    for fill in fills_of(plan, diary, loadings):
        minute = off_heat(day, diary, fill[0], now)
        if minute is None:
            continue
        run = run_until_left(day, diary, fill, loadings[fill[0].id], minute)
        for n, placement in enumerate(fill):
            core_c = run.state.core_c[n]
            yield StrandedPot(
                placement=placement,
                off_at=at_minute(day.sky, minute),
                off_c=round(float(core_c[EXPECTED]), 1),
                low_c=round(float(core_c[WEAK]), 1),
                high_c=round(float(core_c[STRONG]), 1),
                done=bool(np.isfinite(run.done[n, EXPECTED])),
                clock_min=round(float(run.state.clock_min[n, EXPECTED]) + placement.spent_min),
            )


def _as_it_stands(day: Day, diary: DiaryIndex, pot: StrandedPot, now: int) -> PotInHand:
    start, from_c = minute_of(day.sky, pot.off_at), (pot.low_c, pot.off_c, pot.high_c)
    clock_min = float(pot.clock_min)
    since = [r for r in diary.readings if r.placement.id == pot.placement.id and r.minute > start]
    for reading in sorted(since, key=lambda r: r.minute):
        clock_min += _under_limit_min(day, pot.placement, from_c[1], start, reading.minute)
        start, from_c = reading.minute, (reading.core_c,) * 3
    low_c, core_c, high_c = (_standing(day, pot.placement, c, start, now) for c in from_c)
    clock_min += _under_limit_min(day, pot.placement, from_c[1], start, now)
    return PotInHand(pot, core_c, min(low_c, core_c), max(high_c, core_c), clock_min)


def _standing(day: Day, p: Placement, from_c: float, start: int, end: int) -> float:
    dish, pot = day.event.dish(p.dish_id), day.event.pot(p.pot_id)
    return float(standing_c(day, dish, p.mass_kg, pot, from_c=from_c, start=start, end=end))


def _under_limit_min(day: Day, p: Placement, from_c: float, start: int, end: int) -> float:
    """Return for how many of some minutes a standing pot was colder than 60 °C."""
    dish, pot = day.event.dish(p.dish_id), day.event.pot(p.pot_id)
    hot_min = cools_below_after_min(
        day, dish, p.mass_kg, pot, from_c=from_c, start=start, end=end, limit_c=CLOCK_TO_C
    )
    return max(0.0, end - start - float(hot_min))
