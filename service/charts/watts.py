"""Where a cooker's watts go: a bar for what arrives, and under it where the gathered part goes."""

from __future__ import annotations

from markupsafe import Markup

from service.charts.canvas import Canvas
from service.text.show_card import Budget, watt_shares

WIDE, ROW, BAR, TOP = 360.0, 42.0, 16.0, 4.0
FILL = {
    "arrives": ("sunf edge", ""),
    "gathered": ("sunf edge", "url(#hatch)"),
    "food": ("ink", ""),
    "steam": ("strawf edge", ""),
    "stored": ("white edge", "url(#warm)"),
    "lost": ("white edge", ""),
}


def watts_picture(said: Budget, sentence: str) -> Markup:
    """Return the bars; each share stands under the part of the bar above that it is of."""
    c = Canvas()
    shares = watt_shares(said)
    whole = max(said.arrives.watts, sum(line.watts for line in shares), 1)
    x = 0.0
    lines = [(said.arrives, 0.0), (said.gathered, 0.0)]
    for line in shares:
        lines.append((line, x))
        x += line.watts
    for n, (line, starts) in enumerate(lines):
        y = TOP + n * ROW
        c.text("t14 b", 0, y + 13, f"{line.name} {line.watts} W")
        c.text("t13", WIDE, y + 13, line.words, text_anchor="end")
        kind, pattern = FILL[line.key]
        left, width = starts / whole * WIDE, max(line.watts, 0) / whole * WIDE
        c.rect(kind, left, y + 18, width, BAR)
        if pattern:
            c.rect("", left, y + 18, width, BAR, fill=pattern)
    return c.svg(WIDE, TOP + len(lines) * ROW, sentence)
