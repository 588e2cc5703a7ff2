"""The sun's way over the skyline, for a place or a station: where it stands, when it is blocked."""

from __future__ import annotations

import itertools

import numpy as np
from markupsafe import Markup

from events.model import Event
from events.site import Station
from service.charts.canvas import Canvas
from service.text import formatting
from solver.solar.horizon import profile
from solver.solar.irradiance import at_minute, expected_sky, usable
from solver.solar.position import skyline_deg

WIDE, HIGH, LEFT, BASE = 330.0, 240.0, 36.0, 205.0
NAMES = (
    (0, "N"),
    (45, "NE"),
    (90, "E"),
    (135, "SE"),
    (180, "S"),
    (225, "SW"),
    (270, "W"),
    (315, "NW"),
)


def sun_path(event: Event, station: Station | None) -> Markup:
    """Return the picture of one day's sun; a table of the same stands under it on the page."""
    sky = expected_sky(event)
    line = profile(event, station)
    up = np.flatnonzero(sky.elevation_deg > 0)
    c = Canvas()
    if not up.size:
        c.text("t15 b mid", WIDE / 2, HIGH / 2, "No sun on this day")
        return c.svg(WIDE, HIGH, "No sun on this day")
    middle = float(sky.azimuth_deg[int(np.argmax(sky.elevation_deg))])
    middle = 180.0 if 90 < middle < 270 else 0.0
    top = max(50.0, float(sky.elevation_deg.max()) + 8)

    def x(azimuth: float) -> float:
        off = (azimuth - middle + 180) % 360 - 180
        return LEFT + (off + 135) / 270 * (WIDE - LEFT)

    def y(height: float) -> float:
        return BASE - max(height, 0) / top * (BASE - 12)

    for height_deg in (20, 40, 60, 80):
        if height_deg < top:
            c.path("hairl", f"M{LEFT:.0f} {y(height_deg):.1f}H{WIDE:.0f}")
            c.text("t13 end", LEFT - 4, y(height_deg) + 4, f"{height_deg}°")
    ahead = [(middle - 135 + k * 3) % 360 for k in range(91)]
    heights = [float(skyline_deg(line, np.asarray([a]))[0]) for a in ahead]
    shape = " ".join(
        f"L{x(a) if k else LEFT:.1f} {y(h):.1f}"
        for k, (a, h) in enumerate(zip(ahead, heights, strict=True))
    )
    shade = f"M{LEFT:.1f} {BASE:.1f}{shape}L{WIDE:.1f} {BASE:.1f}Z"
    c.path("white", shade)
    c.path("treecol", shade, fill="url(#tree)")
    lit = usable(event, sky, skyline=line, low_deg=0.0, high_deg=90.0)
    _way(c, up, lit, sky.azimuth_deg, sky.elevation_deg, x, y)
    for m in up[up % 120 == 0]:
        at_x, at_y = x(float(sky.azimuth_deg[m])), y(float(sky.elevation_deg[m]))
        c.circle("white edge2", at_x, at_y, 5)
        c.text(
            "t13 b mid halo",
            at_x,
            at_y - 9,
            formatting.clock(event, at_minute(sky, int(m)))[:5].strip(":"),
        )
    c.path("l2", f"M{LEFT:.0f} {BASE:.0f}H{WIDE:.0f}")
    for azimuth, name in NAMES:
        if abs((azimuth - middle + 180) % 360 - 180) <= 130:
            c.text("t13 b mid", x(azimuth), BASE + 18, name)
    return c.svg(WIDE, HIGH, "The sun's way over the skyline; the same as a table below")


def _way(
    c: Canvas,
    up: np.ndarray,
    lit: np.ndarray,
    azimuth: np.ndarray,
    height: np.ndarray,
    x: object,
    y: object,
) -> None:
    """Draw the way: heavy where the sun is usable, dashed where it is not."""
    step = up[::5]
    for a, b in itertools.pairwise(step):
        if b - a > 5:
            continue
        x0, x1 = x(float(azimuth[a])), x(float(azimuth[b]))  # type: ignore[operator]
        if abs(x1 - x0) > 60:
            continue
        d = f"M{x0:.1f} {y(float(height[a])):.1f}L{x1:.1f} {y(float(height[b])):.1f}"  # type: ignore[operator]
        if lit[a]:
            c.path("sunway", d)
        c.path("l2" if lit[a] else "l15 dash", d)
