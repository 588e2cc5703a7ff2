"""Cookers seen from the side, as they stood and as they are to stand: which edge goes where.

In each cooker's own drawing its opening looks up, it faces left and the edge with the card's 12 is
on the right; the tilt turns the drawing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from events.kinds import Kind
from service.charts.canvas import Canvas
from solver.plan import Turn

LEAST_DRAWN_DEG = 10.0  # a smaller tilt is drawn as this much: the number is the truth
STEEPEST_DEG = 42.0  # a drawing leans by this much at most
GROUND_Y = 160.0


@dataclass(frozen=True)
class Outline:
    """A kind's drawing: its outline, what is inside, its pivot, where the edge with 12 is."""

    shape: str
    inside: str
    pot: str
    pivot: tuple[float, float]  # in the picture
    hinge: float  # how far left of the pivot a leaning cooker stands on the ground; 0: it hangs
    edge: float  # from the middle to an edge
    stand: str


OUTLINES: dict[Kind, Outline] = {
    "parabolic": Outline(
        shape="M-50-12Q0 42 50-12",
        inside="M-50-12H50",
        pot="M-9-15h18v11h-18z",
        pivot=(80, 112),
        hinge=0,
        edge=50,
        stand=f"M80 122V{GROUND_Y}M58 {GROUND_Y}h44",
    ),
    "box": Outline(
        shape="M-44 0H44V-36H-44Z",
        inside="M-44-27H44M44-36 54-70",
        pot="M-16-20h32v13h-32z",
        pivot=(80, GROUND_Y),
        hinge=44,
        edge=44,
        stand="",
    ),
    "panel": Outline(
        shape="M-44-46-26 0H26L44-46",
        inside="",
        pot="M-12-22h24v22h-24z",
        pivot=(80, GROUND_Y),
        hinge=26,
        edge=44,
        stand="",
    ),
}


def side_view(c: Canvas, kind: Kind, turn: Turn) -> None:
    """Draw a tilt from the side: dashed as it stood, the sun where the cooker is to look."""
    figure = OUTLINES[kind]
    after = _lean(turn, 0.0)
    before = _lean(turn, -turn.tilt_deg)
    if abs(after - before) < LEAST_DRAWN_DEG:
        before = after - math.copysign(LEAST_DRAWN_DEG, turn.tilt_deg)
    _sun(c, figure, after)
    c.path("l4", f"M6 {GROUND_Y}H154")
    if figure.stand:
        c.path("l4", figure.stand)
    else:
        _wedge(c, figure, after)
    c.path("l2 dash", figure.shape, transform=_place(figure, before))
    c.path("white edge3", figure.shape, transform=_place(figure, after))
    c.path("l2", figure.inside or figure.shape, transform=_place(figure, after))
    c.path("ink", figure.pot, transform=_place(figure, after))
    _mark_12(c, figure, after)
    if turn.kind == "tip-over":
        _over(c, forward=turn.tilt_deg > 0)
    else:
        _edge_arrow(c, figure, after, turn)


def _lean(turn: Turn, more_deg: float) -> float:
    """Return how far the drawing leans: positive to the right, past level."""
    high = turn.to_elevation_deg if turn.to_elevation_deg is not None else 50.0
    tilt = (180.0 - high if turn.over else high) + more_deg
    return max(-STEEPEST_DEG, min(STEEPEST_DEG, tilt - 90.0))


def _hinge_x(figure: Outline, lean: float) -> float:
    """Return where, left or right of its middle, a leaning cooker stands on the ground."""
    return figure.hinge if lean > 0 else -figure.hinge


def _place(figure: Outline, lean: float) -> str:
    x, y = figure.pivot
    return f"translate({x:.1f} {y:.1f}) rotate({lean:.1f} {_hinge_x(figure, lean):.0f} 0)"


def _spot(figure: Outline, lean: float, x: float, y: float) -> tuple[float, float]:
    """Return where a point of the cooker's own drawing lies in the picture."""
    a, hinge = math.radians(lean), _hinge_x(figure, lean)
    dx = x - hinge
    return (
        figure.pivot[0] + hinge + dx * math.cos(a) - y * math.sin(a),
        figure.pivot[1] + dx * math.sin(a) + y * math.cos(a),
    )


def _sun(c: Canvas, figure: Outline, lean: float) -> None:
    a = math.radians(lean)
    fx, fy = _spot(figure, lean, 0, -40)
    x = min(max(fx + 75 * math.sin(a), 16), 144)
    y = max(fy - 75 * math.cos(a), 14)
    c.circle("sunf edge2", x, y, 11)
    for aside in (-9, 9):
        xx, yy = (
            x - 16 * math.sin(a) + aside * math.cos(a),
            y + 16 * math.cos(a) + aside * math.sin(a),
        )
        c.path("sunl w5", f"M{xx:.1f} {yy:.1f}l{-18 * math.sin(a):.1f} {18 * math.cos(a):.1f}")


def _wedge(c: Canvas, figure: Outline, lean: float) -> None:
    """Draw what holds the raised edge up."""
    side = -1 if lean > 0 else 1
    x, y = _spot(figure, lean, side * figure.hinge, 0)
    if GROUND_Y - y > 4:
        c.path("ink", f"M{x:.1f} {GROUND_Y}V{y:.1f}L{x - side * 26:.1f} {GROUND_Y}Z")


def _mark_12(c: Canvas, figure: Outline, lean: float) -> None:
    x, y = _spot(figure, lean, figure.edge, -46 if figure.hinge else -12)
    c.text("t14 b mid halo", min(x + 8, 148), max(y - 4, 14), "12")


def _edge_arrow(c: Canvas, figure: Outline, lean: float, turn: Turn) -> None:
    """Draw which way the edge goes that the order speaks of: the upper one."""
    side = -1 if lean > 0 else 1
    x, y = _spot(figure, lean, side * figure.edge, -12)
    x, down = min(max(x + side * 20, 12), 148), (turn.tilt_deg > 0) == (side > 0)
    top, foot = (y - 16, y + 16)
    tip = (
        f"M{x - 9:.1f} {foot - 8:.1f}h18l-9 16z"
        if down
        else f"M{x - 9:.1f} {top + 8:.1f}h18l-9-16z"
    )
    c.path("l4", f"M{x:.1f} {top:.1f}V{foot:.1f}")
    c.path("ink", tip)


def _over(c: Canvas, *, forward: bool) -> None:
    """Draw the sweep of a cooker that is tipped past level: the edge with 12 goes down, or up."""
    c.path("l4", "M20 74Q80 34 140 78" if forward else "M140 74Q80 34 20 78")
    c.path("ink", "M144 66 149 92 128 83Z" if forward else "M16 66 11 92 32 83Z")
