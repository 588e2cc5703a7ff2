"""Which spot has sun when, and whether two cookers had better change places."""

from __future__ import annotations

import itertools

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Cooker, Event
from events.site import Station
from solver.solar.horizon import profile
from solver.solar.irradiance import Sky, expected_sky, minute_of, usable
from solver.thermal.calibration import calibrated
from solver.thermal.energy_balance import Array

GAIN_LEAST_MIN = 15  # a swap that gains less is not worth the carrying


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


class Siting(BaseModel):
    """Every station's sun, and the swaps worth making, the best first."""

    model_config = ConfigDict(frozen=True)

    spots: tuple[Spot, ...]
    swaps: tuple[Swap, ...]


def siting(event: Event) -> Siting:
    """Return each station's sun, and swaps worth making."""
    sky = expected_sky(event)
    spots = tuple(
        Spot(station_id=s.id, sun_min=int(_lit(event, sky, s, None).sum())) for s in event.stations
    )
    stations = {s.id for s in event.stations}
    movable = [c for c in event.cookers if c.on_sun and c.station in stations]
    swaps = [
        Swap(cooker_id=a.id, other_id=b.id, gain_min=gain)
        for a, b in itertools.combinations(movable, 2)
        if a.station != b.station and (gain := _swap_gain_min(event, sky, a, b)) >= GAIN_LEAST_MIN
    ]
    swaps.sort(key=lambda s: (-s.gain_min, s.cooker_id, s.other_id))
    return Siting(spots=spots, swaps=tuple(swaps))


def _swap_gain_min(event: Event, sky: Sky, a: Cooker, b: Cooker) -> int:
    """Return the minutes of sun that two cookers gain in each other's place."""
    as_now = _won(event, sky, a, at=a) + _won(event, sky, b, at=b)
    swapped = _won(event, sky, a, at=b) + _won(event, sky, b, at=a)
    return round((swapped - as_now) / max(_strength_m2(a), _strength_m2(b)))


def _won(event: Event, sky: Sky, cooker: Cooker, *, at: Cooker) -> float:
    """Return a cooker's minutes of sun where another stands, weighted by its strength."""
    station = event.station(at.station or "")
    return float(_lit(event, sky, station, cooker).sum()) * _strength_m2(cooker)


def _strength_m2(cooker: Cooker) -> float:
    return calibrated(cooker).optical_efficiency * (cooker.aperture_m2 or 0.0)


def _lit(event: Event, sky: Sky, station: Station, cooker: Cooker | None) -> Array:
    """Return 1 for each minute of usable sun inside the site's hours, else 0."""
    low, high = (cooker.sun_low_deg, cooker.sun_high_deg) if cooker else (0.0, 90.0)
    lit = usable(event, sky, skyline=profile(event, station), low_deg=low, high_deg=high)
    opens = minute_of(sky, event.instant(event.site.opens))
    closes = minute_of(sky, event.instant(event.site.closes))
    inside = np.zeros(lit.size)
    inside[opens:closes] = lit[opens:closes]
    return inside
