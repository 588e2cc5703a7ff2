"""How cookers and pots warm: one energy balance for mirror, box, panel, hay box and gas ring.

    body   C_b T_b' = (1 - Σ sᵢ) Q - UA (T_b - T_a) - Σ Gᵢ (T_b - Tᵢ)
    pot    Cᵢ Tᵢ'  = sᵢ Q + Gᵢ (T_b - Tᵢ) - UAᵢ (Tᵢ - T_a)

Implicit steps, so that a fast mirror is as steady as a slow box. Many lanes (a batch or a fill
in a cooker from one start) are walked at once: arrays are (pots, lanes) or (lanes,).
Surplus at the boil becomes steam.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from events.model import Cooker, Dish, Pot
from solver.thermal import food

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

# kJ/(kg K), handbook values (from memory, ±5 %).
_POT_HEAT = {
    "steel": 0.50,
    "aluminium": 0.90,
    "cast-iron": 0.46,
    "enamel": 0.50,
    "glass": 0.83,
    "clay": 0.85,
}
# Share of the sun a pot keeps against a black one: typical, unmeasured.
_POT_SUN = {"black": 1.0, "dark": 0.9, "shiny": 0.4}


# An open pot near the boil loses about five times what it does under its lid, for a minute each
# time it is stirred: typical, unmeasured.
OPEN_LOSS, OPEN_MIN = 5.0, 1.0


def pot_area_m2(litres: float) -> float:
    """Return the outside of a pot as tall as it is wide, lid included."""
    return float(1.5 * np.pi * (4 * litres / 1000.0 / np.pi) ** (2 / 3))


def _lid(dish: Dish) -> float:
    """Return what opening the lid to stir multiplies a pot's loss by, taken over the whole time."""
    if not dish.stir_every_min:
        return 1.0
    return 1.0 + (OPEN_LOSS - 1.0) * OPEN_MIN / max(dish.stir_every_min, OPEN_MIN)


def watts(cooker: Cooker, beam_w_m2: Array, diffuse_w_m2: Array) -> Array:
    """Return the heat won from the sun (or the flame), minute by minute."""
    if cooker.on_gas:
        return np.full_like(beam_w_m2, cooker.optical_efficiency * (cooker.power_w or 0.0))
    if cooker.keeps_heat_only:
        return np.zeros_like(beam_w_m2)
    light = beam_w_m2 + cooker.diffuse_fraction * diffuse_w_m2
    return cooker.optical_efficiency * (cooker.aperture_m2 or 0.0) * light


@dataclass(frozen=True)
class Load:
    """What goes into a cooker together: for each batch its dish, its mass and its pot."""

    dishes: tuple[Dish, ...]
    masses_kg: tuple[float, ...]
    pots: tuple[Pot, ...]
    preheat_min: int = 0  # how long the cooker stands empty on the sun before


@dataclass
class Ensemble:
    """The state and constants of many runs side by side; last axis is the lane."""

    minute: Array  # of the day, where the lane stands now
    row: Ints  # which row of the watts table drives it
    strength: Array  # 1 is as described
    body_c: Array
    body_j_k: Array
    body_loss: Array
    body_share: Array
    wind: Array
    pot_c: Array  # (pots, lanes) from here on
    pot_j_k: Array
    pot_loss: Array
    pot_share: Array
    coupling: Array
    amplitude: Array  # (3, pots, lanes)
    tau_s: Array
    step_s: Array  # (lanes,): the step that the next two are for
    stays: Array  # (3, pots, lanes): what a step leaves of a lag
    moves: Array  # what a lag gains for each degree that the surface moves in a step
    lag_c: Array
    baked: Bools
    mode: Ints  # 0 simmer, 1 threshold of the core, 2 boil
    threshold_c: Array
    z_c: Array
    needed_min: Array
    deadly: Bools  # needs the lethality too
    won_min: Array
    lethal_min: Array
    clock_min: Array
    steam_kg: Array
    core_c: Array


