"""The heat balance compiled by numba (`pip install noonfare[fast]`), for processes that plan much.

The same arithmetic in the same order as `energy_balance.step` and `run.run`, which are what the
model is: a test holds that both give the same figures. It takes a third of a second to load from
its cache (a file beside this one, or the user's), and some seconds to compile once for each
release: nothing imports it unless its process is to plan much.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable
from operator import attrgetter
from typing import Any

import numba
import numpy as np

from solver.simulation import run as plain
from solver.simulation.run import GUARD_MIN, Cores, SimulationResult
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import (
    FOG_FROM_C,
    FOG_OVER_K,
    MELTS_C,
    Array,
    Ensemble,
    Forcing,
)
from solver.thermal.food import STEAM_J_KG
from solver.thermal.pots import VAPOUR_FROM_C
from solver.thermal.safety import (
    CLOCK_FROM_C,
    CLOCK_TO_C,
    LEAST_LETHAL_C,
    LETHAL_C,
    LETHALITY_MIN,
    LISTERIA_Z_C,
    Z_C,
)

LN10 = math.log(10.0)
_types: Any = numba.types
_LANE, _POT, _MODE = numba.float64[::1], numba.float64[:, ::1], numba.float64[:, :, ::1]
_FORCING = (_POT, _LANE, _LANE)  # watts, air, wind
# What a step reads, what it changes: fields of an Ensemble, in the order of `_run`.
_READ = {
    "row": numba.int64[::1],
    **dict.fromkeys(("strength", "body_j_k", "body_loss_w_k", "body_light_fraction"), _LANE),
    **dict.fromkeys(("wind_factor_s_m", "loss", "steam_most_w", "fog_fraction"), _LANE),
    **dict.fromkeys(("pot_j_k", "pot_loss_w_k", "pot_light_fraction", "coupling_w_k"), _POT),
    "vapour_w_k2": _POT,
    **dict.fromkeys(("amplitude", "stays", "moves"), _MODE),
    "baked": numba.boolean[:, ::1],
    "mode": numba.int64[:, ::1],
    **dict.fromkeys(("threshold_c", "z_c", "needed_min"), _POT),
    "deadly": numba.boolean[:, ::1],
}
_CHANGED = {
    **dict.fromkeys(("minute", "body_c"), _LANE),
    **dict.fromkeys(("pot_c", "core_c", "ice_j", "won_min"), _POT),
    "lag_c": _MODE,
}
_SUMMED = dict.fromkeys(("lethal_min", "clock_min", "steam_kg"), _POT)  # in place, as in `step`
_TAKEN = (
    _types.Tuple(_FORCING),
    _types.Tuple(tuple(_READ.values())),
    _types.Tuple(tuple(_CHANGED.values())),
    _types.Tuple(tuple(_SUMMED.values())),
    *(numba.float64, numba.float64, _LANE, _types.UniTuple(_POT, 4), _LANE),
    numba.float32[:, :, ::1],
)
# Inlined, with arrays and no tuples: else references to all of them are counted in each step.
_inlined = numba.njit(inline="always", error_model="numpy")


@_inlined
def _near_boil(m, pot_c):  # type: ignore[no-untyped-def]
    """Return how much of its fog a lane's glass has: of the hottest pot."""
    hottest_c = pot_c[0, m]
    for p in range(1, pot_c.shape[0]):
        hottest_c = max(hottest_c, pot_c[p, m])
    return min(max((hottest_c - FOG_FROM_C) / FOG_OVER_K, 0.0), 1.0)


@_inlined
def _lag(p, m, jump, stays, moves, amplitude, lag_c):  # type: ignore[no-untyped-def]
    """Let the core lag a surface that jumps by so much; return by how much it is behind."""
    behind = 0.0
    for k in range(3):
        lag = lag_c[k, p, m] * stays[k, p, m] + jump * moves[k, p, m]
        lag_c[k, p, m] = lag
        behind += amplitude[k, p, m] * lag
    return behind


@_inlined
def _won(before, mode, pot, core, threshold_c, z_c, dt_min):  # type: ignore[no-untyped-def]
    """Return the minutes won by a pot so far."""
    if mode == 0:
        return before + math.exp((core - 100.0) * (LN10 / z_c)) * dt_min
    if (pot if mode == 2 else core) >= threshold_c:
        return before + dt_min
    return 0.0


@_inlined
def _lethal(core):  # type: ignore[no-untyped-def]
    if core < LEAST_LETHAL_C:
        return 0.0
    over = core - LETHAL_C
    return math.exp(min(over * (LN10 / Z_C), over * (LN10 / LISTERIA_Z_C)))


