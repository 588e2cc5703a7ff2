"""The figures behind what people measured of a cooker, so that its own model gives that back.

What was typed (`Cooker.measured`) is resolved once for a day: strength and losses are found with
which the cooker's own model, put through the same test, comes to the same figures.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from events.measured import Measured
from events.model import Cooker, Event
from events.quantities import RANGES
from events.table import changed
from solver.thermal.energy_balance import Array
from solver.thermal.light import TEST_POT_LITRES_KG
from solver.thermal.measurement import (
    Conditions,
    empty_rise_k,
    kept_c,
    standard_line,
    standard_litres,
    water_c,
)

FACTORS = np.geomspace(0.1, 10.0, 97)
ROUNDS, NUDGE, CLOSE = 12, 1.02, 0.002
COUPLINGS = (1.0, 2.0, 4.0, 8.0)  # tried where even the clearest glass would not do


def calibrated_event(event: Event) -> Event:
    """Return the event with the figures of every cooker that was measured."""
    if all(c.measured is None for c in event.cookers):
        return event
    return changed(event, cookers=tuple(calibrated(c) for c in event.cookers))


def calibrated(cooker: Cooker) -> Cooker:
    """Return the cooker with figures by which its own model gives back what was measured.

    Figures that no cooker can have are left out: the nearest that can be stand in their place.
    """
    if cooker.measured is None:
        return cooker
    plain = changed(cooker, measured=None)
    found = _resolved(
        changed(plain, id="x", name="x", station=None, provenance={}).model_dump_json(),
        cooker.measured,
    )
    return changed(plain, **found)


@lru_cache(maxsize=512)
def _resolved(cooker_json: str, measured: Measured) -> dict[str, float]:
    cooker = Cooker.model_validate_json(cooker_json)
    if measured.line_intercept_w is not None and cooker.on_sun:
        return _by_line(cooker, measured)
    if cooker.on_sun and (measured.empty_c is not None or measured.heat_litres is not None):
        return _by_facts(cooker, measured)
    if measured.kept_c is not None and cooker.keeps_heat_only:
        return _by_kept(cooker, measured)
    return {}


def _figures(
    cooker: Cooker, strength: float, loss: float, coupling: float = 1.0
) -> dict[str, float]:
    """Return the cooker's figures times factors, as near as their ranges allow."""
    key = "loss_w_k" if cooker.nature.has_body else "pot_loss_w_m2_k"
    out = {key: getattr(cooker, key) * loss, "coupling_w_m2_k": cooker.coupling_w_m2_k * coupling}
    if cooker.on_sun:
        out["optical_efficiency"] = cooker.optical_efficiency * strength
    ranges = {"pot_loss_w_m2_k": "loss_w_m2_k"}
    limits = {k: RANGES[ranges.get(k, k)] for k in out}
    return {k: float(f"{min(max(v, limits[k][0]), limits[k][1]):.5g}") for k, v in out.items()}


def _by_line(cooker: Cooker, m: Measured) -> dict[str, float]:
    """Find strength and losses by the standard water test's line (Newton's method)."""
    litres = m.line_litres or standard_litres(cooker)
    at = Conditions(
        m.line_sun_w_m2,
        m.line_air_c,
        m.line_wind_m_s,
        litres,
        m.line_pot_litres or litres * TEST_POT_LITRES_KG,
    )
    slope = m.line_slope_w_k or 0.0
    wanted = np.asarray([(m.line_intercept_w or 0.0) + 50 * slope, slope])
    scale = np.asarray([m.line_intercept_w or 1.0, abs(slope) or 1.0])
    best: tuple[float, dict[str, float]] = (math.inf, {})
    for coupling in COUPLINGS if cooker.nature.has_body else (1.0,):
        tried = changed(cooker, **_figures(cooker, 1.0, 1.0, coupling))
        x = _newton(tried, at, wanted, scale)
        found = _figures(tried, *np.exp(x).tolist())
        there = changed(tried, **found)
        off = float(np.abs(_line_error(there, at, np.zeros((2, 1)), wanted, scale)).max())
        best = min(best, (off, found), key=lambda b: b[0])
        if off < 5 * CLOSE:
            break
    return best[1]