def ensemble(
    cooker: Cooker,
    load: Load,
    *,
    minutes: Array,
    row: Ints,
    body_c: Array,
    strength: Array,
    boil_c: float,
) -> Ensemble:
    """Return lanes for one load in one cooker at many starts (`minutes` of the day)."""
    n = len(minutes)
    has_body = cooker.nature.has_body
    one = np.ones(n)

    def each(values: list[float]) -> Array:
        return np.asarray(values, dtype=np.float64)[:, None] * one

    areas = [pot_area_m2(p.litres) for p in load.pots]
    share = [cooker.sun_on_pots_fraction / len(load.pots) * _POT_SUN[p.colour] for p in load.pots]
    if cooker.on_gas:
        share = [1.0 for _ in load.pots]
    shapes = [food.modes(d) for d in load.dishes]
    asks = [_ask(d, boil_c) for d in load.dishes]
    start_c = each([d.start_c for d in load.dishes])
    state = Ensemble(
        minute=minutes.astype(np.float64),
        row=row,
        strength=strength,
        body_c=body_c.astype(np.float64).copy(),
        body_j_k=one * max(cooker.body_kj_k * 1000.0, 1.0),
        body_loss=one * (cooker.loss_w_k or 0.0 if has_body else 1.0),
        body_share=one * (1.0 - cooker.sun_on_pots_fraction if has_body else 0.0),
        wind=one * cooker.wind_factor_s_m,
        pot_c=start_c.copy(),
        pot_j_k=each(
            [
                1000.0 * (food.heat_kj_k(d, m) + p.mass_kg * _POT_HEAT[p.material])
                for d, m, p in zip(load.dishes, load.masses_kg, load.pots, strict=True)
            ]
        ),
        pot_loss=each(
            [
                0.0 if has_body else cooker.pot_loss_w_m2_k * a * _lid(d)
                for a, d in zip(areas, load.dishes, strict=True)
            ]
        ),
        pot_share=each(share),
        coupling=each([cooker.coupling_w_m2_k * a if has_body else 0.0 for a in areas]),
        amplitude=np.asarray([s.amplitude for s in shapes]).T[:, :, None] * one,
        tau_s=np.asarray([s.tau_s for s in shapes]).T[:, :, None] * one,
        step_s=np.zeros(n),
        stays=np.zeros((3, len(shapes), n)),
        moves=np.zeros((3, len(shapes), n)),
        lag_c=np.zeros((3, len(shapes), n)),
        baked=np.asarray([d.shape == "baked" for d in load.dishes])[:, None] & (one > 0),
        mode=np.asarray([a[0] for a in asks])[:, None] * np.ones(n, dtype=np.int64),
        threshold_c=each([a[1] for a in asks]),
        z_c=each([d.z_c for d in load.dishes]),
        needed_min=each([a[2] for a in asks]),
        deadly=np.asarray([d.hazardous for d in load.dishes])[:, None] & (one > 0),
        won_min=np.zeros_like(start_c),
        lethal_min=np.zeros_like(start_c),
        clock_min=np.zeros_like(start_c),
        steam_kg=np.zeros_like(start_c),
        core_c=start_c.copy(),
    )
    # A loaf meets a hot oven at once: its surface jumps from its start to the body's temperature.
    state.lag_c += np.where(state.baked, state.body_c - start_c, 0.0)
    return state


def _ask(dish: Dish, boil_c: float) -> tuple[int, float, float]:
    """Return what done means as (mode, threshold_c, needed minutes)."""
    mode = dish.done_mode
    if mode.measured == "cooking":
        return 0, 0.0, food.reference_cook_min(dish)
    if mode.measured == "boil":
        return 2, boil_c - 0.5, float(max(dish.hold_min, 1))
    threshold = dish.core_c or 0.0 if "core_c" in mode.requires else food.REHEAT_C
    return 1, min(threshold, boil_c - 0.5), float(dish.hold_min)


@dataclass(frozen=True)
class Forcing:
    """What the day does to the cookers: watts by row and minute, air and wind by minute."""

    watts: Array  # (rows, minutes)
    air_c: Array
    wind_m_s: Array


