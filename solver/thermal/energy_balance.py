"""How cookers and pots warm: one energy balance for mirror, box, panel, hay box and gas ring.

    body   C_b T_b' = (1 - Σ sᵢ) Q - UA (T_b - T_a) - Σ Gᵢ (T_b - Tᵢ)
    pot    Cᵢ Tᵢ'  = sᵢ Q + Gᵢ (T_b - Tᵢ) - UAᵢ (Tᵢ - T_a) - Vᵢ (Tᵢ - 50 °C)²

V is the vapour that a lid lets out of hot food. A box's glass fogs near the boil. Surplus at the
boil becomes steam; at 0 °C ice melts before food warms. An insulated box is a pot in a packing
(the body), which must be warmed first.

Implicit steps, so that a fast mirror is as steady as a slow box. Many lanes (a batch or a fill
in a cooker from one start) are stepped at once: arrays are (pots, lanes) or (lanes,).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from events.food_rules import FOOD_RULES
from events.model import Cooker, Dish, Pot
from solver.thermal import food
from solver.thermal.light import pot_light_fraction
from solver.thermal.pots import (
    POT_SUN,
    VAPOUR_FROM_C,
    lid_factor,
    pot_area_m2,
    pot_heat_j_k,
    vapour_w_k2,
)
from solver.thermal.safety import CLOCK_FROM_C, CLOCK_TO_C, LETHALITY_MIN, lethality_rate

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

# Glass over hot wet food fogs: from 80 °C in the pot on, a tenth of the light at 100 °C. Typical,
# unmeasured; uncovered food fogs it far more.
FOG_FROM_C, FOG_OVER_K, FOG_FRACTION = 80.0, 20.0, 0.1
MELTS_C = 0.0
SIMMER_W = 200.0  # into steam once a flame is turned down at the boil (common practice)


@dataclass(frozen=True)
class Load:
    """What goes into a cooker together: for each batch its dish, its mass and its pot."""

    dishes: tuple[Dish, ...]
    masses_kg: tuple[float, ...]
    pots: tuple[Pot, ...]
    preheat_min: int = 0  # how long the cooker stands empty on the sun before
    reheat_c: float = FOOD_RULES["strictest"].reheat_c  # for food that was cooked before


@dataclass
class Ensemble:
    """The state and constants of many runs side by side; last axis is the lane."""

    minute: Array  # of the day, where the lane stands now
    row: Ints  # which row of the watts table drives it
    strength: Array  # 1 is as described
    body_c: Array
    body_j_k: Array
    body_loss_w_k: Array
    body_light_fraction: Array
    wind_factor_s_m: Array
    loss: Array  # factor on all losses: 1 is as described
    steam_most_w: Array  # a flame is turned down at the boil; the sun is not
    fog_fraction: Array  # of the light that fogged glass keeps out at the boil
    pot_c: Array  # (pots, lanes) from here on
    pot_j_k: Array
    pot_loss_w_k: Array
    pot_light_fraction: Array
    coupling_w_k: Array
    vapour_w_k2: Array
    ice_j: Array  # what still melts
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
    """Return lanes for one load in one cooker at many starts (`minutes` of the day).

    Raises ValueError for a cooker whose measured figures were not resolved (calibration.py).
    """
    owner = np.zeros(len(minutes), dtype=np.int64)
    state = ensembles([(cooker, load)], owner, minutes=minutes, body_c=body_c, boil_c=boil_c)
    state.row, state.strength = row, strength
    return state


def ensembles(
    loads: Sequence[tuple[Cooker, Load]],
    owner: Ints,
    *,
    minutes: Array,
    body_c: Array,
    boil_c: float,
) -> Ensemble:
    """Return lanes for loads in cookers, each with the load that owns it, driven by row 0.

    All loads have the same number of pots. Raises ValueError as `ensemble` does.
    """
    unresolved = next((c.id for c, _ in loads if c.measured is not None), None)
    if unresolved is not None:
        raise ValueError(f"{unresolved}: what was measured of it must be resolved first")
    n = len(owner)
    one = np.ones(n)

    def lane(figure: Callable[[Cooker], float]) -> Array:
        return np.asarray([figure(c) for c, _ in loads], dtype=np.float64).take(owner)

    def pots(figure: Callable[[Cooker, Load, int], float]) -> Array:
        by_load = [[figure(c, load, p) for p in range(len(load.pots))] for c, load in loads]
        return np.asarray(by_load, dtype=np.float64).T.take(owner, axis=1)

    shapes = [[food.modes(d) for d in load.dishes] for _, load in loads]
    asks = np.asarray(
        [[_ask(d, boil_c, load.reheat_c) for d in load.dishes] for _, load in loads]
    ).T.take(owner, axis=2)
    amplitude = np.asarray([[m.amplitude for m in of] for of in shapes]).T.take(owner, axis=2)
    start_c = pots(lambda _, load, p: load.dishes[p].start_c)
    state = Ensemble(
        minute=minutes.astype(np.float64),
        row=np.zeros(n, dtype=np.int64),
        strength=one,
        body_c=body_c.astype(np.float64),
        body_j_k=lane(lambda c: max(c.body_kj_k * 1000.0, 1.0)),
        body_loss_w_k=lane(lambda c: (c.loss_w_k or 0.0) if c.nature.has_body else 1.0),
        body_light_fraction=lane(
            lambda c: 1.0 - c.sun_on_pots_fraction if c.nature.has_body else 0.0
        ),
        wind_factor_s_m=lane(lambda c: c.wind_factor_s_m),
        loss=one.copy(),
        steam_most_w=lane(lambda c: SIMMER_W if c.on_gas else np.inf),
        fog_fraction=lane(lambda c: FOG_FRACTION if c.nature.glazed else 0.0),
        pot_c=start_c.copy(),
        pot_j_k=pots(lambda _, ld, p: pot_heat_j_k(ld.dishes[p], ld.masses_kg[p], ld.pots[p])),
        pot_loss_w_k=pots(lambda c, load, p: _pot_loss_w_k(c, load.dishes[p], load.pots[p])),
        pot_light_fraction=pots(
            lambda c, load, p: _light_fraction(c, load.pots[p], len(load.pots))
        ),
        coupling_w_k=pots(
            lambda c, load, p: (
                c.coupling_w_m2_k * pot_area_m2(load.pots[p].litres) if c.nature.has_body else 0.0
            )
        ),
        vapour_w_k2=pots(lambda c, load, p: vapour_w_k2(c, load.dishes[p], load.pots[p])),
        ice_j=pots(lambda _, load, p: food.ice_j(load.dishes[p], load.masses_kg[p])),
        amplitude=amplitude,
        tau_s=np.asarray([[m.tau_s for m in of] for of in shapes]).T.take(owner, axis=2),
        step_s=np.zeros(n),
        stays=np.zeros_like(amplitude),
        moves=np.zeros_like(amplitude),
        lag_c=np.zeros_like(amplitude),
        baked=pots(lambda _, load, p: load.dishes[p].shape == "baked") > 0,
        mode=asks[0].astype(np.int64),
        threshold_c=asks[1],
        z_c=pots(lambda _, load, p: load.dishes[p].z_c),
        needed_min=asks[2],
        deadly=pots(lambda _, load, p: load.dishes[p].hazardous) > 0,
        won_min=np.zeros_like(start_c),
        lethal_min=np.zeros_like(start_c),
        clock_min=pots(lambda _, load, p: float(load.dishes[p].out_min or 0)),
        steam_kg=np.zeros_like(start_c),
        core_c=start_c,
    )
    # A loaf meets a hot oven at once: its surface jumps from its start to the body's temperature.
    state.lag_c += np.where(state.baked, state.body_c - start_c, 0.0)
    return state


def _pot_loss_w_k(cooker: Cooker, dish: Dish, pot: Pot) -> float:
    """Return what a pot in the open loses; one in a body loses to that."""
    if cooker.nature.has_body:
        return 0.0
    return cooker.pot_loss_w_m2_k * pot_area_m2(pot.litres) * lid_factor(dish)


def _light_fraction(cooker: Cooker, pot: Pot, pots: int) -> float:
    """Return the share of a cooker's light (or flame) that one of its pots takes."""
    if cooker.on_gas:
        return 1.0
    shared = cooker.sun_on_pots_fraction / pots
    return shared * POT_SUN[pot.colour] * pot_light_fraction(cooker, pot.litres)


