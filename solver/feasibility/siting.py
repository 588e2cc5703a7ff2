"""Which spot has sun when, and whether two cookers had better change places."""

from __future__ import annotations

import itertools
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Cooker, Event, Station
from solver.simulation.durations import make_day
from solver.solar.horizon import profile
from solver.solar.irradiance import Sky, at_minute, minute_of, usable
from solver.thermal.energy_balance import Array

WORTH_MIN = 15  # a swap that gains less is not worth the carrying


class Spot(BaseModel):
    """A station's usable sun inside the opening hours."""

    model_config = ConfigDict(frozen=True)

    station_id: str
    sun_min: int


class Swap(BaseModel):
    """Two cookers that had better change places, and how many minutes of sun that gains."""

    model_config = ConfigDict(frozen=True)

    cooker_id: str
    other_id: str
    gain_min: int  # of the stronger one's sun


def spots(event: Event) -> tuple[list[Spot], list[Swap]]:
    """Return each station's sun, and swaps worth making, the best first."""
    day = make_day(event)
    event = day.event
    stations = {s.id: s for s in event.stations}
    sun = [c for c in event.cookers if c.on_sun and c.station in stations]
    lit = {s.id: _lit(event, day.sky, s, None) for s in event.stations}
    found = [Spot(station_id=k, sun_min=int(v.sum())) for k, v in lit.items()]
    swaps = []
    for a, b in itertools.combinations(sun, 2):
        if a.station == b.station:
            continue
        here = _sun(event, day.sky, a, stations) * _power(a) + _sun(
            event, day.sky, b, stations
        ) * _power(b)
        there = _sun(event, day.sky, a, stations, b) * _power(a) + _sun(
            event, day.sky, b, stations, a
        ) * _power(b)
        gain = round((there - here) / max(_power(a), _power(b)))
        if gain >= WORTH_MIN:
            swaps.append(Swap(cooker_id=a.id, other_id=b.id, gain_min=gain))
    return found, sorted(swaps, key=lambda s: (-s.gain_min, s.cooker_id, s.other_id))


def sun_spans(event: Event, station: Station) -> list[tuple[datetime, datetime]]:
    """Return the stretches in which a station has usable sun, to the minute."""
    day = make_day(event)
    lit = usable(
        event, day.sky, skyline=profile(event, station), low_deg=0.0, high_deg=90.0
    ).astype(np.int64)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], lit, [0]])))
    return [
        (at_minute(day.sky, int(a)), at_minute(day.sky, int(b)))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]


def _power(cooker: Cooker) -> float:
    return cooker.optical_efficiency * (cooker.aperture_m2 or 0.0)


def _sun(
    event: Event, sky: Sky, cooker: Cooker, stations: dict[str, Station], at: Cooker | None = None
) -> float:
    where = stations[(at or cooker).station or ""]
    return float(_lit(event, sky, where, cooker).sum())


def _lit(event: Event, sky: Sky, station: Station, cooker: Cooker | None) -> Array:
    """Return 1 for each minute of usable sun inside the site's hours, else 0."""
    low, high = (cooker.sun_low_deg, cooker.sun_high_deg) if cooker else (0.0, 90.0)
    zone = ZoneInfo(event.site.timezone)
    opens, closes = (
        minute_of(sky, datetime.combine(event.date, t, tzinfo=zone))
        for t in (event.site.opens, event.site.closes)
    )
    out = usable(event, sky, skyline=profile(event, station), low_deg=low, high_deg=high)
    inside = np.zeros(out.size)
    inside[opens:closes] = out[opens:closes]
    return inside
