"""What people measured of a cooker, as they typed it."""

from __future__ import annotations

from typing import Annotated

from events.quantities import within
from events.table import Table


class Measured(Table):
    """Figures of tests, from which the solver finds those of the cooker.

    `line_…` is the line of the standard water test; `empty_…` the hottest it got empty (a panel:
    with a dry pot in it); `heat_…` the minutes that some litres took; `focal_m` or `depth_m` a
    mirror's shape; `kept_…` what an insulated box kept of 95 °C after four hours. Sun is what
    falls on a surface that faces it. Litres, pots and winds that are not given are the usual ones.
    """

    line_intercept_w: Annotated[float, within("line_intercept_w")] | None = None
    line_slope_w_k: Annotated[float, within("line_slope_w_k")] | None = None
    line_sun_w_m2: Annotated[float, within("sun_w_m2")] = 800.0
    line_air_c: Annotated[float, within("air_c")] = 25.0
    line_wind_m_s: Annotated[float, within("wind_m_s")] = 0.5  # the standard wants under 1
    line_litres: Annotated[float, within("vessel_litres")] | None = None  # 7 kg for each m²
    line_pot_litres: Annotated[float, within("vessel_litres")] | None = None  # 1.3 times its water
    empty_c: Annotated[float, within("empty_c")] | None = None
    empty_sun_w_m2: Annotated[float, within("sun_w_m2")] = 850.0
    empty_air_c: Annotated[float, within("air_c")] = 25.0
    empty_wind_m_s: Annotated[float, within("wind_m_s")] = 1.0
    heat_litres: Annotated[float, within("vessel_litres")] | None = None
    heat_from_c: Annotated[float, within("food_c")] | None = None
    heat_to_c: Annotated[float, within("food_c")] | None = None
    heat_min: Annotated[float, within("heat_min")] | None = None
    heat_sun_w_m2: Annotated[float, within("sun_w_m2")] = 850.0
    heat_air_c: Annotated[float, within("air_c")] = 25.0
    heat_wind_m_s: Annotated[float, within("wind_m_s")] = 1.0
    heat_pot_litres: Annotated[float, within("vessel_litres")] | None = None  # 1.3 times its water
    focal_m: Annotated[float, within("length_m")] | None = None
    depth_m: Annotated[float, within("length_m")] | None = None
    pot_width_m: Annotated[float, within("length_m")] = 0.24
    kept_c: Annotated[float, within("food_c")] | None = None
    kept_litres: Annotated[float, within("vessel_litres")] | None = None  # as many as it holds
    kept_air_c: Annotated[float, within("air_c")] = 20.0