def _ask(dish: Dish, boil_c: float, reheat_c: float) -> tuple[int, float, float]:
    """Return what done means as (mode, threshold_c, needed minutes)."""
    mode = dish.done_mode
    if mode.measured == "cooking":
        return 0, 0.0, food.reference_cook_min(dish)
    if mode.measured == "boil":
        return 2, boil_c - 0.5, float(max(dish.hold_min, 1))
    threshold = reheat_c if mode.cooked_before else dish.core_c or 0.0
    return 1, min(threshold, boil_c - 0.5), float(dish.hold_min)


@dataclass(frozen=True)
class Forcing:
    """What the day does to the cookers: watts by row and minute, air and wind by minute."""

    watts: Array  # (rows, minutes)
    air_c: Array
    wind_m_s: Array


class Stepper(Protocol):
    """What brings every lane one step forward."""

    def __call__(self, state: Ensemble, forcing: Forcing, *, dt_s: float, boil_c: float) -> None:
        """As the function of that name does."""


_steppers: list[Stepper] = []  # of this process, in the place of numpy: `simulation/compiled.py`


def stepped_by(*steppers: Stepper) -> None:
    """Have every step of this process made by another stepper; by numpy again, if by none."""
    _steppers[:] = steppers


def step(state: Ensemble, forcing: Forcing, *, dt_s: float, boil_c: float) -> None:
    """Bring every lane one step forward, in place; the step may be of any length."""
    for stepper in _steppers:
        stepper(state, forcing, dt_s=dt_s, boil_c=boil_c)
        return
    last = forcing.air_c.size - 1
    at = np.minimum(np.maximum(state.minute.astype(np.int64), 0), last)  # faster than clip
    air, old_c = forcing.air_c[at], state.pot_c
    light_w = forcing.watts[state.row, at] * state.strength
    if state.fog_fraction.any():
        near = (_hottest(old_c) - FOG_FROM_C) / FOG_OVER_K
        near = np.minimum(np.maximum(near, 0.0), 1.0)
        light_w *= 1.0 - state.fog_fraction * near
    blow = state.loss * (1.0 + state.wind_factor_s_m * forcing.wind_m_s[at])
    body_loss, pot_loss = state.body_loss_w_k * blow, state.pot_loss_w_k * blow
    vapour = state.vapour_w_k2 * np.maximum(old_c - VAPOUR_FROM_C, 0.0)
    hold, link = state.pot_j_k / dt_s, state.coupling_w_k
    push_w = hold * old_c + state.pot_light_fraction * light_w + pot_loss * air
    push_w += vapour * VAPOUR_FROM_C
    pull = hold + link + pot_loss + vapour
    over = state.body_j_k / dt_s
    top = over * state.body_c + state.body_light_fraction * light_w + body_loss * air
    below = over + body_loss
    # Each pot's new temperature is a straight line in the body's: eliminate, solve, put back.
    tie = link / pull
    body = (top + _total(tie * push_w)) / (below + _total(link - link * tie))
    pot = (push_w + link * body) / pull
    melts = state.ice_j > 0
    held_c = np.where(melts, MELTS_C, boil_c) if melts.any() else boil_c
    held = pot >= held_c
    if held.any():
        body = (top + _total(np.where(held, link * held_c, tie * push_w))) / (
            below + _total(np.where(held, link, link - link * tie))
        )
        pot = np.where(held, held_c, (push_w + link * body) / pull)
        spare_j = np.where(held, push_w + link * body - pull * held_c, 0.0) * dt_s
        pot = _change(state, pot, np.maximum(spare_j, 0.0), melts, dt_s=dt_s)
    state.steam_kg += vapour * (pot - VAPOUR_FROM_C) * (dt_s / food.STEAM_J_KG)
    _follow(state, pot, body, dt_s=dt_s, boil_c=boil_c)
    state.minute = state.minute + dt_s / 60.0


