"""Pictures for the hand: how to turn a cooker, and how warm its pot should be."""

from __future__ import annotations

import math

from markupsafe import Markup

from events.model import Event
from service.application.aiming_card import sun_moves_right
from service.charts.canvas import Canvas
from service.text import formatting, turn_orders
from solver.plan import Turn

DRAWN_WIDER = 5.0  # the angle is drawn five times too wide; the number is the truth
MOST_DRAWN_DEG = 60.0


def turn_picture(event: Event, turn: Turn) -> Markup:
    """Return the turn seen from above and behind, beside the aiming card's rings."""
    c = Canvas()
    side = 1 if turn.turn_deg > 0 else -1
    order = turn_orders.how_to_turn(event, turn)
    _dial(c, turn, side)
    _card(c, event, turn)
    label = (
        f"From above: {order.turn}, {'clockwise' if side > 0 else 'anticlockwise'}. Aiming card: "
        f"shadow tip to {turn_orders.ring(event, turn)}, on the ahead side."
    )
    return c.svg(328, 214, label, kind="turnpic")


def _dial(c: Canvas, turn: Turn, side: int) -> None:
    drawn = min(abs(turn.turn_deg) * DRAWN_WIDER, MOST_DRAWN_DEG)

    def spot(deg: float, r: float) -> tuple[float, float]:
        """Return a place at `deg` clockwise from ahead, mirrored for a turn to the left."""
        a = math.radians(deg)
        return 80 + side * r * math.sin(a), 128 - r * math.cos(a)

    sun_deg = -16.0  # the sun lies behind an aim that is ahead of it
    for aside in (-44, -24, 24, 44):
        near = math.sqrt(66**2 - aside**2)
        outer, inner = (math.degrees(math.atan2(aside, far)) for far in (100, near))
        (x, y), (xx, yy) = spot(sun_deg + outer, math.hypot(aside, 100)), spot(sun_deg + inner, 66)
        c.path("sunl w5", f"M{x:.1f} {y:.1f}L{xx:.1f} {yy:.1f}")
    x, y = spot(sun_deg, 106)
    c.circle("sunf edge2", x, y, 10)
    c.text("t15 b halo" if side > 0 else "t15 b halo end", x + side * 15, y + 5, "sun")
    c.circle("white edge3", 80, 128, 60)
    c.circle("ink", 80, 128, 11)
    if not turn.first:
        (x, y), (xx, yy) = spot(-drawn, 16), spot(-drawn, 72)
        c.path("l3 dash", f"M{x:.1f} {y:.1f}L{xx:.1f} {yy:.1f}")
    c.path("l6", "M80 112V50")
    c.path("ink", "M69 54h22l-11-19z")
    if abs(turn.turn_deg) >= 0.5 and not turn.first:
        for start, end in ((112, 146), (252, 286)):
            (x, y), (xx, yy) = spot(start, 71), spot(end, 71)
            c.path("l4", f"M{x:.1f} {y:.1f}A71 71 0 0 {1 if side > 0 else 0} {xx:.1f} {yy:.1f}")
            (ax, ay), (bx, by), (tx, ty) = spot(end, 79), spot(end, 63), spot(end + 11, 71)
            c.path("ink", f"M{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}L{tx:.1f} {ty:.1f}Z")
    c.path("ink", "M71 208q-6-12 1-12t3 12zM89 208q6-12-1-12t-3 12z")
    c.text("t15 b end", 60, 209, "you")


def _card(c: Canvas, event: Event, turn: Turn) -> None:
    """Draw the aiming card as it lies there: ahead is on the side that the sun moves to."""
    x0, y0, mid = 172.0, 8.0, 78.0
    side = 1 if sun_moves_right(event) else -1
    per_min = 2.35  # the picture's rings: 10 minutes a ring, three of them
    c.path("white edge2", f"M{x0} {y0}h156v156h-156z")
    c.rect("", x0 + (0 if side > 0 else 78), y0, 78, 156, fill="url(#warm)")
    for minutes in (10, 20, 30):
        c.circle("l1", x0 + mid, y0 + mid, per_min * minutes)
    c.path("l1 dots", f"M{x0 + mid} {y0}v156")
    left, right = ("behind", "ahead") if side > 0 else ("ahead", "behind")
    c.text("t15 b halo", x0 + 7, y0 + 18, left)
    c.text("t15 b end halo", x0 + 150, y0 + 18, right)
    for minutes in (10, 20, 30):
        c.text("t14 b mid halo", x0 + mid, y0 + mid + 5 - per_min * minutes, str(minutes))
    away = side * min(turn.ring_min, 32) * per_min
    cx, cy = x0 + mid, y0 + mid
    if not turn.first:
        c.path("white edge dash", f"M{cx} {cy - 4}L{cx - away:.1f} {cy}L{cx} {cy + 4}Z")
        c.circle("white edge2", cx - away, cy, 5.5)
    c.path("ink", f"M{cx} {cy - 5.5}L{cx + away:.1f} {cy}L{cx} {cy + 5.5}Z")
    c.circle("l3", cx + away, cy, 10)
    c.circle("ink", cx + away, cy, 5)
    c.circle("ink", cx, cy, 5.5)
    c.text("t16 b", x0, y0 + 178, f"Shadow: ring {turn_orders.ring_name(turn.ring_min)}")
    out = formatting.span(event, turn_orders.shadow_cm(event, turn), digits=1)
    c.text("t16", x0, y0 + 198, f"ahead, {out} out")
