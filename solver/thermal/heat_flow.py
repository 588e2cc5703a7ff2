"""Where a cooker's watts go at one moment: what arrives, what is gathered, lost, kept and eaten.

The heat balance itself (energy_balance.py) is stepped for a second from the state asked for, and
what each part gained is read off it. What the air takes is worked out apart from that, so that the
sum, gathered = lost + steam + into the food + stored, is a check and not a definition.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from solver.part import Part
from solver.solar.turned import through_glass
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import FOG_FROM_C, FOG_OVER_K, Ensemble, Forcing, Load
from solver.thermal.food import STEAM_J_KG
from solver.thermal.light import heating_w
from solver.thermal.pots import POT_SUN, pot_side_m2

STEP_S = 1.0
DARK_W_M2 = 1.0  # of beam; with less nothing is lit


@dataclass(frozen=True)
class Surroundings:
    """The sun on a surface that faces it, the air, and where water boils."""

    beam_w_m2: float
    diffuse_w_m2: float
    air_c: float
    wind_m_s: float
    boil_c: float
    elevation_deg: float | None = None  # None: the opening stands square to the sun


class Flows(Part):
    """A cooker's watts at one moment."""

    arrives_w: float  # light on its opening, or the heat of its flame
    gathered_w: float  # what becomes heat in it
    lost_w: float  # from walls, glass and pots to the air
    steam_w: float  # what boils off, and what the lid lets out
    food_w: float  # into pots and food; below 0 where they cool
    stored_w: float  # into the warm body of an oven; below 0 where that gives heat back
    suns_on_pot: (
        float  # how much stronger than bare sun the light on pots is; 0: they stand in a body
    )


def flows(
    cooker: Cooker, load: Load, *, food_c: Sequence[float], body_c: float, around: Surroundings
) -> Flows:
    """Return where the watts go, with pots at `food_c` in a body at `body_c`."""
    light_w = light_of(cooker, around)
    state = _state(cooker, load, food_c=food_c, body_c=body_c, boil_c=around.boil_c)
    pots_c, ice_j = state.pot_c.copy(), state.ice_j.copy()
    on_pots = state.pot_light_fraction.sum(0)
    gathered_w = light_w * _clear(state) * float((state.body_light_fraction + on_pots)[0])
    forcing = Forcing(
        np.full((1, 1), light_w), np.full(1, around.air_c), np.full(1, around.wind_m_s)
    )
    heat.step(state, forcing, dt_s=STEP_S, boil_c=around.boil_c)
    lost_w = _lost_w(state, around)
    steam_w = float(state.steam_kg.sum()) * STEAM_J_KG / STEP_S
    warmed_j = state.pot_j_k * (state.pot_c - pots_c) + ice_j - state.ice_j
    food_w = float(warmed_j.sum()) / STEP_S
    stored_w = 0.0
    if cooker.nature.has_body:
        stored_w = float((state.body_j_k * (state.body_c - body_c))[0]) / STEP_S
    if cooker.on_gas:  # turned down at the boil: what the flame gives then is what goes somewhere
        gathered_w = min(gathered_w, lost_w + steam_w + food_w + stored_w)
    return Flows(
        arrives_w=arriving_w(cooker, around),
        gathered_w=gathered_w,
        lost_w=lost_w,
        steam_w=steam_w,
        food_w=food_w,
        stored_w=stored_w,
        suns_on_pot=_suns(load, state, light_w, around) if _shines_on_pots(cooker) else 0.0,
    )


def light_of(cooker: Cooker, around: Surroundings) -> float:
    """Return the light (or flame) that becomes heat, before pots and fog take from it."""
    high = None if around.elevation_deg is None else np.full(1, around.elevation_deg)
    beam, diffuse = np.full(1, around.beam_w_m2), np.full(1, around.diffuse_w_m2)
    return float(heating_w(cooker, beam, diffuse, elevation_deg=high)[0])


def arriving_w(cooker: Cooker, around: Surroundings) -> float:
    """Return the light that falls on the opening; of a ring the heat of its flame."""
    if cooker.on_gas:
        return cooker.power_w or 0.0
    if not cooker.on_sun:
        return 0.0
    beam = around.beam_w_m2
    if cooker.glass_tilt_deg is not None and around.elevation_deg is not None:
        beam *= float(through_glass(cooker.glass_tilt_deg, np.full(1, around.elevation_deg))[0])
    return (cooker.aperture_m2 or 0.0) * (beam + around.diffuse_w_m2)


def steady_body_c(
    cooker: Cooker, load: Load, *, food_c: Sequence[float], around: Surroundings
) -> float:
    """Return the heat that the body comes to around pots that stay as warm as they are."""
    if not cooker.nature.has_body:
        return around.air_c
    state = _state(cooker, load, food_c=food_c, body_c=around.air_c, boil_c=around.boil_c)
    loss = float(state.body_loss_w_k[0]) * (1 + cooker.wind_factor_s_m * around.wind_m_s)
    link = state.coupling_w_k[:, 0]
    won = light_of(cooker, around) * _clear(state) * float(state.body_light_fraction[0])
    pots = float((link * state.pot_c[:, 0]).sum())
    return (won + pots + loss * around.air_c) / (float(link.sum()) + loss)


def _state(
    cooker: Cooker, load: Load, *, food_c: Sequence[float], body_c: float, boil_c: float
) -> Ensemble:
    state = heat.ensemble(
        cooker,
        load,
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, body_c),
        strength=np.ones(1),
        boil_c=boil_c,
    )
    state.pot_c = np.minimum(np.asarray(food_c, dtype=np.float64), boil_c)[:, None]
    state.ice_j = np.where(state.pot_c > heat.MELTS_C, 0.0, state.ice_j)
    return state


def _clear(state: Ensemble) -> float:
    """Return the share of the light that fogged glass lets through."""
    near = np.clip((state.pot_c.max(0) - FOG_FROM_C) / FOG_OVER_K, 0.0, 1.0)
    return 1.0 - float((state.fog_fraction * near)[0])


def _shines_on_pots(cooker: Cooker) -> bool:
    return cooker.on_sun and not cooker.nature.has_body


def _lost_w(state: Ensemble, around: Surroundings) -> float:
    """Return what the air takes from body and pots, vapour apart."""
    blow = 1.0 + state.wind_factor_s_m * around.wind_m_s
    pots = (state.pot_loss_w_k * (state.pot_c - around.air_c)).sum(0)
    body = state.body_loss_w_k * (state.body_c - around.air_c)
    return float((blow * (pots + body))[0])


def _suns(load: Load, state: Ensemble, light_w: float, around: Surroundings) -> float:
    """Return the light on the pots against the bare sun on their sides, whatever their colour."""
    if around.beam_w_m2 < DARK_W_M2:
        return 0.0
    shares = state.pot_light_fraction[:, 0]
    on_pots = sum(s / POT_SUN[p.colour] for s, p in zip(shares, load.pots, strict=True))
    sides_m2 = sum(pot_side_m2(p.litres) for p in load.pots)
    return float(light_w * on_pots / (around.beam_w_m2 * sides_m2))
