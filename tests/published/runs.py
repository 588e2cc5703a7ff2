"""Runs of the product's own model, for tests that compare it with what was printed."""

from __future__ import annotations

import numpy as np

from events.errors import WHOLE_FILE
from events.model import Cooker, Dish, Pot
from events.reading.catalogue import entries, resolve
from events.reading.recipes import from_ingredients
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Forcing, Load
from solver.thermal.measurement import (
    Conditions,
    clear_light_w,
    empty_rise_k,
    standard_line,
    standard_litres,
    water_c,
)

ONE = np.ones(1)
BOIL_C = 99.97


def cooker_like(name: str, **own: object) -> Cooker:
    """Return a catalogue cooker with some figures of its own."""
    return Cooker.model_validate(resolve("cooker", {"id": "c", "like": name, **own}))


def dish_like(name: str, **own: object) -> Dish:
    """Return a catalogue dish with some figures of its own."""
    table = {"id": "d", "like": name, "meal": "m", "portions": 4, **own}
    return Dish.model_validate(from_ingredients(resolve("dish", table), WHOLE_FILE, []))


def steel_pot(litres: float, **own: object) -> Pot:
    """Return a black steel pot."""
    return Pot.model_validate(
        {"id": "p", "name": "Pot", "litres": litres, "mass_kg": 0.2 + litres / 6.5, **own}
    )


def of_kind(kind: str) -> list[str]:
    """Return the names of the catalogue's cookers of a kind."""
    return [name for name, c in entries("cooker").items() if c["kind"] == kind]


def line(cooker: Cooker, *, sun: float = 800.0, wind: float = 0.5) -> tuple[float, float]:
    """Return (P_s(50) in W, slope in W/K) of the standard water test at the standard load."""
    litres = standard_litres(cooker)
    at = Conditions(sun, 25.0, wind, litres, 1.3 * litres)
    intercept, slope = standard_line(cooker, at, strength=ONE, loss=ONE)
    return float(intercept[0] + 50 * slope[0]), float(slope[0])


def empty_c(cooker: Cooker, *, sun: float = 850.0, air: float = 25.0, pot: float = 4.0) -> float:
    """Return the heat of an empty box; of a dry pot of some litres in any other cooker."""
    return air + empty_rise_k(cooker, Conditions(sun, air, 1.0, 1.0, pot))


def heated(
    cooker: Cooker,
    litres: float,
    *,
    sun: float,
    from_c: float,
    air: float = 25.0,
    wind: float = 0.5,
    pot: float | None = None,
    minutes: int = 600,
) -> Array:
    """Return the water's temperature by the minute."""
    at = Conditions(sun, air, wind, litres, pot or 1.3 * litres)
    track = water_c(cooker, at, from_c=from_c, minutes=minutes, strength=ONE, loss=ONE)
    return np.asarray(track[:, 0])


def minutes_to(track: Array, to_c: float) -> float:
    """Return when water gets to a temperature; inf where it never does."""
    return float(np.interp(to_c, track, np.arange(track.size))) if track.max() >= to_c else np.inf


def minutes_to_done(
    cooker: Cooker,
    dish: Dish,
    kg: float,
    pot: Pot,
    *,
    sun: float = 850.0,
    air: float = 25.0,
    oven_c: float | None = None,
    boil_c: float = BOIL_C,
) -> float:
    """Return the minutes until a dish is done in a steady sun; inf after fifteen hours."""
    state = heat.ensemble(
        cooker,
        Load((dish,), (kg,), (pot,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, oven_c or air),
        strength=ONE,
        boil_c=boil_c,
    )
    forcing = Forcing(clear_light_w(cooker, np.full((1, 1), sun)), np.full(1, air), np.full(1, 1.0))
    while not heat.is_done(state).all() and state.minute[0] < 900:
        heat.step(state, forcing, dt_s=60.0, boil_c=boil_c)
    return float(state.minute[0]) if heat.is_done(state).all() else np.inf
