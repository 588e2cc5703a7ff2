"""A pot taken from one cooker to another: the move, and what becomes of it there.

Moving takes five minutes in the open, lid on: the pot goes on in its second cooker as done as it
was, and that much colder.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from solver.policy import STAND_LOSS_W_M2_K
from solver.simulation.day import Day, loaded
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Forcing, Ints, Load
from solver.thermal.pots import pot_area_m2

MOVE_MIN = 5
STEP_S = 180.0
# What a pot takes with it: warmth, how far it is done and safe, steam lost.
KEPT_STATE = ("pot_c", "core_c", "won_min", "lethal_min", "clock_min", "steam_kg", "lag_c", "ice_j")


def transfer(
    day: Day, state: Ensemble, load: Load, cooker: Cooker, *, members: Ints, lifted: Array
) -> Ensemble:
    """Return the pots of some members as they go on in their second cooker.

    `lifted` is when these members leave the first one (minutes of the day); the second cooker
    stood empty at the air's temperature.
    """
    minutes = lifted + MOVE_MIN
    air_c = day.sky.air_c[np.clip(minutes.astype(np.int64), 0, day.sky.air_c.size - 1)]
    after = loaded(day, cooker, load, minutes, body_c=air_c)
    for name in KEPT_STATE:
        setattr(after, name, getattr(state, name)[..., members].copy())
    area_m2 = np.asarray([[pot_area_m2(pot.litres)] for pot in load.pots])
    lost_fraction = 1 - np.exp(-STAND_LOSS_W_M2_K * area_m2 * MOVE_MIN * 60 / after.pot_j_k)
    colder = (after.pot_c - air_c) * lost_fraction
    after.pot_c, after.core_c = after.pot_c - colder, after.core_c - colder
    return after


def some_pots(state: Ensemble, pots: Sequence[int]) -> Ensemble:
    """Return an ensemble of its own that holds only some of a load's pots."""
    count = state.pot_c.shape[0]
    return Ensemble(
        **{
            f.name: a.take(pots, axis=-2) if a.ndim > 1 and a.shape[-2] == count else a.copy()
            for f in dataclasses.fields(Ensemble)
            for a in [getattr(state, f.name)]
        }
    )


def part_of(load: Load, pots: Sequence[int]) -> Load:
    """Return some of a load's pots as a load of their own."""
    return Load(
        tuple(load.dishes[n] for n in pots),
        tuple(load.masses_kg[n] for n in pots),
        tuple(load.pots[n] for n in pots),
        load.preheat_min,
        load.reheat_c,
    )


@dataclass(frozen=True)
class Finish:
    """What comes of pots in their second cooker, by member; minutes of the day, inf for never."""

    done: Array
    clock_min: Array
    coldest_c: Array  # the middle from done until the end; inf where never done


def finish(state: Ensemble, forcing: Forcing, *, until: Array, boil_c: float) -> Finish:
    """Run pots in their second cooker to the last plate (`until`: minutes of the day)."""
    done = np.where(heat.is_done(state)[0], state.minute, np.inf)
    clock = state.clock_min[0].copy()
    coldest_c = np.where(np.isfinite(done), state.core_c[0], np.inf)
    left_min = float(np.max(until - state.minute)) if state.minute.size else 0.0
    for _ in range(max(0, int(np.ceil(left_min * 60 / STEP_S)))):
        heat.step(state, forcing, dt_s=STEP_S, boil_c=boil_c)
        within = state.minute <= until + STEP_S / 60
        ready = heat.is_done(state)[0] & within
        clock = np.where(np.isinf(done) & within, state.clock_min[0], clock)
        done = np.where(ready, np.minimum(done, state.minute), done)
        since_done = within & np.isfinite(done)
        coldest_c = np.where(since_done, np.minimum(coldest_c, state.core_c[0]), coldest_c)
    return Finish(done, clock, coldest_c)