def _total(by_pot: Array) -> Array:
    """Return sums over pots: most loads have one, and a sum over one costs as much as a step's."""
    one: Array = by_pot[0] if len(by_pot) == 1 else by_pot.sum(0)
    return one


def _hottest(pot_c: Array) -> Array:
    hottest: Array = pot_c[0] if len(pot_c) == 1 else pot_c.max(0)
    return hottest


def _change(state: Ensemble, pot: Array, spare_j: Array, melts: Bools, *, dt_s: float) -> Array:
    """Let what is left over at the boil become steam, and at 0 °C melt ice; return the pots."""
    steam_j = np.minimum(spare_j, state.steam_most_w * dt_s)
    if not melts.any():
        state.steam_kg += steam_j / food.STEAM_J_KG
        return pot
    state.steam_kg += np.where(melts, 0.0, steam_j) / food.STEAM_J_KG
    left_j = state.ice_j - np.where(melts, spare_j, 0.0)
    state.ice_j = np.maximum(left_j, 0.0)
    return pot - np.minimum(left_j, 0.0) / state.pot_j_k


def set_step(state: Ensemble, dt_s: float) -> None:
    """Work out what a step of this length leaves and adds of each lag."""
    if (state.step_s != dt_s).any():
        x = dt_s / state.tau_s
        state.step_s = np.full_like(state.step_s, dt_s)
        state.stays, state.moves = np.exp(-x), -np.expm1(-x) / x