def step(state: Ensemble, forcing: Forcing, *, dt_s: float, boil_c: float) -> None:
    """Walk every lane one step forward, in place; the step may be of any length."""
    at = np.clip(state.minute.astype(np.int64), 0, forcing.air_c.size - 1)
    q = forcing.watts[state.row, at] * state.strength
    air = forcing.air_c[at]
    blow = 1.0 + state.wind * forcing.wind_m_s[at]
    body_loss, pot_loss = state.body_loss * blow, state.pot_loss * blow
    old_c, old_body = state.pot_c, state.body_c
    hold = state.pot_j_k / dt_s
    drive_w = hold * old_c + state.pot_share * q + pot_loss * air
    below = hold + state.coupling + pot_loss
    # Each pot's new temperature is a straight line in the body's: eliminate, solve, put back.
    over = state.body_j_k / dt_s
    top = over * old_body + state.body_share * q + body_loss * air
    link = state.coupling / below
    body = (top + (link * drive_w).sum(0)) / (
        over + body_loss + (state.coupling * (1 - link)).sum(0)
    )
    pot = (drive_w + state.coupling * body) / below
    boils = pot >= boil_c
    if boils.any():
        coupled = state.coupling > 0
        body = (
            top + (np.where(boils, state.coupling * boil_c, link * drive_w) * coupled).sum(0)
        ) / (over + body_loss + np.where(boils, state.coupling, state.coupling * (1 - link)).sum(0))
        pot = np.where(boils, boil_c, (drive_w + state.coupling * body) / below)
        spare = drive_w + state.coupling * body - below * boil_c
        state.steam_kg += np.where(boils, np.maximum(spare, 0.0) * dt_s / food.STEAM_J_KG, 0.0)
    _follow(state, pot, body, dt_s=dt_s, boil_c=boil_c)
    state.minute = state.minute + dt_s / 60.0


def _follow(state: Ensemble, pot: Array, body: Array, *, dt_s: float, boil_c: float) -> None:
    """Let the core lag its surface, then count what the minute was worth."""
    was = np.where(state.baked, state.body_c, state.pot_c)
    surface = np.where(state.baked, body, pot)
    if (state.step_s != dt_s).any():
        x = dt_s / state.tau_s
        state.step_s = np.full_like(state.step_s, dt_s)
        state.stays, state.moves = np.exp(-x), -np.expm1(-x) / x
    state.lag_c = state.lag_c * state.stays + (surface - was) * state.moves
    core = surface - (state.amplitude * state.lag_c).sum(0)
    state.core_c = np.where(state.baked, np.minimum(core, boil_c), core)
    state.pot_c, state.body_c = pot, body
    dt_min = dt_s / 60.0
    warm = np.where(state.mode == 2, pot, state.core_c) >= state.threshold_c
    state.won_min = np.where(
        state.mode == 0,
        state.won_min + food.cook_rate(state.core_c, state.z_c) * dt_min,
        np.where(warm, state.won_min + dt_min, 0.0),
    )
    state.lethal_min += food.lethality_rate(state.core_c) * dt_min
    state.clock_min += np.where((state.core_c > 5.0) & (state.core_c < 60.0), dt_min, 0.0)


def is_done(state: Ensemble) -> Bools:
    """Return, for each pot and lane, whether it is done and, where it must be, safe."""
    enough = (state.won_min > 0) & (state.won_min >= state.needed_min - 1e-9)
    return enough & (~state.deadly | (state.lethal_min >= food.LETHALITY_MIN))


def preheated_c(
    cooker: Cooker, forcing: Forcing, row: int | Ints, *, minutes: Ints, for_min: int
) -> Array:
    """Return the empty body's temperature after `for_min` on the sun, ending at each minute."""
    first = np.maximum(minutes - for_min, 0)
    body_c = forcing.air_c[first].copy()
    if not cooker.nature.has_body:
        return body_c
    loss, heat = cooker.loss_w_k or 0.0, max(cooker.body_kj_k * 1000.0, 1.0)
    for k in range(for_min):
        at = np.minimum(first + k, forcing.air_c.size - 1)
        ua = loss * (1.0 + cooker.wind_factor_s_m * forcing.wind_m_s[at])
        top = heat / 60.0 * body_c + forcing.watts[row, at] + ua * forcing.air_c[at]
        body_c = top / (heat / 60.0 + ua)
    return body_c
