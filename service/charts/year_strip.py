"""A month of the year's strip: four bars, as high as the sun stands high for hours."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from service.charts.canvas import Canvas

BAR, HIGH, HOURS_MOST = 12.0, 40.0, 10.0


def month_bars(hours: Sequence[float]) -> Markup:
    """Return the bars of some of its days."""
    c = Canvas()
    for n, high_sun_h in enumerate(hours):
        tall = min(high_sun_h / HOURS_MOST, 1.0) * HIGH
        c.rect("sunf edge", 1 + n * BAR, 1 + HIGH - tall, BAR, tall)
    c.path("l15", f"M0 {HIGH + 1:.0f}H{2 + BAR * len(hours):.0f}")
    words = ", ".join(f"{high_sun_h:.1f}" for high_sun_h in hours)
    return c.svg(2 + BAR * len(hours), HIGH + 2, f"{words} hours", kind="bars")
