"""One load run through the day: weak, expected and strong, corrected by probe readings."""

from __future__ import annotations

import copy
import dataclasses
from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from solver.plan import CurvePoint
from solver.simulation.day import Day
from solver.simulation.transfer import transfer
from solver.solar.irradiance import at_minute
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Load

STEP_S = 60.0
CURVE_MIN = 10
MEMBERS = 3
WEAK, EXPECTED, STRONG = range(MEMBERS)


@dataclass(frozen=True)
class LoadRun:
    """A load as far as it was run: where and how it stands, when done and hot, its curves.

    Minutes of the day, by (pot, member); inf where not yet.
    """

    cooker: Cooker
    load: Load
    state: Ensemble
    done: Array
    hot: Array
    curves: tuple[tuple[CurvePoint, ...], ...]  # of the expected member, by pot
    next_point: float  # the minute from which the curves go on


def start_run(cooker: Cooker, load: Load, state: Ensemble) -> LoadRun:
    """Return the run of a load that has just been put into its cooker."""
    never = np.full(state.pot_c.shape, np.inf)
    return LoadRun(
        cooker=cooker,
        load=load,
        state=state,
        done=never,
        hot=never,
        curves=tuple(() for _ in load.pots),
        next_point=float(state.minute[EXPECTED]),
    )


def run_until(day: Day, run: LoadRun, minute: int) -> LoadRun:
    """Return the run, gone on to a minute of the day."""
    state = copy.deepcopy(run.state)
    done, hot, next_point = run.done, run.hot, run.next_point
    points: list[list[CurvePoint]] = [list(curve) for curve in run.curves]
    while state.minute[EXPECTED] < minute - 1e-6:
        if state.minute[EXPECTED] >= next_point:
            next_point = float(state.minute[EXPECTED]) + CURVE_MIN
            for pot, curve in enumerate(points):
                curve.append(_point(day, run.cooker, state, pot))
        heat.step(state, day.forcing, dt_s=STEP_S, boil_c=day.boil_c)
        done = np.where(heat.is_done(state), np.minimum(done, state.minute), done)
        hot = np.where(state.core_c >= 60, np.minimum(hot, state.minute), hot)
    return dataclasses.replace(
        run,
        state=state,
        done=done,
        hot=hot,
        curves=tuple(tuple(curve) for curve in points),
        next_point=next_point,
    )


def _point(day: Day, cooker: Cooker, state: Ensemble, pot: int) -> CurvePoint:
    return CurvePoint(
        at=at_minute(day.sky, round(float(state.minute[EXPECTED]))),
        food_c=round(float(state.pot_c[pot, EXPECTED]), 1),
        core_c=round(float(state.core_c[pot, EXPECTED]), 1),
        body_c=round(float(state.body_c[EXPECTED]), 1) if cooker.is_oven else None,
    )


def corrected(day: Day, run: LoadRun, pot: int, core_c: float) -> LoadRun:
    """Return the run with a pot as warm, in every member, as a probe said."""
    state = copy.deepcopy(run.state)
    off_c = min(core_c, day.boil_c) - state.core_c[pot]
    state.pot_c[pot] = np.minimum(state.pot_c[pot] + off_c, day.boil_c)
    state.core_c[pot] += off_c
    return dataclasses.replace(run, state=state, next_point=float(state.minute[EXPECTED]))


def moved_to_ring(day: Day, run: LoadRun, ring: Cooker, minute: int) -> LoadRun:
    """Return the run, going on on a ring: five minutes later, and colder by the move."""
    state = transfer(
        day,
        run.state,
        run.load,
        ring,
        members=np.arange(MEMBERS),
        lifted=np.full(MEMBERS, float(minute)),
    )
    return dataclasses.replace(run, cooker=ring, state=state)
