"""When the site and each cooker have usable sun: one bar a row, ruled where there is none."""

from __future__ import annotations

from datetime import timedelta

from markupsafe import Markup

from events.model import Event
from service.charts.canvas import Canvas, clip
from service.charts.day_timeline import axis_of
from service.text import formatting
from solver.plan import Plan

WIDE, LEFT, ROW = 640.0, 150.0, 30.0


def window_picture(event: Event, plan: Plan) -> Markup:
    """Return the sun windows as a picture; the same stands in a table on the day page."""
    c, axis = Canvas(), axis_of(plan, LEFT, WIDE - 10)
    for n, window in enumerate(plan.windows):
        y = 8 + n * ROW
        name = event.cooker(window.cooker_id).name if window.cooker_id else "The site"
        c.text("t14 b", 0, y + 15, clip(name, LEFT - 12, letter=8))
        c.rect("white hairl", LEFT, y, WIDE - 10 - LEFT, 20)
        c.rect("treecol", LEFT, y, WIDE - 10 - LEFT, 20, fill="url(#tree)")
        for s in window.stretches:
            x, end = axis.at(s.starts_at), axis.at(s.ends_at)
            c.rect("sunf edge", x, y, end - x, 20)
    base = 8 + len(plan.windows) * ROW
    c.path("l2", f"M{LEFT:.0f} {base:.0f}H{WIDE - 10:.0f}")
    for at in axis.hours(timedelta(hours=2)):
        c.text("t13 mid", axis.at(at), base + 18, formatting.clock(event, at))
    return c.svg(WIDE, base + 26, "Usable sun of the site and of each cooker")
