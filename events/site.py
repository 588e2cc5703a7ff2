"""The place: where it is, what shades it, its stations, and the forecast for it."""

from __future__ import annotations

from datetime import date as Date
from datetime import time
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from events.quantities import within
from events.table import Id, Name, Table, Time

Jurisdiction = Literal["strictest", "US", "EU", "UK", "UK-SCT", "AU", "NZ"]


class Obstacle(Table):
    """Something that throws shade: how high above the cookers, how far, how wide, which way."""

    bearing_deg: Annotated[float, within("azimuth_deg")]
    height_m: Annotated[float, Field(gt=0, le=500, allow_inf_nan=False)]
    distance_m: Annotated[float, Field(gt=0, le=5000, allow_inf_nan=False)]
    width_m: Annotated[float, Field(gt=0, le=5000, allow_inf_nan=False)] = 5.0


class ShadeFact(Table):
    """The shade's edge was seen here at a local time: the sun then stood on the skyline."""

    date: Date
    at: Time


SKYLINE_MOST = 720  # pairs: one for each half degree all round
AHEAD_MOST = 16  # days: how far forecasts reach
DAYS_AHEAD_MOST = 4000
HOURS_MOST = 300  # of one day, one for each five minutes
Skyline = Annotated[
    tuple[
        tuple[Annotated[float, within("azimuth_deg")], Annotated[float, within("elevation_deg")]],
        ...,
    ],
    Field(max_length=SKYLINE_MOST),
]


class Site(Table):
    """A place: coordinates, altitude, zone, the crew's hours and the visitors', skyline."""

    name: Name
    latitude_deg: Annotated[float, within("latitude_deg")]
    longitude_deg: Annotated[float, within("longitude_deg")]
    altitude_m: Annotated[float, within("altitude_m")] = 0.0
    timezone: str
    opens: Time = time(8, 0)
    closes: Time = time(18, 0)
    visitors_from: Time | None = None  # the crew's hours are those of the site: they come earlier
    visitors_until: Time | None = None
    turbidity: Annotated[float, within("turbidity")] = 3.0
    food_rules: Jurisdiction = "strictest"
    skyline: Skyline = ()
    obstacles: Annotated[tuple[Obstacle, ...], Field(max_length=60)] = ()
    shade: Annotated[tuple[ShadeFact, ...], Field(max_length=60)] = ()
    sunlit_pct: tuple[Annotated[int, Field(ge=0, le=100)], ...] = ()  # of daylight, by month
    sun_min_deg: Annotated[float, within("sun_min_deg")] = 10.0
    beam_min_w_m2: Annotated[float, within("beam_min_w_m2")] = 300.0
    fire_rules_read: bool = False
    emergency: Annotated[str, StringConstraints(max_length=200)] = ""


class WeatherHour(Table):
    """The forecast that holds from `start` until the next entry's start."""

    start: Time
    cloud_pct: Annotated[float, within("cloud_pct")] = 0.0
    cloud_low_pct: Annotated[float, within("cloud_pct")] | None = None  # one in ten has less
    cloud_high_pct: Annotated[float, within("cloud_pct")] | None = None  # and one in ten more
    air_c: Annotated[float, within("air_c")] = 20.0
    wind_m_s: Annotated[float, within("wind_m_s")] = 1.0


class Weather(Table):
    """The forecast by hour; no hours means a clear sky, and the plan says so.

    Made further ahead than forecasts reach it is a sky to plan for: no chance is told of it.
    """

    source: Annotated[str, StringConstraints(max_length=200)] = ""
    # It was made so many days before the event.
    days_ahead: Annotated[int, Field(ge=0, le=DAYS_AHEAD_MOST)] = 1
    hours: Annotated[tuple[WeatherHour, ...], Field(max_length=HOURS_MOST)] = ()

    @property
    def is_forecast(self) -> bool:
        """Return whether it tells something of the day."""
        return bool(self.hours) and self.days_ahead <= AHEAD_MOST


class Station(Table):
    """A spot where a cooker stands; `skyline` replaces the site's where it differs."""

    id: Id
    name: Name
    x_m: Annotated[float, within("x_m")] = 0.0
    y_m: Annotated[float, within("y_m")] = 0.0
    skyline: Skyline | None = None
    obstacles: Annotated[tuple[Obstacle, ...], Field(max_length=60)] = ()
    shade: Annotated[tuple[ShadeFact, ...], Field(max_length=60)] = ()
    sight: Id = "yard"  # stations with the same word can be watched together
