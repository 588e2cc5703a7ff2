"""The stretches of usable sun: of the site, and of each cooker."""

from __future__ import annotations

from events.model import Cooker, Event
from solver.plan import Window
from solver.solar.horizon import profile, skyline_of
from solver.solar.irradiance import floor_deg
from solver.solar.position import window


def windows(event: Event) -> tuple[Window, ...]:
    """Return the stretches of usable sun: the site first, then each sun cooker."""
    cookers = [c for c in event.cookers if c.on_sun]
    return (site_window(event), *(_window(event, c) for c in cookers))


def site_window(event: Event) -> Window:
    """Return the stretches of usable sun of the site."""
    return _window(event, None)


def _window(event: Event, cooker: Cooker | None) -> Window:
    site = event.site
    low, high = (cooker.sun_low_deg, cooker.sun_high_deg) if cooker else (0.0, 90.0)
    stretches = window(
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        day=event.date,
        zone_name=site.timezone,
        low_deg=max(floor_deg(event), low),
        high_deg=high,
        skyline=skyline_of(event, cooker) if cooker else profile(event, None),
    )
    return Window(cooker_id=cooker.id if cooker else None, stretches=stretches)