def for_its_figures(kernel: Callable[..., None]) -> Callable[..., None]:
    """Name a kernel by the figures it takes from elsewhere: its cache looks at this file only."""
    figures = sorted((k, v) for k, v in kernel.__globals__.items() if isinstance(v, float))
    kernel.__qualname__ += f"_{zlib.crc32(repr(figures).encode()):08x}"
    return kernel


@numba.njit(numba.void(*_TAKEN), cache=True, nogil=True, error_model="numpy")
@for_its_figures
def _run(  # type: ignore[no-untyped-def]  # noqa: PLR0912, PLR0915  for the reason below
    forcing, reads, changes, sums, dt_s, boil_c, until, tally, body_peak_c, cores
):
    """Step each lane until its pots are done, or to `until` where `cores` follow it.

    `energy_balance.step` and `run.run` in one. Written as one function: what is passed on to
    another costs more than the step itself.
    """
    watts, air, wind = forcing
    (
        row,
        strength,
        body_j_k,
        body_loss_w_k,
        body_light,
        wind_factor,
        loss,
        steam_most_w,
        fog,
        pot_j_k,
        pot_loss_w_k,
        pot_light,
        coupling,
        vapour_w_k2,
        amplitude,
        stays,
        moves,
        baked,
        mode,
        threshold_c,
        z_c,
        needed_min,
        deadly,
    ) = reads
    minute, body_c, pot_c, core_c, ice_j, won_min, lag_c = changes
    lethal_min, clock_min, steam_kg = sums
    done, hot, clock, peak_c = tally
    follow, pots, dt_min = cores.shape[0] > 0, pot_c.shape[0], dt_s / 60.0
    push_w, pull, vapour = np.empty(pots), np.empty(pots), np.empty(pots)
    for m in range(minute.size):
        started, steps, waiting = minute[m], 0, pots
        while minute[m] < until[m] and (follow or waiting > 0):
            at = min(max(int(minute[m]), 0), air.size - 1)
            light_w = watts[row[m], at] * strength[m]
            if fog[m] != 0.0:
                light_w *= 1.0 - fog[m] * _near_boil(m, pot_c)
            blow = loss[m] * (1.0 + wind_factor[m] * wind[at])
            body_loss, over = body_loss_w_k[m] * blow, body_j_k[m] / dt_s
            top = over * body_c[m] + body_light[m] * light_w + body_loss * air[at]
            below = over + body_loss
            pushed = tied = 0.0
            for p in range(pots):
                old_c, link = pot_c[p, m], coupling[p, m]
                vapour[p] = vapour_w_k2[p, m] * max(old_c - VAPOUR_FROM_C, 0.0)
                pot_loss, hold = pot_loss_w_k[p, m] * blow, pot_j_k[p, m] / dt_s
                push_w[p] = hold * old_c + pot_light[p, m] * light_w + pot_loss * air[at]
                push_w[p] += vapour[p] * VAPOUR_FROM_C
                pull[p] = hold + link + pot_loss + vapour[p]
                pushed += link / pull[p] * push_w[p]
                tied += link - link * (link / pull[p])
            free = held = (top + pushed) / (below + tied)
            pushed = tied = 0.0
            any_held = False
            for p in range(pots):
                link, held_c = coupling[p, m], MELTS_C if ice_j[p, m] > 0 else boil_c
                if (push_w[p] + link * free) / pull[p] >= held_c:
                    any_held = True
                    pushed += link * held_c
                    tied += link
                else:
                    pushed += link / pull[p] * push_w[p]
                    tied += link - link * (link / pull[p])
            if any_held:
                held = (top + pushed) / (below + tied)
            for p in range(pots):
                link, melts = coupling[p, m], ice_j[p, m] > 0
                held_c = MELTS_C if melts else boil_c
                pot = (push_w[p] + link * held) / pull[p]
                if (push_w[p] + link * free) / pull[p] >= held_c:
                    spare_j = max((push_w[p] + link * held - pull[p] * held_c) * dt_s, 0.0)
                    pot = held_c
                    if melts:
                        left_j = ice_j[p, m] - spare_j
                        ice_j[p, m] = max(left_j, 0.0)
                        pot -= min(left_j, 0.0) / pot_j_k[p, m]
                    else:
                        steam_kg[p, m] += min(spare_j, steam_most_w[m] * dt_s) / STEAM_J_KG
                steam_kg[p, m] += vapour[p] * (pot - VAPOUR_FROM_C) * (dt_s / STEAM_J_KG)
                jump = held - body_c[m] if baked[p, m] else pot - pot_c[p, m]
                behind = _lag(p, m, jump, stays, moves, amplitude, lag_c)
                core = min(held - behind, boil_c) if baked[p, m] else pot - behind
                core_c[p, m], pot_c[p, m] = core, pot
                won_min[p, m] = _won(
                    won_min[p, m], mode[p, m], pot, core, threshold_c[p, m], z_c[p, m], dt_min
                )
                lethal_min[p, m] += _lethal(core) * dt_min
                if CLOCK_FROM_C < core < CLOCK_TO_C:
                    clock_min[p, m] += dt_min
            body_c[m] = held
            minute[m] += dt_min
            steps += 1
            elapsed = minute[m] - started
            for p in range(pots):
                if done[p, m] == np.inf:
                    clock[p, m] = clock_min[p, m]
                    enough = won_min[p, m] > 0 and won_min[p, m] >= needed_min[p, m] - 1e-9
                    if enough and (not deadly[p, m] or lethal_min[p, m] >= LETHALITY_MIN):
                        done[p, m] = elapsed + GUARD_MIN
                        waiting -= 1
                if core_c[p, m] >= CLOCK_TO_C and hot[p, m] == np.inf:
                    hot[p, m] = elapsed
                peak_c[p, m] = max(peak_c[p, m], core_c[p, m])
                if follow:
                    cores[steps, p, m] = core_c[p, m]
            body_peak_c[m] = max(body_peak_c[m], held)


