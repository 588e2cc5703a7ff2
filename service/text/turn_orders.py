"""How to turn a cooker, in words for hands: the rim, the tilt, the aiming card's ring."""

from __future__ import annotations

import math

from events.model import Event
from service.text.formatting import span
from solver.plan import Turn
from solver.solar.tracking import declination_deg, travel_deg

PIN_CM = 10.0  # the aiming card's pin


def how_to_turn(event: Event, turn: Turn) -> tuple[str, str]:
    """Return (main order, second order) for hands: the rim first, then the tilt."""
    side = "right" if turn.turn_deg > 0 else "left"
    turned = turn.rim_cm >= 1
    first = f"{side} {span(event, turn.rim_cm)} at the rim" if turned else "hold its direction"
    tilt = abs(turn.tilt_deg)
    way = "up" if turn.tilt_deg > 0 else "down"
    if tilt < 0.5:
        return first, "leave its tilt"
    far = f"{span(event, turn.tip_cm)} at the top, " if turn.tip_cm >= 1 else ""
    return first, f"and tip it {way}: {far}{tilt:.0f}°"


def turn_short(event: Event, turn: Turn) -> str:
    """Return the same for a card's table: left 6 cm, top up 5 cm (4°)."""
    side = "right" if turn.turn_deg > 0 else "left"
    way = "up" if turn.tilt_deg > 0 else "down"
    out = f"{side} {span(event, turn.rim_cm)}" if turn.rim_cm >= 1 else "hold its direction"
    if abs(turn.tilt_deg) >= 0.5:
        far = f"{span(event, turn.tip_cm)} " if turn.tip_cm >= 1 else ""
        out += f", top {way} {far}({abs(turn.tilt_deg):.0f}°)"
    return out


def ring_name(ring_min: float) -> str:
    """Return what a ring of the aiming card is called: its minutes of sun, 10 or 12.5."""
    return f"{ring_min:g}"


def shadow_cm(event: Event, turn: Turn) -> float:
    """Return how far the shadow tip of a 10 cm pin lies from its foot, ahead side."""
    angle = travel_deg(turn.ring_min, declination_deg=declination_deg(event.date))
    return PIN_CM * math.tan(math.radians(angle))


def ring(event: Event, turn: Turn) -> str:
    """Return the order for the aiming card: ring and centimetres."""
    return f"ring {ring_name(turn.ring_min)}, {span(event, shadow_cm(event, turn), digits=1)}"
