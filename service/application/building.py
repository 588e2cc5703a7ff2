"""A cooker that is only thought of, under a standard sun or that of a place on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from threading import Semaphore

from events.errors import Busy
from solver.feasibility.builder import Built, Filled, built
from solver.solar.noon import noon_sun
from solver.thermal.design import Design, cooker_of, widest_pot_litres
from solver.thermal.food import boiling_c
from solver.thermal.heat_flow import Surroundings
from solver.thermal.measurement import DIFFUSE_FRACTION

STANDARD_W_M2 = 700.0  # ASAE S580's reference, on a surface that faces the sun
STANDARD_AIR_C, LIGHT_AIR_M_S = 25.0, 1.0
LOWEST_DEG = 10.0  # under this the sun cooks nothing

WAIT_S = 3.0

cooker_built = cooker_of
# The page is open to all, and each design takes a tenth of a second: one at a time, so that who
# moves sliders never slows those down who press what they did.
WORKING = Semaphore(1)


@dataclass(frozen=True)
class Sunshine:
    """The sun that a design is tried under; at a place its height, else the standard's."""

    around: Surroundings
    elevation_deg: float | None = None

    @property
    def w_m2(self) -> float:
        """Return what falls on a surface that faces the sun."""
        return self.around.beam_w_m2 + self.around.diffuse_w_m2


def standard_sun(air_c: float) -> Sunshine:
    """Return the standard test's sun, at sea level."""
    return Sunshine(
        Surroundings(
            beam_w_m2=(1 - DIFFUSE_FRACTION) * STANDARD_W_M2,
            diffuse_w_m2=DIFFUSE_FRACTION * STANDARD_W_M2,
            air_c=air_c,
            wind_m_s=LIGHT_AIR_M_S,
            boil_c=boiling_c(0),
        )
    )


def noon_at(
    day: date, *, latitude_deg: float, longitude_deg: float, altitude_m: float, air_c: float
) -> Sunshine | None:
    """Return the clear sun of a place at its highest; None where that is too low to cook."""
    sun = noon_sun(
        day, latitude_deg=latitude_deg, longitude_deg=longitude_deg, altitude_m=altitude_m
    )
    if sun.elevation_deg < LOWEST_DEG:
        return None
    around = Surroundings(
        beam_w_m2=sun.beam_w_m2,
        diffuse_w_m2=sun.diffuse_w_m2,
        air_c=air_c,
        wind_m_s=LIGHT_AIR_M_S,
        boil_c=boiling_c(altitude_m),
    )
    return Sunshine(around, sun.elevation_deg)


def tried(design: Design, filled: Filled, sun: Sunshine) -> Built | None:
    """Return what a design does; None where the pot does not go into it. Raises Busy."""
    if filled.pot_litres > widest_pot_litres(design):
        return None
    if not WORKING.acquire(timeout=WAIT_S):
        raise Busy("Many are building just now. Try again in a moment.")
    try:
        return built(design, filled, sun.around)
    finally:
        WORKING.release()
