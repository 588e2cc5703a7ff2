"""How to turn a cooker, in words for hands: the rim, the tilt, the aiming card's ring."""

from __future__ import annotations

from dataclasses import dataclass

from events.model import Event
from service.application.aiming_card import ring_radius
from service.text.formatting import span
from solver.plan import Turn

PIN_CM = 10.0  # the aiming card's pin


@dataclass(frozen=True)
class TurnOrder:
    """How to turn a cooker: the rim first, then the tilt."""

    turn: str
    tilt: str

    def __str__(self) -> str:
        return f"{self.turn}, {self.tilt}"


AIM_AHEAD = TurnOrder("aim it ahead", "")


def how_to_turn(event: Event, turn: Turn) -> TurnOrder:
    """Return the order for hands."""
    side = "right" if turn.turn_deg > 0 else "left"
    turned = turn.rim_cm >= 1
    first = f"{side} {span(event, turn.rim_cm)} at the rim" if turned else "hold its direction"
    tilt = abs(turn.tilt_deg)
    way = "up" if turn.tilt_deg > 0 else "down"
    if tilt < 0.5:
        return TurnOrder(first, "leave its tilt")
    far = f"{span(event, turn.tip_cm)} at the top, " if turn.tip_cm >= 1 else ""
    return TurnOrder(first, f"and tip it {way}: {far}{tilt:.0f}°")


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
    return ring_radius(event, turn.ring_min, pin=PIN_CM)


def ring(event: Event, turn: Turn) -> str:
    """Return the order for the aiming card: ring and centimetres."""
    return f"ring {ring_name(turn.ring_min)}, {span(event, shadow_cm(event, turn), digits=1)}"
