"""A pot taken from one cooker to another: the move, and what becomes of it there.

Moving takes five minutes in the open, lid on: the pot goes on in its second cooker as done as it
was, and that much colder.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from events.model import Cooker
from solver.policy import STAND_LOSS_W_M2_K
from solver.simulation.day import Day, loaded_each
from solver.simulation.run import select
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Forcing, Ints, Load
from solver.thermal.pots import pot_area_m2

MOVE_MIN = 5
STEP_S = 180.0
DROP_BELOW = 0.9  # of the members still of interest: the others are dropped
# What a pot takes with it: warmth, how far it is done and safe, steam lost.
KEPT_STATE = ("pot_c", "core_c", "won_min", "lethal_min", "clock_min", "steam_kg", "lag_c", "ice_j")


def transfer(
    day: Day, state: Ensemble, load: Load, cooker: Cooker, *, members: Ints, lifted: Array
) -> Ensemble:
    """Return the pots of some members as they go on in their second cooker.

    `lifted` is when these members leave the first one (minutes of the day); the second cooker
    stood empty at the air's temperature.
    """
    taken = replace(taken_out(state, members), lifted=lifted)
    return put_down(day, taken, [(cooker, load)], np.zeros(members.size, dtype=np.int64))


@dataclass(frozen=True)
class Taken:
    """Pots lifted out of their first cookers, one for each member: what they take with them."""

    member: Ints
    lifted: Array
    pot_c: Array
    core_c: Array
    won_min: Array
    lethal_min: Array
    clock_min: Array
    steam_kg: Array
    lag_c: Array
    ice_j: Array


def taken_out(state: Ensemble, members: Ints, names: Ints | None = None) -> Taken:
    """Return the pots of some members as they are lifted now; they may be given other names."""
    kept = {name: getattr(state, name).take(members, axis=-1) for name in KEPT_STATE}
    return Taken(members if names is None else names, state.minute[members], **kept)


def together(parts: Sequence[Taken]) -> Taken:
    """Return all that was taken out at several moments."""
    names = [f.name for f in dataclasses.fields(Taken)]
    return Taken(*(np.concatenate([getattr(p, n) for p in parts], axis=-1) for n in names))


def put_down(
    day: Day, taken: Taken, seconds: Sequence[tuple[Cooker, Load]], owner: Ints
) -> Ensemble:
    """Return pots that were taken out as they go on, each in its owner's cooker, with its load."""
    minutes = taken.lifted + MOVE_MIN
    last = day.sky.air_c.size - 1
    air_c = day.sky.air_c[np.minimum(np.maximum(minutes.astype(np.int64), 0), last)]
    after = loaded_each(day, seconds, owner, minutes, body_c=air_c)
    for name in KEPT_STATE:
        setattr(after, name, getattr(taken, name))
    area_m2 = np.asarray([[pot_area_m2(pot.litres) for pot in load.pots] for _, load in seconds])
    loss_w_k = STAND_LOSS_W_M2_K * area_m2[owner].T
    lost_fraction = 1 - np.exp(-loss_w_k * MOVE_MIN * 60 / after.pot_j_k)
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
    clock_min: Array  # between 5 and 60 °C until done, or to the last plate where it cools
    coldest_c: Array  # the middle from done until the end; inf where never done


def finish(
    state: Ensemble, forcing: Forcing, *, until: Array, boil_c: float, cools: bool = True
) -> Finish:
    """Run pots in their second cooker to the last plate (`until`: minutes of the day).

    Where nobody asks how far they cool (`cools` is False), a pot is run until it is done.
    """
    done = np.where(heat.is_done(state)[0], state.minute, np.inf)
    clock = state.clock_min[0].copy()
    coldest_c = np.where(np.isfinite(done), state.core_c[0], np.inf)
    members, last = np.arange(done.size), until + STEP_S / 60
    left_min = float(np.max(until - state.minute)) if done.size else 0.0
    for _ in range(max(0, int(np.ceil(left_min * 60 / STEP_S)))):
        keep = state.minute <= until
        if not cools:
            keep &= np.isinf(done[members])
        if keep.sum() < DROP_BELOW * members.size:
            state, members = select(state, keep), members[keep]
            until, last = until[keep], last[keep]
        heat.step(state, forcing, dt_s=STEP_S, boil_c=boil_c)
        within, was_done = state.minute <= last, done[members]
        counts = within if cools else within & np.isinf(was_done)
        clock[members] = np.where(counts, state.clock_min[0], clock[members])
        ready = heat.is_done(state)[0] & within
        done[members] = now_done = np.where(ready, np.minimum(was_done, state.minute), was_done)
        cold_c = coldest_c[members]
        since_done = within & np.isfinite(now_done)
        coldest_c[members] = np.where(since_done, np.minimum(cold_c, state.core_c[0]), cold_c)
    return Finish(done, clock, coldest_c)