def _newton(cooker: Cooker, at: Conditions, wanted: Array, scale: Array) -> Array:
    """Return the logarithms of (strength, loss) that give the wanted P_s(50) and slope."""
    x, nudge = np.zeros(2), math.log(NUDGE)
    most = math.log(RANGES["optical_efficiency"][1] / cooker.optical_efficiency)
    for _ in range(ROUNDS):
        lanes = x[:, None] + nudge * np.asarray([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
        error = _line_error(cooker, at, lanes, wanted, scale)
        if np.abs(error[:, 0]).max() < CLOSE:
            break
        slopes = (error[:, 1:] - error[:, :1]) / nudge
        x = x - np.clip(np.linalg.lstsq(slopes, error[:, 0], rcond=None)[0], -0.7, 0.7)
        x[0] = min(x[0], most)
    return x


def _line_error(cooker: Cooker, at: Conditions, logs: Array, wanted: Array, scale: Array) -> Array:
    """Return how far (P_s(50), slope) are off, in shares of (intercept, slope), by lane."""
    strength, loss = np.exp(logs)
    intercept, slope = standard_line(cooker, at, strength=strength, loss=loss)
    return (np.asarray([intercept + 50 * slope, slope]) - wanted[:, None]) / scale[:, None]


def _by_facts(cooker: Cooker, m: Measured) -> dict[str, float]:
    """Find strength, and losses where it was seen empty, by two facts from the field."""
    loss = 1.0
    if m.empty_c is not None:
        at = Conditions(
            m.empty_sun_w_m2, m.empty_air_c, m.empty_wind_m_s, 1.0, _facts_pot(cooker, m)
        )
        loss = empty_rise_k(cooker, at) / (m.empty_c - m.empty_air_c)
    if m.heat_litres is None:
        return _figures(cooker, 1.0, loss)
    strength = _strength_by_minutes(cooker, m, loss_for_strength=loss if m.empty_c else None)
    most = RANGES["optical_efficiency"][1] / cooker.optical_efficiency
    for _ in COUPLINGS[1:] if cooker.nature.has_body else ():
        if strength <= most:
            break
        cooker = changed(cooker, **_figures(cooker, 1.0, 1.0, COUPLINGS[1]))
        strength = _strength_by_minutes(cooker, m, loss_for_strength=loss if m.empty_c else None)
    return _figures(cooker, strength, loss * strength if m.empty_c is not None else 1.0)


def _facts_pot(cooker: Cooker, m: Measured) -> float:
    return m.heat_pot_litres or (m.heat_litres or standard_litres(cooker)) * TEST_POT_LITRES_KG


def _strength_by_minutes(cooker: Cooker, m: Measured, *, loss_for_strength: float | None) -> float:
    """Return the strength by which some litres take the minutes that they took.

    Where the cooker was seen empty its losses grow with its strength: the empty heat stays.
    """
    litres = m.heat_litres or 0.0
    at = Conditions(m.heat_sun_w_m2, m.heat_air_c, m.heat_wind_m_s, litres, _facts_pot(cooker, m))
    factors, strength = FACTORS, 1.0
    for _ in range(3):
        loss = factors * loss_for_strength if loss_for_strength else np.ones_like(factors)
        minutes = m.heat_min or 0.0
        track = water_c(
            cooker,
            at,
            from_c=m.heat_from_c or 0.0,
            minutes=math.floor(minutes) + 1,
            strength=factors,
            loss=loss,
        )
        ends = track[-2] + (track[-1] - track[-2]) * (minutes % 1)
        strength = float(np.interp(m.heat_to_c or 0.0, ends, factors))
        factors = strength * np.geomspace(0.9, 1.1, 9)
    return strength


def _by_kept(cooker: Cooker, m: Measured) -> dict[str, float]:
    """Find an insulated box's packing by what it kept of 95 °C after four hours (bisection)."""
    low, high = math.log(0.01), math.log(100.0)
    litres = m.kept_litres or cooker.litres
    for _ in range(40):
        middle = (low + high) / 2
        factor = math.exp(middle)
        tried = changed(cooker, **_figures(cooker, 1.0, factor, factor))
        kept = kept_c(tried, litres=litres, air_c=m.kept_air_c)
        low, high = (middle, high) if kept > (m.kept_c or 0.0) else (low, middle)
    factor = math.exp((low + high) / 2)
    return _figures(cooker, 1.0, factor, factor)
