"""The year as a map: a column for each week, a row for each dish, darker the later it is ready."""

from __future__ import annotations

from datetime import date, timedelta

from markupsafe import Markup

from events.model import Event
from service.charts.canvas import Canvas, clip
from solver.feasibility.season import Season

LEFT, CELL, ROW, TOP = 190.0, 19.5, 34.0, 34.0
_MONTHS = "JFMAMJJASOND"


def step_of(hour: float | None) -> int:
    """Return how a cell is drawn: 0 ready by 11, 1 by 13, 2 by 16, 3 later or not at all."""
    if hour is None:
        return 3
    return 0 if hour <= 11 else 1 if hour <= 13 else 2 if hour <= 16 else 3


def season_picture(event: Event, season: Season, *, today: date) -> Markup:
    """Return the year's map."""
    c = Canvas()
    last = 0
    for n, week in enumerate(season.weeks):
        if week.monday.month != last and week.monday.day <= 7:
            last = week.monday.month
            c.text("t14 b", LEFT + n * CELL, 20, _MONTHS[last - 1])
            c.path("hairl", f"M{LEFT + n * CELL:.1f} 24V{TOP + ROW * len(event.dishes):.1f}")
    for k, dish in enumerate(event.dishes):
        y = TOP + k * ROW
        c.text("t15 food", 0, y + 21, clip(dish.name, LEFT - 8, letter=9))
        for n, week in enumerate(season.weeks):
            x, kind = LEFT + n * CELL, step_of(week.ready_by[dish.id])
            fill = ("sunf edge", "strawf edge", "white edge", "white hairl")[kind]
            c.rect(fill, x + 1, y + 3, CELL - 2, ROW - 8)
            if kind == 2:
                c.rect("", x + 1, y + 3, CELL - 2, ROW - 8, fill="url(#hatch)")
            elif kind == 3:
                c.path("l1", f"M{x + 5:.1f} {y + 10:.1f}l10 12m0-12l-10 12")
    height = TOP + ROW * len(event.dishes) + 30
    for n, week in enumerate(season.weeks):
        x, end = LEFT + (n + 0.5) * CELL, height - 30
        marks = [
            (week.day == event.date, "the day"),
            (week.monday <= today < week.monday + timedelta(days=7), "today"),
        ]
        said = ", ".join(words for is_here, words in marks if is_here)
        if said:
            c.path("l2", f"M{x:.1f} {TOP:.1f}V{end:.1f}")
            late = n > len(season.weeks) / 2
            c.text("t14 b end" if late else "t14 b", x + (4 if late else -4), end + 18, said)
    label = (
        "By what hour the sun has each dish ready, week by week. The same is in the table below."
    )
    return c.svg(LEFT + 52 * CELL, height, label)