def _follow(state: Ensemble, pot: Array, body: Array, *, dt_s: float, boil_c: float) -> None:
    """Let the core lag its surface, then count what the minute was worth."""
    bakes = bool(state.baked.any())
    was = np.where(state.baked, state.body_c, state.pot_c) if bakes else state.pot_c
    surface = np.where(state.baked, body, pot) if bakes else pot
    set_step(state, dt_s)
    state.lag_c = state.lag_c * state.stays + (surface - was) * state.moves
    core = surface - (state.amplitude * state.lag_c).sum(0)
    state.core_c = np.where(state.baked, np.minimum(core, boil_c), core) if bakes else core
    state.pot_c, state.body_c = pot, body
    dt_min = dt_s / 60.0
    warm = np.where(state.mode == 2, pot, state.core_c) >= state.threshold_c
    won = np.where(warm, state.won_min + dt_min, 0.0)
    simmers = state.mode == 0
    if simmers.any():
        cooked = state.won_min + food.cook_rate(state.core_c, state.z_c) * dt_min
        won = np.where(simmers, cooked, won)
    state.won_min = won
    state.lethal_min += lethality_rate(state.core_c) * dt_min
    counts = (state.core_c > CLOCK_FROM_C) & (state.core_c < CLOCK_TO_C)
    state.clock_min += np.where(counts, dt_min, 0.0)


def is_done(state: Ensemble) -> Bools:
    """Return, for each pot and lane, whether it is done and, where it must be, safe."""
    enough = (state.won_min > 0) & (state.won_min >= state.needed_min - 1e-9)
    return enough & (~state.deadly | (state.lethal_min >= LETHALITY_MIN))


def preheated_c(
    cooker: Cooker,
    forcing: Forcing,
    row: int | Ints,
    *,
    minutes: Ints,
    for_min: int,
    strength: Array | float = 1.0,
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
        won = forcing.watts[row, at] * strength
        top = heat / 60.0 * body_c + won + ua * forcing.air_c[at]
        body_c = top / (heat / 60.0 + ua)
    return body_c


def insulated_c(
    cooker: Cooker,
    *,
    pot_litres: float,
    heat_j_k: float,
    from_c: Array | float,
    air_c: Array | float,
    minutes: Array | float,
) -> Array:
    """Return how hot a lone pot still is in a cooker that makes no heat, closed form.

    The packing starts as cool as the air: it takes its share first, so the pot falls fast at the
    beginning and slowly later. Source: two lumps in a row, solved by eigenvalues.
    """
    link = cooker.coupling_w_m2_k * pot_area_m2(pot_litres)
    body_j_k = max(cooker.body_kj_k * 1000.0, 1.0)
    out_1_s = link / heat_j_k
    in_1_s, lost_1_s = link / body_j_k, (cooker.loss_w_k or 0.0) / body_j_k
    half = (out_1_s + in_1_s + lost_1_s) / 2
    root = (half**2 - out_1_s * lost_1_s) ** 0.5
    slow, fast = -half + root, -half - root
    share = (-out_1_s - fast) / (slow - fast)
    left: Array = share * np.exp(slow * minutes * 60) + (1 - share) * np.exp(fast * minutes * 60)
    return air_c + (from_c - air_c) * left
