"""Cookers described by what people can measure: the record, its faults, and a first estimate.

The line of the standard water test; two facts seen in the field; a mirror by its shape; an
insulated box by one reading. The event keeps what was typed (`Cooker.measured`). The parameters
here take the water, the pot and the cooker for one lump: they show what can not be, and
solver/thermal/calibration.py finds those with which the whole model gives the measured figures.

Sources
[S580] ASAE/ASABE S580.1: P_s = P 700 / I. For a lumped cooker the line is 700 eta A - UA 700/I T_d
       (derived), so eta = a / (700 A) and UA = -b I / 700.
[LUMP] One lump of water in a cooker: t = MC/UA ln[(Q - UA(T1 - Ta)) / (Q - UA(T2 - Ta))].
[PARA] A paraboloid's rim lies f + h from its focus, h = D²/(16 f).
"""

from __future__ import annotations

import math
from typing import cast

from events.errors import Fault, Place
from events.kinds import COOKER_KINDS, CookerKind, Kind
from events.measured import Measured
from events.model import round_opening_m2
from events.table import RawTable

WATER_J_KG_K = 4186.0  # [S580]
MEASURED_BAND, FACTS_BAND = 0.1, 0.15  # judgement: one careful test, two facts from the field
SLOPE_ERROR_DEG, SUN_RADIUS_DEG = 1.0, 0.27  # typical polished sheet; the sun's half width

TEST: RawTable = {"kind": "measured"}
FIELD: RawTable = {"kind": "measured", "note": "in the field"}
SHAPED: RawTable = {"kind": "computed", "note": "from its shape"}

KEYS = tuple(Measured.model_fields)
_USUAL = {k: f.default for k, f in Measured.model_fields.items() if isinstance(f.default, float)}


