"""Pictures for the hand: what moves, and where the shadow's tip goes on the aiming card."""

from __future__ import annotations

import math

from markupsafe import Markup

from events.model import Event
from service.charts.canvas import Canvas
from service.charts.side_view import side_view
from service.text.turn_orders import turn_order
from solver.plan import Turn
from solver.policy import RINGS_MIN

DRAWN_WIDER = 5.0  # the angle is drawn five times too wide; the number is the truth
MOST_DRAWN_DEG = 60.0
WIDTH, HEIGHT = 328.0, 166.0
CARD_X, CARD_Y, CARD_MID = 170.0, 2.0, 78.0  # its corner, and from there to its middle
OUTER = 50.0  # the largest ring that is drawn


def turn_picture(event: Event, turn: Turn) -> Markup:
    """Return what moves, from above or from the side, beside the aiming card as it is printed."""
    c = Canvas()
    order = turn_order(event, turn)
    tips = turn.kind in ("tilt", "tip-over")
    if tips:
        side_view(c, event.cooker(turn.cooker_id).kind, turn)
    else:
        _dial(c, turn)
    _card(c, turn)
    seen = "From the side" if tips else "From above"
    label = f"{seen}: {order.main}. Aiming card: shadow tip, {order.shadow}."
    return c.svg(WIDTH, HEIGHT, label, kind="turnpic")


def _dial(c: Canvas, turn: Turn) -> None:
    """Draw the cooker from above, the sun in front, the one who turns it behind."""
    side = 1 if turn.turn_deg > 0 else -1
    cx, cy, rim = 80.0, 92.0, 44.0
    wide = 1.0 if turn.kind == "turn-round" else DRAWN_WIDER
    most = 180.0 if turn.kind == "turn-round" else MOST_DRAWN_DEG
    drawn = min(abs(turn.turn_deg) * wide, most)

    def spot(deg: float, r: float) -> tuple[float, float]:
        """Return a place at `deg` from ahead, in the sense in which it turns."""
        a = math.radians(deg)
        return cx + side * r * math.sin(a), cy - r * math.cos(a)

    c.circle("sunf edge2", cx, 12, 10)
    for aside in (-22, 0, 22):
        c.path("sunl w5", f"M{cx + aside:.0f} 27v{6 if aside else 4}")
    c.circle("white edge3", cx, cy, rim)
    c.circle("ink", cx, cy, 9)
    if not turn.first and drawn >= 2:
        (x, y), (xx, yy) = spot(-drawn, 13), spot(-drawn, rim + 10)
        c.path("l3 dash", f"M{x:.1f} {y:.1f}L{xx:.1f} {yy:.1f}")
    c.path("l6", f"M{cx} {cy - 12}V{cy - rim + 8}")
    c.path("ink", f"M{cx - 10} {cy - rim + 11}h20l-10-17z")
    if not turn.first and abs(turn.turn_deg) >= 0.5:
        for start, end in ((112, 146), (252, 286)):
            (x, y), (xx, yy) = spot(start, rim + 11), spot(end, rim + 11)
            sweep = 1 if side > 0 else 0
            c.path("l4", f"M{x:.1f} {y:.1f}A{rim + 11} {rim + 11} 0 0 {sweep} {xx:.1f} {yy:.1f}")
            (ax, ay), (bx, by) = spot(end, rim + 19), spot(end, rim + 3)
            tx, ty = spot(end + 14, rim + 11)
            c.path("ink", f"M{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}L{tx:.1f} {ty:.1f}Z")
    c.text("t14 b mid halo", cx, cy - rim + 34 if turn.over else cy + rim - 6, "12")
    c.path("ink", f"M{cx - 9} 164q-6-12 1-12t3 12zM{cx + 9} 164q6-12-1-12t-3 12z")
    c.text("t15 b end", cx - 20, 164, "you")