_read, _changed, _summed = (attrgetter(*names) for names in (_READ, _CHANGED, _SUMMED))
_NUMBERS = {"row": np.int64, "mode": np.int64, "baked": np.bool_, "deadly": np.bool_}


def _settle(state: Ensemble) -> None:
    """Lay out every array as compiled code takes it; most are already."""
    for name in (*_READ, *_CHANGED, *_SUMMED):
        dtype = _NUMBERS.get(name, np.float64)
        setattr(state, name, np.asarray(getattr(state, name), dtype=dtype, order="C"))


def _stepped(
    state: Ensemble, forcing: Forcing, dt_s: float, *, boil_c: float, apart: bool, counts: _Counts
) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
    """Step lanes; return what was changed, and what was summed, this in place or `apart`."""
    heat.set_step(state, dt_s)
    driven = (forcing.watts, forcing.air_c, forcing.wind_m_s)
    for again in (False, True):
        changed = tuple(a.copy() for a in _changed(state))
        summed = _summed(state)
        summed = tuple(a.copy() for a in summed) if apart else summed
        try:
            _run(driven, _read(state), changed, summed, dt_s, boil_c, *counts)
            break
        except TypeError:  # an array is laid out in another way
            if again:
                raise
            _settle(state)
            driven = tuple(np.asarray(a, dtype=np.float64, order="C") for a in driven)  # type: ignore[assignment]
    return changed, summed


_Counts = tuple[Array, tuple[Array, Array, Array, Array], Array, Cores]
_NO_CORES = np.empty((0, 0, 0), dtype=np.float32)


def step(state: Ensemble, forcing: Forcing, *, dt_s: float, boil_c: float) -> None:
    """Bring every lane one step forward, as `energy_balance.step` does."""
    shape = state.pot_c.shape
    tally = (np.full(shape, np.inf), np.empty(shape), np.empty(shape), np.empty(shape))
    until = state.minute + dt_s / 120.0  # half a step ahead: one is made
    counts = (until, tally, np.empty(shape[1]), _NO_CORES)
    changed, summed = _stepped(state, forcing, dt_s, boil_c=boil_c, apart=False, counts=counts)
    for names, arrays in ((_CHANGED, changed), (_SUMMED, summed)):
        for name, array in zip(names, arrays, strict=True):
            setattr(state, name, array)


def run(
    state: Ensemble,
    forcing: Forcing,
    *,
    until: Array,
    boil_c: float,
    dt_s: float,
    follow: bool,
) -> SimulationResult:
    """Step members until they are done, as `run.run` does; the state given stays as it is."""
    shape, minute = state.pot_c.shape, state.minute
    tally = (
        np.full(shape, np.inf),
        np.full(shape, np.inf),
        np.zeros(shape),
        np.array(state.core_c),
    )
    body_peak_c = np.array(state.body_c)
    cores = np.empty((0, *shape), dtype=np.float32)
    if follow:
        most = max(0, math.ceil(float(np.max(until - minute, initial=0.0)) * 60 / dt_s)) + 1
        cores = np.full((most + 1, *shape), np.nan, dtype=np.float32)
        cores[0] = state.core_c
    last = np.asarray(until, dtype=np.float64, order="C")
    counts = (last, tally, body_peak_c, cores)
    _stepped(state, forcing, dt_s, boil_c=boil_c, apart=True, counts=counts)
    return SimulationResult(*tally, body_peak_c, cores if follow else None)


def use() -> None:
    """Have all runs of this process stepped by compiled code."""
    heat.stepped_by(step)
    plain.run_by(run)
