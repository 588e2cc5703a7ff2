"""Where a cooker's watts go at one moment of a day, for somebody who shows it to people.

Gas: propane and butane give 46 MJ/kg (from memory); a camping ring puts about 45 % of it into the
pot (typical).
"""

from __future__ import annotations

from datetime import datetime

import numpy as np

from events.model import Cooker
from solver.plan import Placement
from solver.simulation.day import Day
from solver.solar.horizon import skyline_of
from solver.solar.irradiance import beam_at, minute_of
from solver.thermal.energy_balance import Load
from solver.thermal.heat_flow import Flows, Surroundings, flows, steady_body_c
from solver.thermal.measurement import black_pot, water

GAS_J_KG, RING_EFFICIENCY = 46e6, 0.45
COLD_C, WARM_C = 20.0, 60.0
WATER_J_KG_K = 4186.0
AT_BOIL_K = 0.5  # curves are rounded: as near as that to the boil it boils
POT_LITRES = 5.0  # where no pot stands in it, one of this size is imagined


class HeatFlow(Flows):
    """A cooker's watts at one moment of a day, and what they would do in an hour."""

    cooker_id: str
    at: datetime
    placement_ids: tuple[str, ...]  # what cooks in it then; none: a pot of warm water is imagined
    food_c: float  # of the hottest pot
    body_c: float | None  # of a cooker that has a warm body
    band_fraction: float  # how far its strength may be off, either way
    litres_boiled_h: float  # cold water brought to the boil in an hour like this moment
    gas_saved_g_h: float


def heat_now(day: Day, cooker: Cooker, at: datetime, placements: tuple[Placement, ...]) -> HeatFlow:
    """Return where the watts of a cooker go at an instant of the day, aimed at the sun.

    Temperatures are the plan's, where something cooks in it then; else water of 60 °C stands in
    it, in a body as warm as that comes to.
    """
    cooker = day.event.cooker(cooker.id)
    around = _around(day, cooker, at)
    mine = [p for p in placements if _is_in(p, cooker, at)]
    load, food_c = _load(day, mine, at) if mine else _imagined(cooker, WARM_C)
    body_c = _body_c(mine, at)
    if body_c is None or not cooker.nature.has_body:
        body_c = steady_body_c(cooker, load, food_c=food_c, around=around)
    found = flows(cooker, load, food_c=food_c, body_c=body_c, around=around)
    heating_w = _heating_w(cooker, around)
    litres = heating_w * 3600 / (WATER_J_KG_K * (day.boil_c - COLD_C))
    return HeatFlow(
        **{key: round(value, 1) for key, value in found.model_dump().items()},
        cooker_id=cooker.id,
        at=at,
        placement_ids=tuple(p.id for p in mine),
        food_c=round(max(food_c)),
        body_c=round(body_c) if cooker.nature.has_body else None,
        band_fraction=cooker.strength_band_fraction,
        litres_boiled_h=round(litres, 1),
        gas_saved_g_h=round(heating_w * 3600 / (GAS_J_KG * RING_EFFICIENCY) * 1000),
    )


def _is_in(placement: Placement, cooker: Cooker, at: datetime) -> bool:
    """Return whether a pot stands in a cooker at an instant, also as the second one it is in."""
    if placement.cooker_id == cooker.id:
        return placement.loaded_at <= at < placement.lifted_at
    if placement.then_cooker_id != cooker.id or placement.off_at is None:
        return False
    return placement.lifted_at <= at < placement.off_at


def _around(day: Day, cooker: Cooker, at: datetime) -> Surroundings:
    sky = day.sky
    minute = min(max(minute_of(sky, at), 0), sky.air_c.size - 1)
    return Surroundings(
        beam_w_m2=float(beam_at(sky, skyline_of(day.event, cooker))[minute]),
        diffuse_w_m2=float(sky.diffuse_w_m2[minute]),
        air_c=float(sky.air_c[minute]),
        wind_m_s=float(sky.wind_m_s[minute]),
        boil_c=day.boil_c,
        elevation_deg=float(sky.elevation_deg[minute]),
    )


def _load(day: Day, mine: list[Placement], at: datetime) -> tuple[Load, list[float]]:
    """Return what cooks at an instant and how warm each pot is by the plan."""
    load = Load(
        tuple(day.event.dish(p.dish_id) for p in mine),
        tuple(p.mass_kg for p in mine),
        tuple(day.event.pot(p.pot_id) for p in mine),
    )
    curves = [_between([pt.at for pt in p.curve], [pt.food_c for pt in p.curve], at) for p in mine]
    return load, [day.boil_c if c > day.boil_c - AT_BOIL_K else c for c in curves]


def _imagined(cooker: Cooker, food_c: float) -> tuple[Load, list[float]]:
    """Return a pot of water such as the cooker could hold."""
    litres = min(POT_LITRES, cooker.litres)
    pot = black_pot(litres / 1.3, litres)
    return Load((water(litres / 1.3, COLD_C),), (litres / 1.3,), (pot,)), [food_c]


def _body_c(mine: list[Placement], at: datetime) -> float | None:
    """Return how warm the body is by the plan; None where the plan says nothing of it."""
    for p in mine:
        warm = [(pt.at, pt.body_c) for pt in p.curve if pt.body_c is not None]
        if warm and warm[0][0] <= at <= warm[-1][0]:
            return _between([w[0] for w in warm], [w[1] for w in warm], at)
    return None


def _between(instants: list[datetime], values: list[float], at: datetime) -> float:
    seconds = [(i - instants[0]).total_seconds() for i in instants]
    return float(np.interp((at - instants[0]).total_seconds(), seconds, values))


def _heating_w(cooker: Cooker, around: Surroundings) -> float:
    """Return what goes into cold water on its way to the boil: its power halfway."""
    load, halfway_c = _imagined(cooker, (COLD_C + around.boil_c) / 2)
    body_c = steady_body_c(cooker, load, food_c=halfway_c, around=around)
    return max(flows(cooker, load, food_c=halfway_c, body_c=body_c, around=around).food_w, 0.0)