def _card(c: Canvas, turn: Turn) -> None:
    """Draw the card as printed, its middle zoomed: the tip as it lies there, and where it goes."""
    c.path("white edge2", f"M{CARD_X} {CARD_Y}h{2 * CARD_MID}v{2 * CARD_MID}h-{2 * CARD_MID}z")
    for k in range(1, 13):
        (x, y), (xx, yy), (tx, ty) = _spot(k, 54), _spot(k, 59), _spot(k, 67)
        c.path("l15" if k % 3 else "l3", f"M{x:.1f} {y:.1f}L{xx:.1f} {yy:.1f}")
        c.text("t14 mid" if k % 3 else "t14 b mid", tx, ty + 5, str(k))
    if turn.ring_min is None:
        _shadow_on_dial(c, turn)
    else:
        _tip_on_rings(c, turn, turn.ring_min)


def _spot(hour: float, r: float) -> tuple[float, float]:
    """Return the place in the picture at an hour of the card, so far from its middle."""
    a = math.radians(30 * hour)
    return CARD_X + CARD_MID + r * math.sin(a), CARD_Y + CARD_MID - r * math.cos(a)


def _shadow_on_dial(c: Canvas, turn: Turn) -> None:
    """Draw which way the shadow lies on a level dial, and which way it is to lie."""
    cx, cy = _spot(0, 0)
    if turn.was_clock_hour is not None:
        x, y = _spot(turn.was_clock_hour, OUTER)
        c.path("l2 dash", f"M{cx} {cy}L{x:.1f} {y:.1f}")
    x, y = _spot(turn.clock_hour or 12.0, OUTER)
    c.path("l6", f"M{cx} {cy}L{x:.1f} {y:.1f}")
    c.circle("ink", cx, cy, 4.5)


def _tip_on_rings(c: Canvas, turn: Turn, ring_min: float) -> None:
    """Draw the rings of the card, where the shadow's tip lies on them and where it goes."""
    cx, cy = _spot(0, 0)
    per_deg, rings = _zoom(turn, ring_min)
    for name in rings:
        c.circle("l1", cx, cy, OUTER * name / rings[-1])
    if turn.was_ring_deg is not None and turn.was_clock_hour is not None:
        x, y = _spot(turn.was_clock_hour, min(turn.was_ring_deg * per_deg, OUTER + 3))
        c.path("l2 dash", f"M{cx} {cy}L{x:.1f} {y:.1f}")
        c.circle("white edge2", x, y, 4.5)
    ring, hour = ring_min * OUTER / rings[-1], turn.clock_hour or 0.0
    x, y = _spot(hour, ring)
    if turn.clock_hour is None:  # from an earlier release: the ring is known, the hour is not
        c.circle("l3", cx, cy, ring)
        return
    if ring:
        (ax, ay), (bx, by) = _spot(hour + 3, 4.5), _spot(hour - 3, 4.5)
        c.path("ink", f"M{ax:.1f} {ay:.1f}L{x:.1f} {y:.1f}L{bx:.1f} {by:.1f}Z")
    c.circle("ink", cx, cy, 4.5)
    c.circle("l3", x, y, 9)
    c.circle("ink", x, y, 4)
    names = min((1.5, 4.5, 7.5, 10.5), key=lambda h: -_apart(h, turn))
    for name in rings:
        x, y = _spot(names, OUTER * name / rings[-1])
        c.text("t14 b mid halo", x, y + 5, str(name))


def _zoom(turn: Turn, ring_min: float) -> tuple[float, tuple[int, ...]]:
    """Return the picture's units for a degree of shadow, and the rings that are drawn."""
    widest = max(ring_min, 10.0)
    rings = (
        tuple(r for r in RINGS_MIN if r < widest) + tuple(r for r in RINGS_MIN if r >= widest)[:1]
    )
    rings = rings if len(rings) > 1 else RINGS_MIN[:2]
    deg_min = turn.ring_deg / ring_min if turn.ring_deg and ring_min else 0.25
    return OUTER / (rings[-1] * deg_min), rings


def _apart(hour: float, turn: Turn) -> float:
    """Return how far an hour lies from the tips that are drawn, in hours."""
    there = [h for h in (turn.clock_hour, turn.was_clock_hour) if h is not None]
    return min((abs((hour - h + 6) % 12 - 6) for h in there), default=6.0)