def with_opening(cooker: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return a cooker's table with the area of its round opening; another area too is a fault."""
    diameter_m, area_m2 = cooker.get("diameter_m"), cooker.get("aperture_m2")
    if isinstance(diameter_m, bool) or not isinstance(diameter_m, (int, float)):
        return cooker
    if area_m2 not in (None, round_opening_m2(diameter_m)):
        faults.append(
            place.fault("diameter_m", f"{diameter_m:g}", "aperture_m2 is given too", "Keep one.")
        )
    return {**cooker, "aperture_m2": round_opening_m2(diameter_m)}


def to_parameters(cooker: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return a cooker's table with what was measured as a record, and a first estimate from it."""
    given = cooker.get("measured")
    typed = {k: v for k, v in given.items() if v is not None} if isinstance(given, dict) else {}
    typed |= {k: cooker[k] for k in KEYS if k in cooker}
    if not typed:
        return cooker
    out = {k: v for k, v in cooker.items() if k not in KEYS} | {"measured": typed}
    provenance = out.get("provenance")
    out["provenance"] = dict(provenance) if isinstance(provenance, dict) else {}
    figures: dict[str, float] = dict(_USUAL)
    for key, value in typed.items():
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            faults.append(place.not_a_number(key, value))
            return out
        if not math.isfinite(value):
            faults.append(place.not_a_number(key, value))
            return out
        figures[key] = float(value)
    for asked, estimate in (
        (("focal_m", "depth_m"), _shape),
        (("line_intercept_w", "line_slope_w_k"), _line),
        (("empty_c", "heat_litres"), _facts),
        (("kept_c",), _kept),
    ):
        if any(k in typed for k in asked):
            try:
                out = estimate(out, figures, typed)
            except KeyError as error:
                limit = f"{', '.join(typed)} need it too"
                faults.append(place.fault(str(error.args[0]), "", limit, "Add it."))
                return out
            except ValueError as error:
                faults.append(place.fault(", ".join(typed), "", str(error), "Measure again."))
                return out
    return out


def _set(out: RawTable, source: RawTable, **figures: float) -> RawTable:
    provenance = out["provenance"]
    assert isinstance(provenance, dict)
    digits = {k: float(f"{v:.4g}") for k, v in figures.items()}
    return {**out, **digits, "provenance": {**provenance, **dict.fromkeys(figures, source)}}


def _width(area_m2: float) -> float:
    return math.sqrt(4 * area_m2 / math.pi)


def _nature(out: RawTable) -> CookerKind:
    """Return what is true of its kind; a kind that there is not is faulted elsewhere."""
    return COOKER_KINDS.get(cast("Kind", out.get("kind")), COOKER_KINDS["panel"])


def _aperture(out: RawTable) -> float:
    value = out.get("aperture_m2")
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise KeyError("aperture_m2")
    return float(value)


def _possible(efficiency: float) -> float:
    if not 0.02 <= efficiency <= 0.95:
        raise ValueError(
            f"would mean that {100 * efficiency:.0f} % of the light gets in; 2 to 95 can be"
        )
    return efficiency


def _line(out: RawTable, f: dict[str, float], typed: RawTable) -> RawTable:
    """[S580] The line of the standard water test."""
    for key in ("line_intercept_w", "line_slope_w_k"):
        if key not in typed:
            raise KeyError(key)
    if f["line_slope_w_k"] >= 0:
        raise ValueError(f"a slope of {f['line_slope_w_k']:g} W/K is not below 0")
    efficiency = _possible(f["line_intercept_w"] / 700 / _aperture(out))
    loss = -f["line_slope_w_k"] * f["line_sun_w_m2"] / 700
    out = _set(out, TEST, optical_efficiency=efficiency, strength_band_fraction=MEASURED_BAND)
    if _nature(out).has_body:
        return _set(out, TEST, loss_w_k=loss)
    return _set(out, TEST, pot_loss_w_m2_k=loss / 0.2)  # a pot of about 8 litres


def _facts(out: RawTable, f: dict[str, float], typed: RawTable) -> RawTable:
    """[LUMP] The hottest empty temperature, and the minutes that some litres took."""
    area, sun = _aperture(out), f["heat_sun_w_m2"]
    rise = f["empty_c"] - f["empty_air_c"] if "empty_c" in typed else None
    if rise is not None and rise <= 0:
        raise ValueError("the hottest empty temperature must be above the air's")
    if rise is not None and _nature(out).concentrates:
        raise ValueError("an empty pot must never stand at a mirror's focus")
    if "heat_litres" in typed:
        for key in ("heat_from_c", "heat_to_c", "heat_min"):
            if key not in typed:
                raise KeyError(key)
        low, high = f["heat_from_c"] - f["heat_air_c"], f["heat_to_c"] - f["heat_air_c"]
        if high <= low or f["heat_min"] <= 0 or f["heat_litres"] <= 0:
            raise ValueError("the water must get warmer, in more than 0 minutes")
        capacity, seconds = f["heat_litres"] * WATER_J_KG_K, f["heat_min"] * 60
        if rise is None:
            power = capacity * (high - low) / seconds + _loss(out) * (low + high) / 2
        else:
            reach = rise * sun / f["empty_sun_w_m2"]
            if high >= reach:
                raise ValueError("the water got hotter than the empty cooker")
            power = capacity * reach / seconds * math.log((reach - low) / (reach - high))
        out = _set(
            out,
            FIELD,
            optical_efficiency=_possible(power / sun / area),
            strength_band_fraction=FACTS_BAND,
        )
    if rise is not None:
        efficiency = out.get("optical_efficiency")
        eta = float(efficiency) if isinstance(efficiency, (int, float)) else 0.5
        loss = eta * area * f["empty_sun_w_m2"] / rise
        key, scale = ("loss_w_k", 1.0) if _nature(out).has_body else ("pot_loss_w_m2_k", 0.2)
        out = _set(out, FIELD, **{key: loss / scale})
    return out


def _loss(out: RawTable) -> float:
    """Return a pot's loss in W/K: its own surface, or the box's."""
    for key, scale in (("loss_w_k", 1.0), ("pot_loss_w_m2_k", 0.2)):
        value = out.get(key)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return float(value) * scale
    return 2.0


def _shape(out: RawTable, f: dict[str, float], typed: RawTable) -> RawTable:
    """[PARA] A mirror's opening, focal length or depth: how far off it keeps the pot lit."""
    given = out.get("diameter_m")
    width = float(given) if isinstance(given, (int, float)) else _width(_aperture(out))
    focal = f["focal_m"] if "focal_m" in typed else width**2 / (16 * f["depth_m"])
    if not 0.05 <= focal <= 10:
        raise ValueError(f"a focal length of {focal:.2f} m is not 0.05 to 10")
    rim_m = focal + width**2 / (16 * focal)
    spot_m = rim_m * math.radians(2 * SLOPE_ERROR_DEG + SUN_RADIUS_DEG)
    half_m = f["pot_width_m"] / 2
    if half_m <= spot_m:
        raise ValueError(
            f"a pot {f['pot_width_m']:g} m wide is smaller than the bright spot, {2 * spot_m:.2f} m"
        )
    kept = math.degrees(math.atan((half_m - spot_m) / rim_m))
    lost = math.degrees(math.atan((half_m + spot_m) / focal))
    return _set(out, SHAPED, acceptance_deg=kept, lost_deg=max(lost, kept + 1))


def _kept(out: RawTable, f: dict[str, float], typed: RawTable) -> RawTable:
    """An insulated box by one reading: from 95 °C, what is left after four hours."""
    litres = f.get("kept_litres") or out.get("litres")
    if isinstance(litres, bool) or not isinstance(litres, (int, float)):
        raise KeyError("kept_litres")
    air = f["kept_air_c"]
    if not air < f["kept_c"] < 95:
        raise ValueError(f"{f['kept_c']:g} °C after four hours must lie between the air and 95 °C")
    loss = litres * WATER_J_KG_K / (4 * 3600) * math.log((95 - air) / (f["kept_c"] - air))
    return _set(out, TEST, loss_w_k=loss)
