"""Where a cooker's sun goes at one moment, for somebody who shows it to people.

Gas: propane and butane give 46 MJ/kg; a camping ring puts about 45 % of it into the pot (typical).
"""

from __future__ import annotations

from datetime import datetime

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Cooker
from solver.plan import Placement
from solver.simulation.day import Day
from solver.solar.horizon import skyline_of
from solver.solar.irradiance import beam_at, minute_of
from solver.thermal.light import heating_w, pot_light_fraction
from solver.thermal.pots import pot_area_m2, pot_side_m2

GAS_J_KG, RING_EFFICIENCY = 46e6, 0.45
COLD_C = 20.0
WATER_J_KG_K = 4186.0
POT_LITRES = 5.0  # where no pot stands in it, one of this size is imagined


class HeatFlow(BaseModel):
    """A cooker's heat at one moment; all watts."""

    model_config = ConfigDict(frozen=True)

    cooker_id: str
    at: datetime
    gathered_w: float  # sun that falls into its opening
    taken_w: float  # what becomes heat in it
    food_w: float
    lost_w: float  # from walls, glass and pot to the air
    steam_w: float
    suns_on_pot: float
    food_c: float
    litres_boiled_h: float
    gas_saved_g_h: float
    sentence: str


def heat_now(day: Day, cooker: Cooker, at: datetime, placements: tuple[Placement, ...]) -> HeatFlow:
    """Return where the watts of a sun cooker go at an instant of the day, aimed at the sun.

    The food's temperature is the plan's, where something cooks in it then; else 60 °C is taken.
    """
    cooker = day.event.cooker(cooker.id)
    sky, minute = day.sky, min(max(minute_of(day.sky, at), 0), day.sky.air_c.size - 1)
    beam = float(beam_at(sky, skyline_of(day.event, cooker))[minute])
    area = cooker.aperture_m2 or 0.0
    gathered = beam * area if cooker.on_sun else 0.0
    one = slice(minute, minute + 1)
    light = np.asarray([beam])
    taken = float(
        heating_w(cooker, light, sky.diffuse_w_m2[one], elevation_deg=sky.elevation_deg[one])[0]
    )
    mine = [p for p in placements if p.cooker_id == cooker.id and p.loaded_at <= at < p.lifted_at]
    food_c, body_c = _temperatures(mine, at)
    pots = [day.event.pot(p.pot_id).litres for p in mine] or [min(POT_LITRES, cooker.litres)]
    area_m2 = sum(pot_area_m2(litres) for litres in pots)
    taken *= sum(pot_light_fraction(cooker, litres) for litres in pots) / len(pots)
    air_c = float(sky.air_c[minute])
    blow = 1.0 + cooker.wind_factor_s_m * float(sky.wind_m_s[minute])
    if cooker.nature.has_body:
        ua, hot_c = (cooker.loss_w_k or 0.0) * blow, body_c
    else:
        ua, hot_c = cooker.pot_loss_w_m2_k * area_m2 * blow, food_c
    lost = min(max(ua * (hot_c - air_c), 0.0), taken)
    heating = max(taken - ua * ((COLD_C + day.boil_c) / 2 - air_c), 0.0)  # from cold, on the way
    left = taken - lost
    boils = food_c >= day.boil_c - 0.5
    shown_m2 = sum(pot_side_m2(litres) for litres in pots)
    suns = taken / (beam * shown_m2) if beam > 1 else 0.0
    litres = heating * 3600 / (WATER_J_KG_K * (day.boil_c - COLD_C))
    gas = heating * 3600 / (GAS_J_KG * RING_EFFICIENCY) * 1000
    return HeatFlow(
        cooker_id=cooker.id,
        at=at,
        gathered_w=round(gathered),
        taken_w=round(taken),
        food_w=0.0 if boils else round(left),
        lost_w=round(lost),
        steam_w=round(left) if boils else 0.0,
        suns_on_pot=round(suns, 1),
        food_c=round(food_c),
        litres_boiled_h=round(litres, 1),
        gas_saved_g_h=round(gas),
        sentence=_sentence(cooker, gathered, taken, left, litres, gas, boils=boils),
    )


def _temperatures(mine: list[Placement], at: datetime) -> tuple[float, float]:
    """Return (food °C, body °C) of what cooks at an instant."""
    if not mine:
        return 60.0, 100.0
    seconds = [(pt.at - mine[0].loaded_at).total_seconds() for pt in mine[0].curve]
    now = (at - mine[0].loaded_at).total_seconds()
    food_c = float(np.interp(now, seconds, [pt.food_c for pt in mine[0].curve]))
    body_c = float(np.interp(now, seconds, [pt.body_c or pt.food_c for pt in mine[0].curve]))
    return food_c, body_c


def _sentence(
    cooker: Cooker,
    gathered: float,
    taken: float,
    left: float,
    litres: float,
    gas: float,
    *,
    boils: bool,
) -> str:
    if taken < 1:
        return f"No sun on {cooker.name} at this moment."
    into = "goes off as steam" if boils else "warms the food"
    return (
        f"{cooker.name} gathers {gathered:.0f} watts of sun. {taken:.0f} become heat in it, "
        f"and {left:.0f} of that {into}. It would bring {litres:.1f} litres of cold water to the "
        f"boil in an hour, and saves {gas:.0f} grams of gas in that hour."
    )
