"""What the shapes of the day's picture mean, drawn as they stand there."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from service.charts.canvas import Canvas
from service.charts.day_lane import draw_dots

WIDE, HIGH = 34.0, 28.0
BASE, TOP = 24.0, 6.0


@dataclass(frozen=True)
class LegendEntry:
    """A shape and its meaning."""

    drawing: Markup
    words: str


def day_legend() -> list[LegendEntry]:
    """Return the shapes of the day's picture, in the order in which a pot meets them."""
    return [LegendEntry(_drawn(shape, words), words) for shape, words in _SHAPES]


def chance_dots(of_100: int) -> Markup:
    """Return a chance as ten dots; the half is a half."""
    c = Canvas()
    draw_dots(c, of_100, 5, 8, size=1.3)
    return c.svg(126, 16, f"{of_100} of 100")


def _drawn(shape: str, words: str) -> Markup:
    c = Canvas()
    if shape == "empty":
        c.path("l15 dash", f"M2 {BASE}V{BASE - 9}L32 {TOP}V{BASE}Z")
    elif shape == "warming":
        c.path("strawf", f"M2 {BASE}V{BASE - 9}Q16 {TOP} 32 {TOP}V{BASE}Z")
        c.path("l15", f"M2 {BASE}V{BASE - 9}Q16 {TOP} 32 {TOP}V{BASE}Z")
    elif shape == "hot":
        c.rect("sunf", 3, TOP, 28, BASE - TOP)
        c.path("l15", f"M3 {TOP}H31V{BASE}H3Z")
    elif shape == "done":
        c.path("l3", f"M17 {TOP - 3}V{BASE}")
    elif shape == "poor":
        c.path("l2", f"M4 {TOP + 4}H30M30 {TOP}v8")
        c.path("l3", f"M4 {TOP + 1}V{BASE}")
    elif shape == "kept":
        c.rect("white", 3, TOP, 28, BASE - TOP)
        c.rect("edge", 3, TOP, 28, BASE - TOP, fill="url(#hatch)")
    elif shape == "turn":
        c.path("white edge", "M11 22h12l-6-13z")
    else:
        c.path("l1", f"M15 2V{HIGH}M19 2V{HIGH}")
    return c.svg(WIDE, HIGH, words)


_SHAPES = (
    ("empty", "heats up empty"),
    ("warming", "warming"),
    ("hot", "hot"),
    ("done", "done"),
    ("poor", "done, if the sky is poor"),
    ("kept", "kept hot until served"),
    ("turn", "turn it"),
    ("meal", "meal starts"),
)
