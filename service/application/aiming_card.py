"""The aiming card: how far from its pin each ring lies."""

from __future__ import annotations

import math

from events.model import Event
from solver.solar.tracking import declination_deg, travel_deg


def card_declination_deg(event: Event) -> float:
    """Return the sun's declination that the event's cards are drawn for."""
    return declination_deg(event.date)


def ring_radius(event: Event, ring_min: float, *, pin: float) -> float:
    """Return how far the tip of a pin's shadow lies from its foot, in the pin's own unit."""
    angle_deg = travel_deg(ring_min, declination_deg=declination_deg(event.date))
    return pin * math.tan(math.radians(angle_deg))
