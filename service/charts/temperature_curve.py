"""How warm a batch is expected to be, from loading to serving."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from markupsafe import Markup

from events.model import Event
from service.charts.canvas import Axis, Canvas
from service.text import formatting, notices
from solver.plan import Placement


def curve_picture(
    event: Event,
    p: Placement,
    now: datetime | None,
    *,
    wide: bool,
    read: Sequence[tuple[datetime, float]] = (),
) -> Markup:
    """Return how warm a batch is expected to be, from loading to serving."""
    width, height = (760.0, 330.0) if wide else (340.0, 300.0)
    left, right, top, base = 46.0, width - 10, 26.0, height - 30
    half = timedelta(minutes=30)
    start = p.loaded_at - timedelta(minutes=p.loaded_at.minute % 30)
    end = p.served_at + half - timedelta(minutes=p.served_at.minute % 30)
    axis = Axis(start, end, left, right)
    hottest = max([110.0, *(pt.body_c or 0.0 for pt in p.curve)])

    def y_of(c_deg: float) -> float:
        return base - (base - top) * max(c_deg, 0.0) / hottest

    c = Canvas()
    c.rect("zone", left, y_of(60), right - left, y_of(5) - y_of(60))
    us = event.units == "us"
    for deg in range(50, int(hottest * 9 / 5 + 32), 50) if us else range(20, int(hottest) + 1, 20):
        y = y_of((deg - 32) * 5 / 9 if us else deg)
        c.path("hairl", f"M{left} {y:.1f}H{right}")
        c.text("t14 end", left - 7, y + 5, f"{deg}°")
    _band(c, p, axis, y_of)
    _line(
        c,
        "l15 dash",
        [(axis.at(pt.at), y_of(pt.body_c)) for pt in p.curve if pt.body_c is not None],
    )
    _line(c, "l1", [(axis.at(pt.at), y_of(pt.food_c)) for pt in p.curve])
    _line(c, "l3", [(axis.at(pt.at), y_of(pt.core_c)) for pt in p.curve])
    for when, core_c in read:
        c.circle("white edge3", axis.at(when), y_of(core_c), 6)
        c.text(
            "t15 b halo end", axis.at(when) - 10, y_of(core_c) - 4, formatting.temp(event, core_c)
        )
    for at, name in ((p.done_at, "done"), (p.served_at, "served")):
        x = axis.at(at)
        c.path("l2", f"M{x:.1f} {top}V{base}")
        y = top + 14 if name == "served" else top + 32
        c.text("t14 b halo end", x - 6, y, f"{name} {formatting.clock(event, at)}")
    if p.between_5_and_60_min:
        x, y = axis.at(p.loaded_at), base - 8
        c.text(
            "t14 b halo",
            x + 6,
            y,
            f"{p.between_5_and_60_min} min between {notices.danger_zone(event)}",
        )
    c.path("l2", f"M{left} {base}H{right}")
    grain = half if wide or end - start <= timedelta(hours=2) else timedelta(hours=1)
    for at in axis.hours(grain):
        c.path("l1", f"M{axis.at(at):.1f} {base}v5")
        c.text("t14 mid", axis.at(at), base + 21, formatting.tick(event, at))
    if now is not None and start <= now <= end:
        x = axis.at(now)
        c.path("l3", f"M{x:.1f} 18V{base}")
        c.rect("ink", x - 26, 0, 52, 20)
        c.text("t14 b inv mid", x, 15, formatting.clock(event, now))
    dish = event.dish(p.dish_id)
    label = (
        f"Temperature of {dish.name}: loaded {formatting.clock(event, p.loaded_at)}, "
        f"{formatting.temp(event, 60)} at {formatting.clock(event, p.hot_at)}, "
        f"done {formatting.clock(event, p.done_at)}."
    )
    return c.svg(width, height, label)


def _band(c: Canvas, p: Placement, axis: Axis, y_of: Callable[[float], float]) -> None:
    """Draw between what a strong and a poor day would make of the middle: time runs as they do."""
    took = (p.done_at - p.loaded_at).total_seconds()
    last = p.cautious_at or p.served_at
    fast, slow = (((t - p.loaded_at).total_seconds() / took) for t in (p.fast_at, last))
    rising = [pt for pt in p.curve if pt.at <= p.done_at]
    there = [
        (axis.at(p.loaded_at + (pt.at - p.loaded_at) * fast), y_of(pt.core_c)) for pt in rising
    ]
    back = [(axis.at(p.loaded_at + (pt.at - p.loaded_at) * slow), y_of(pt.core_c)) for pt in rising]
    if len(rising) > 1:
        points = [*there, *reversed(back)]
        c.path("strawf", "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z")


def _line(c: Canvas, kind: str, points: list[tuple[float, float]]) -> None:
    if points:
        c.path(kind, "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points))
