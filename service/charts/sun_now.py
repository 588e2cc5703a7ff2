"""The sun at this moment as a small picture: the stronger, the more rays; a cloud, or a horizon."""

from __future__ import annotations

import math

from markupsafe import Markup

from service.charts.canvas import Canvas
from service.text.board import SunNow

SIZE, MIDDLE, DISC = 64.0, 32.0, 13.0
RAYS = 12


def sun_picture(sun: SunNow) -> Markup:
    """Return the picture of the sun now."""
    c = Canvas()
    if sun.down:
        c.path("sunf edge2", "M17 44a15 15 0 0 1 30 0z")
        c.path("l4", "M4 44H60M12 54H52")
        return c.svg(SIZE, SIZE, sun.words, kind="sunpic")
    for k in range(RAYS if sun.rays == 3 else RAYS // 2 if sun.rays else 0):
        angle = 2 * math.pi * k / (RAYS if sun.rays == 3 else RAYS // 2)
        near, far = DISC + 5, DISC + (17 if sun.rays > 1 else 11)
        x, y = math.sin(angle), math.cos(angle)
        c.path(
            "l4",
            f"M{MIDDLE + near * x:.1f} {MIDDLE - near * y:.1f}"
            f"L{MIDDLE + far * x:.1f} {MIDDLE - far * y:.1f}",
        )
    c.circle("sunf edge3" if sun.rays else "white edge3", MIDDLE, MIDDLE, DISC)
    if sun.cloud:
        c.path("white edge3", "M14 54a10 10 0 0 1 2-20 14 14 0 0 1 27-3 11 11 0 0 1 7 23z")
    return c.svg(SIZE, SIZE, sun.words, kind="sunpic")
