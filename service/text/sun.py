"""When the sun is of use: one sentence for the site, one for a spot on it."""

from __future__ import annotations

from collections.abc import Sequence

from events.model import Event
from events.site import Station
from service.text.formatting import stretches
from solver.plan import Stretch


def site_sun(event: Event, sunny: Sequence[Stretch]) -> str:
    """Return when the site has usable sun: Usable sun 07:21 to 18:42."""
    return f"Usable sun {stretches(event, sunny)}"


def spot_sun(event: Event, station: Station, sunny: Sequence[Stretch]) -> str:
    """Return when a spot has it, behind its own trees and walls."""
    return f"{station.name}: usable sun {stretches(event, sunny)}"
