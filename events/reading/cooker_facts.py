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
from collections.abc import Callable
from typing import cast

from events.errors import Fault, Place
from events.fault_kinds import FaultKind
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

Facts = dict[str, float]


class _CantBe(Exception):
    """Figures that can't be."""

    def __init__(self, kind: FaultKind, **figures: float) -> None:
        self.kind, self.figures = kind, figures
        super().__init__(kind)


KEYS = tuple(Measured.model_fields)
_USUAL: Facts = {
    k: f.default for k, f in Measured.model_fields.items() if isinstance(f.default, float)
}


def with_opening(cooker: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return a cooker's table with the area of its round opening; another area too is a fault."""
    diameter_m, area_m2 = cooker.get("diameter_m"), cooker.get("aperture_m2")
    if isinstance(diameter_m, bool) or not isinstance(diameter_m, (int, float)):
        return cooker
    if area_m2 not in (None, round_opening_m2(diameter_m)):
        faults.append(place.fault("diameter_m", diameter_m, "given-too", other="aperture_m2"))
    return {**cooker, "aperture_m2": round_opening_m2(diameter_m)}


def to_parameters(cooker: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return a cooker's table with what was measured as a record, and a first estimate from it."""
    record = cooker.get("measured")
    given = {k: v for k, v in record.items() if v is not None} if isinstance(record, dict) else {}
    given |= {k: v for k, v in cooker.items() if k in KEYS}
    if not given:
        return cooker
    plain = {k: v for k, v in cooker.items() if k not in KEYS} | {"measured": given}
    wrong = [place.not_a_number(k, v) for k, v in given.items() if not _is_number(v)]
    if wrong:
        faults += wrong
        return plain
    facts = {k: float(str(v)) for k, v in given.items()}
    known = plain.get("provenance")
    converted: RawTable = {**plain, "provenance": known if isinstance(known, dict) else {}}
    for keys, convert in _CONVERSIONS:
        if not any(k in facts for k in keys):
            continue
        try:
            converted = convert(converted, _USUAL | facts, facts)
        except KeyError as error:  # convert() misses a key
            fault = place.fault(str(error.args[0]), "", "needed-too", known=tuple(facts))
            faults.append(fault)
            break
        except ZeroDivisionError:
            faults.append(place.fault(", ".join(facts), "", "over-0"))
            break
        except _CantBe as error:
            faults.append(place.fault(", ".join(facts), "", error.kind, **error.figures))
            break
    return converted


def _is_number(value: object) -> bool:
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return number and math.isfinite(value)  # type: ignore[arg-type]  # mypy loses it over `and`


def _set(cooker: RawTable, source: RawTable, **figures: float) -> RawTable:
    provenance = cooker["provenance"]
    assert isinstance(provenance, dict)
    digits = {k: float(f"{v:.4g}") for k, v in figures.items()}
    return {**cooker, **digits, "provenance": {**provenance, **dict.fromkeys(figures, source)}}


def _width(area_m2: float) -> float:
    return math.sqrt(4 * area_m2 / math.pi)


def _nature(cooker: RawTable) -> CookerKind:
    """Return what is true of its kind; a kind that there is not is faulted elsewhere."""
    return COOKER_KINDS.get(cast("Kind", str(cooker.get("kind"))), COOKER_KINDS["panel"])


def _aperture(cooker: RawTable) -> float:
    value = cooker.get("aperture_m2")
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise KeyError("aperture_m2")
    return float(value)


def _possible(efficiency: float) -> float:
    if not 0.02 <= efficiency <= 0.95:
        raise _CantBe("too-much-light", light_pct=100 * efficiency)
    return efficiency


def _from_test_line(cooker: RawTable, figures: Facts, facts: Facts) -> RawTable:
    """[S580] The line of the standard water test."""
    for key in ("line_intercept_w", "line_slope_w_k"):
        if key not in facts:
            raise KeyError(key)
    if figures["line_slope_w_k"] >= 0:
        raise _CantBe("slope-not-below-0", slope_w_k=figures["line_slope_w_k"])
    efficiency = _possible(figures["line_intercept_w"] / 700 / _aperture(cooker))
    loss = -figures["line_slope_w_k"] * figures["line_sun_w_m2"] / 700
    cooker = _set(cooker, TEST, optical_efficiency=efficiency, strength_band_fraction=MEASURED_BAND)
    if _nature(cooker).has_body:
        return _set(cooker, TEST, loss_w_k=loss)
    return _set(cooker, TEST, pot_loss_w_m2_k=loss / 0.2)  # a pot of about 8 litres


def _from_field_facts(cooker: RawTable, figures: Facts, facts: Facts) -> RawTable:
    """[LUMP] The hottest empty temperature, and the minutes that some litres took."""
    area, sun = _aperture(cooker), figures["heat_sun_w_m2"]
    rise = figures["empty_c"] - figures["empty_air_c"] if "empty_c" in facts else None
    if rise is not None and rise <= 0:
        raise _CantBe("empty-not-above-air")
    if rise is not None and _nature(cooker).concentrates:
        raise _CantBe("empty-in-mirror")
    if "heat_litres" in facts:
        for key in ("heat_from_c", "heat_to_c", "heat_min"):
            if key not in facts:
                raise KeyError(key)
        low, high = (figures[key] - figures["heat_air_c"] for key in ("heat_from_c", "heat_to_c"))
        if high <= low or figures["heat_min"] <= 0 or figures["heat_litres"] <= 0:
            raise _CantBe("water-not-warmer")
        capacity, seconds = figures["heat_litres"] * WATER_J_KG_K, figures["heat_min"] * 60
        if rise is None:
            power = capacity * (high - low) / seconds + _loss(cooker) * (low + high) / 2
        else:
            reach = rise * sun / figures["empty_sun_w_m2"]
            if high >= reach:
                raise _CantBe("water-hotter-than-empty")
            power = capacity * reach / seconds * math.log((reach - low) / (reach - high))
        cooker = _set(
            cooker,
            FIELD,
            optical_efficiency=_possible(power / sun / area),
            strength_band_fraction=FACTS_BAND,
        )
    if rise is not None:
        efficiency = cooker.get("optical_efficiency")
        eta = float(efficiency) if isinstance(efficiency, (int, float)) else 0.5
        loss = eta * area * figures["empty_sun_w_m2"] / rise
        body = _nature(cooker).has_body
        key, scale = ("loss_w_k", 1.0) if body else ("pot_loss_w_m2_k", 0.2)
        cooker = _set(cooker, FIELD, **{key: loss / scale})
    return cooker


def _loss(cooker: RawTable) -> float:
    """Return a pot's loss in W/K: its own surface, or the box's."""
    for key, scale in (("loss_w_k", 1.0), ("pot_loss_w_m2_k", 0.2)):
        value = cooker.get(key)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return float(value) * scale
    return 2.0


def _from_shape(cooker: RawTable, figures: Facts, facts: Facts) -> RawTable:
    """[PARA] A mirror's opening, focal length or depth: how far off it keeps the pot lit."""
    given = cooker.get("diameter_m")
    width = float(given) if isinstance(given, (int, float)) else _width(_aperture(cooker))
    focal = figures["focal_m"] if "focal_m" in facts else width**2 / (16 * figures["depth_m"])
    if not 0.05 <= focal <= 10:
        raise _CantBe("focal-length", focal_m=focal)
    rim_m = focal + width**2 / (16 * focal)
    spot_m = rim_m * math.radians(2 * SLOPE_ERROR_DEG + SUN_RADIUS_DEG)
    half_m = figures["pot_width_m"] / 2
    if half_m <= spot_m:
        raise _CantBe("pot-under-spot", pot_m=2 * half_m, spot_m=2 * spot_m)
    holds_deg = math.degrees(math.atan((half_m - spot_m) / rim_m))
    lost_deg = math.degrees(math.atan((half_m + spot_m) / focal))
    return _set(cooker, SHAPED, acceptance_deg=holds_deg, lost_deg=max(lost_deg, holds_deg + 1))


def _from_heat_kept(cooker: RawTable, figures: Facts, facts: Facts) -> RawTable:
    """An insulated box by one reading: from 95 °C, what is left after four hours."""
    litres = figures.get("kept_litres") or cooker.get("litres")
    if isinstance(litres, bool) or not isinstance(litres, (int, float)):
        raise KeyError("kept_litres")
    air = figures["kept_air_c"]
    if not air < figures["kept_c"] < 95:
        raise _CantBe("kept-between", kept_c=figures["kept_c"], most_c=95)
    loss = litres * WATER_J_KG_K / (4 * 3600) * math.log((95 - air) / (figures["kept_c"] - air))
    return _set(cooker, TEST, loss_w_k=loss)


# What a fact's keys are turned by; in this order, since one may need what another gives.
_CONVERSIONS: tuple[tuple[tuple[str, ...], Callable[[RawTable, Facts, Facts], RawTable]], ...] = (
    (("focal_m", "depth_m"), _from_shape),
    (("line_intercept_w", "line_slope_w_k"), _from_test_line),
    (("empty_c", "heat_litres"), _from_field_facts),
    (("kept_c",), _from_heat_kept),
)
