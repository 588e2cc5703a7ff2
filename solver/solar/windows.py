"""The stretches of usable sun: of the site, and of each cooker."""

from __future__ import annotations

from events.model import Cooker, Event
from events.site import Station
from solver.plan import Stretch, Window
from solver.solar.horizon import profile, skyline_of
from solver.solar.irradiance import floor_deg
from solver.solar.position import Skyline, window


def windows(event: Event) -> tuple[Window, ...]:
    """Return the stretches of usable sun: the site first, then each sun cooker."""
    cookers = [c for c in event.cookers if c.on_sun]
    return (site_window(event), *(_window(event, c) for c in cookers))


def site_window(event: Event) -> Window:
    """Return the stretches of usable sun of the site."""
    return _window(event, None)


def station_stretches(event: Event, station: Station) -> tuple[Stretch, ...]:
    """Return the stretches of usable sun of a spot on the site, behind its own skyline."""
    return _stretches(event, profile(event, station), 0.0, 90.0)


def _window(event: Event, cooker: Cooker | None) -> Window:
    if cooker is None:
        return Window(cooker_id=None, stretches=_stretches(event, profile(event, None), 0.0, 90.0))
    lit = _stretches(event, skyline_of(event, cooker), cooker.sun_low_deg, cooker.sun_high_deg)
    return Window(cooker_id=cooker.id, stretches=lit)


def _stretches(
    event: Event, skyline: Skyline, low_deg: float, high_deg: float
) -> tuple[Stretch, ...]:
    site = event.site
    return window(
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        day=event.date,
        zone_name=site.timezone,
        low_deg=max(floor_deg(event), low_deg),
        high_deg=high_deg,
        skyline=skyline,
    )
