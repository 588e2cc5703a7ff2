"""Every quantity's range, in one table: formulas, event files and the API schema share it."""

from __future__ import annotations

import math
from typing import Any

from pydantic import Field

from events.errors import OutOfRange

# name: (lowest, highest). A name ends in its unit; the same name means the same range everywhere.
RANGES: dict[str, tuple[float, float]] = {
    "latitude_deg": (-90, 90),
    "longitude_deg": (-180, 180),
    "altitude_m": (-430, 5500),
    "turbidity": (1, 10),
    "sun_min_deg": (0, 60),
    "beam_min_w_m2": (0, 1000),
    "azimuth_deg": (0, 360),
    "elevation_deg": (0, 89),
    "cloud_pct": (0, 100),
    "air_c": (-40, 55),
    "wind_m_s": (0, 60),
    "x_m": (-5000, 5000),
    "y_m": (-5000, 5000),
    "aperture_m2": (0.01, 30),
    "diameter_m": (0.113, 6.18),  # of round openings of those areas
    "optical_efficiency": (0.02, 0.95),
    "fraction": (0, 1),
    "loss_w_k": (0.005, 200),
    "loss_w_m2_k": (0.1, 100),
    "body_kj_k": (0, 500),
    "coupling_w_m2_k": (0.5, 500),
    "wind_factor_s_m": (0, 3),
    "glass_tilt_deg": (0, 90),
    "acceptance_deg": (0.25, 90),
    "lost_deg": (0.5, 180),
    "sun_height_deg": (0, 90),
    "vessel_litres": (0.05, 200),
    "power_w": (50, 50000),
    "line_intercept_w": (1, 5000),
    "line_slope_w_k": (-200, 0),
    "sun_w_m2": (100, 1500),
    "empty_c": (-40, 500),
    "heat_min": (0, 1440),
    "length_m": (0.005, 20),
    "vessel_kg": (0, 100),
    "food_c": (-25, 110),
    "needs_body_c": (40, 350),
    "z_c": (3, 60),
    "thickness_mm": (0, 300),
    "diffusivity_mm2_s": (0.05, 0.3),
    "minutes": (0, 1440),
    "count": (1, 500),
    "portions": (1, 5000),
    "chance_pct": (50, 95),
    "gas_price_dishes_h": (0.0, 10.0),
}


def within(name: str, **more: Any) -> Any:  # pydantic's Field is itself untyped here
    """Return a pydantic field that admits the range of `name` and no NaN."""
    low, high = RANGES[name]
    return Field(ge=low, le=high, allow_inf_nan=False, **more)


def clip(name: str, value: float) -> float:
    """Return `value`, or the nearest that the range of `name` admits."""
    low, high = RANGES[name]
    return min(max(value, low), high)


def require(name: str, value: float, *, range_name: str | None = None) -> float:
    """Return `value`, or raise OutOfRange where it leaves its range (NaN never passes)."""
    low, high = RANGES[range_name or name]
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRange(name, value, low, high)
    return value
