"""How warm a batch is expected to be, from loading to serving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from markupsafe import Markup

from events.model import Event
from service.charts.canvas import Axis, Canvas
from service.text import formatting, notices
from solver.plan import Placement

HALF_HOUR = timedelta(minutes=30)
COLD_C, HOT_C = 5.0, 60.0  # between them germs grow


@dataclass(frozen=True)
class Reading:
    """What a probe showed in the middle of the food."""

    at: datetime
    core_c: float


@dataclass(frozen=True)
class _Frame:
    """Where times and temperatures lie on the picture."""

    axis: Axis
    hottest_c: float
    top: float
    base: float

    def x(self, at: datetime) -> float:
        """Return where an instant lies."""
        return self.axis.at(at)

    def y(self, at_c: float) -> float:
        """Return where a temperature lies."""
        return self.base - (self.base - self.top) * max(at_c, 0.0) / self.hottest_c


def curve_picture(
    event: Event,
    batch: Placement,
    now: datetime | None,
    *,
    wide: bool,
    readings: Sequence[Reading] = (),
) -> Markup:
    """Return how warm a batch is expected to be, from loading to serving."""
    width, height = (760.0, 330.0) if wide else (340.0, 300.0)
    frame = _frame(batch, width, height)
    c = Canvas()
    _ground(c, event, frame)
    _curves(c, batch, frame)
    _readings(c, event, readings, frame)
    _moments(c, event, batch, frame)
    _hours(c, event, frame, wide=wide)
    if now is not None and frame.axis.start <= now <= frame.axis.end:
        _now(c, event, now, frame)
    label = (
        f"Temperature of {event.dish(batch.dish_id).name}: "
        f"loaded {formatting.clock(event, batch.loaded_at)}, "
        f"{formatting.temp(event, HOT_C)} at {formatting.clock(event, batch.hot_at)}, "
        f"done {formatting.clock(event, batch.done_at)}."
    )
    return c.svg(width, height, label)


def _frame(batch: Placement, width: float, height: float) -> _Frame:
    """Return a frame from the half hour before loading to the one after serving."""
    start = batch.loaded_at - timedelta(minutes=batch.loaded_at.minute % 30)
    end = batch.served_at + HALF_HOUR - timedelta(minutes=batch.served_at.minute % 30)
    hottest_c = max([110.0, *(point.body_c or 0.0 for point in batch.curve)])
    return _Frame(Axis(start, end, 46.0, width - 10), hottest_c, top=26.0, base=height - 30)


def _ground(c: Canvas, event: Event, frame: _Frame) -> None:
    """Draw the zone in which germs grow, and a line for every so many degrees."""
    left, right = frame.axis.low, frame.axis.high
    c.rect("zone", left, frame.y(HOT_C), right - left, frame.y(COLD_C) - frame.y(HOT_C))
    us = event.units == "us"
    hottest_f = int(frame.hottest_c * 9 / 5 + 32)
    for degrees in range(50, hottest_f, 50) if us else range(20, int(frame.hottest_c) + 1, 20):
        y = frame.y((degrees - 32) * 5 / 9 if us else degrees)
        c.path("hairl", f"M{left} {y:.1f}H{right}")
        c.text("t14 end", left - 7, y + 5, f"{degrees}°")


def _curves(c: Canvas, batch: Placement, frame: _Frame) -> None:
    _band(c, batch, frame)
    curve = batch.curve
    oven = [(frame.x(p.at), frame.y(p.body_c)) for p in curve if p.body_c is not None]
    _line(c, "l15 dash", oven)
    _line(c, "l1", [(frame.x(p.at), frame.y(p.food_c)) for p in curve])
    _line(c, "l3", [(frame.x(p.at), frame.y(p.core_c)) for p in curve])


def _readings(c: Canvas, event: Event, readings: Sequence[Reading], frame: _Frame) -> None:
    for reading in readings:
        x, y = frame.x(reading.at), frame.y(reading.core_c)
        c.circle("white edge3", x, y, 6)
        c.text("t15 b halo end", x - 10, y - 4, formatting.temp(event, reading.core_c))


def _moments(c: Canvas, event: Event, batch: Placement, frame: _Frame) -> None:
    """Draw when the food is done and when it is served, and how long it was warm."""
    for at, name, down in ((batch.done_at, "done", 32), (batch.served_at, "served", 14)):
        x = frame.x(at)
        c.path("l2", f"M{x:.1f} {frame.top}V{frame.base}")
        text = f"{name} {formatting.clock(event, at)}"
        c.text("t14 b halo end", x - 6, frame.top + down, text)
    if batch.between_5_and_60_min:
        text = f"{batch.between_5_and_60_min} min between {notices.danger_zone(event)}"
        c.text("t14 b halo", frame.x(batch.loaded_at) + 6, frame.base - 8, text)


def _hours(c: Canvas, event: Event, frame: _Frame, *, wide: bool) -> None:
    axis, base = frame.axis, frame.base
    c.path("l2", f"M{axis.low} {base}H{axis.high}")
    short = axis.end - axis.start <= timedelta(hours=2)
    for at in axis.hours(HALF_HOUR if wide or short else 2 * HALF_HOUR):
        c.path("l1", f"M{axis.at(at):.1f} {base}v5")
        c.text("t14 mid", axis.at(at), base + 21, formatting.tick(event, at))


def _now(c: Canvas, event: Event, now: datetime, frame: _Frame) -> None:
    x = frame.x(now)
    c.path("l3", f"M{x:.1f} 18V{frame.base}")
    c.rect("ink", x - 26, 0, 52, 20)
    c.text("t14 b inv mid", x, 15, formatting.clock(event, now))


def _band(c: Canvas, batch: Placement, frame: _Frame) -> None:
    """Draw between what a strong and a poor day would make of the middle: time runs as they do."""
    loaded_at, took = batch.loaded_at, (batch.done_at - batch.loaded_at).total_seconds()
    slowest = batch.cautious_at or batch.served_at
    fast, slow = ((t - loaded_at).total_seconds() / took for t in (batch.fast_at, slowest))
    rising = [point for point in batch.curve if point.at <= batch.done_at]

    def edge(pace: float) -> list[tuple[float, float]]:
        return [(frame.x(loaded_at + (p.at - loaded_at) * pace), frame.y(p.core_c)) for p in rising]

    if len(rising) > 1:
        points = [*edge(fast), *reversed(edge(slow))]
        c.path("strawf", "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z")


def _line(c: Canvas, kind: str, points: list[tuple[float, float]]) -> None:
    if points:
        c.path(kind, "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points))
