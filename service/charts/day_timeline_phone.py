"""The day on a phone: time runs down, a narrow column for each cooker that is used."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from markupsafe import Markup

from events.diary import Cloud
from events.model import Cooker, Event
from service.charts.canvas import (
    RISE_STEPS,
    Axis,
    Canvas,
    Stay,
    clip,
    rise,
    rows_of,
    stays_of,
)
from service.charts.day_timeline import BOLD, STEP, axis_of, beam_seen_w_m2
from service.text import formatting
from solver.plan import Placement, Plan

WIDTH, SUN_X, SUN_W, COOKERS_X, COLUMN = 344.0, 46.0, 50.0, 103.0, 48.0
TOP, HOUR = 74.0, 52.0
NAMED_AT_LEAST = 34.0  # of a short bar's name, run over its end
AT_ONCE = 5  # columns that fit a phone's width


def day_phone(
    event: Event, plan: Plan, now: datetime | None, *, clouds: Sequence[Cloud] = ()
) -> list[tuple[str, Markup]]:
    """Return the day's pictures for phones, five cookers on each, with whose they are."""
    rings = {c.id for c in event.cookers if c.on_gas}
    used = {p.cooker_id for p in plan.placements}
    used |= rings & {p.then_cooker_id for p in plan.placements}
    cookers = [c for c in event.cookers if c.id in used]
    groups = [cookers[k : k + AT_ONCE] for k in range(0, len(cookers), AT_ONCE)] or [[]]
    return [
        (formatting.joined([c.name for c in group]), _one(event, plan, now, group, clouds))
        for group in groups
    ]


def _span(plan: Plan) -> Axis:
    """Return the day's hours from half an hour before the first pot to after the last meal."""
    whole, grain = axis_of(plan, 0, 1), timedelta(minutes=30)
    first = min((p.preheat_at or p.loaded_at for p in plan.placements), default=whole.start)
    last = max((p.lifted_at for p in plan.placements), default=whole.end)
    start = max(whole.start, whole.start + (first - whole.start) // grain * grain - grain)
    end = min(whole.end, whole.end - (whole.end - last) // grain * grain + grain)
    return Axis(start, end, 0, 1)


def _one(
    event: Event,
    plan: Plan,
    now: datetime | None,
    cookers: list[Cooker],
    clouds: Sequence[Cloud],
) -> Markup:
    c = Canvas()
    span = _span(plan)
    height = (span.end - span.start) / timedelta(hours=1) * HOUR
    axis = Axis(span.start, span.end, TOP, TOP + height)
    c.text("t14 b mid", SUN_X + 24, 14, "Sun")
    for step in (s for s in plan.sun if span.start <= s.at < span.end):
        y = axis.at(step.at) + 1
        h = axis.at(step.at + STEP) - y - 1
        seen_w_m2 = beam_seen_w_m2(step, clouds)
        clear, beam = (SUN_W * w / 1000 for w in (step.clear_w_m2, seen_w_m2))
        if clear < 1:
            continue
        if step.blocked:
            c.rect("treecol", SUN_X, y, clear, h, fill="url(#tree)")
            continue
        c.rect("sunf", SUN_X, y, beam, h)
        c.path("l15", f"M{SUN_X + beam:.1f} {y:.1f}v{h:.1f}")
        if seen_w_m2 < step.beam_w_m2:
            c.rect("", SUN_X, y, clear, h, fill="url(#hatch)")
    c.path("l2", f"M{SUN_X:.0f} {TOP:.0f}V{TOP + height:.0f}")
    for at in axis.hours(timedelta(minutes=30)):
        y, full = axis.at(at), at.minute == 0
        c.text("t15 b end" if full else "t13 end softt", 39, y + 5, formatting.tick(event, at))
        if full:
            c.path("hairl", f"M42 {y:.1f}H{WIDTH:.0f}")
    c.text("t14 end", 97, 68, "spare")
    for n, cooker in enumerate(cookers):
        _column(c, event, plan, axis, cooker, x=COOKERS_X + n * COLUMN, now=now)
    _lines(c, event, plan, axis, now)
    names = ", ".join(k.name for k in cookers) or "no cooker"
    label = f"The day, time running down, for {names}. The same figures are in the table below."
    return c.svg(WIDTH, TOP + height + 8, label)


def _column(
    c: Canvas,
    event: Event,
    plan: Plan,
    axis: Axis,
    cooker: Cooker,
    *,
    x: float,
    now: datetime | None,
) -> None:
    stays = stays_of(plan, cooker.id)
    rows = rows_of(stays)
    digits = "".join(ch for ch in cooker.name if ch.isdigit())
    c.symbol(cooker.nature.symbol, x, 22, 30)
    c.text("t20 b" if len(digits) == 1 else "t14 b", x + 31, 49, digits or cooker.name[:1])
    c.text("t14", x, 68, f"{min(s.batch.margin_min for s in stays)}′")
    width = 34.0 / len(rows) - (1 if len(rows) > 1 else 0)
    for n, row in enumerate(rows):
        for stay in row:
            left = x + 2 + n * (width + 1)
            if stay.is_moved:
                _moved(c, event, axis, stay, left, width)
            else:
                _bar(c, event, axis, stay.batch, left, width)
    future = [t for t in plan.turns if t.cooker_id == cooker.id and (now is None or t.at >= now)]
    for turn in (t for t in plan.turns if t.cooker_id == cooker.id):
        y = axis.at(turn.at)
        kind = "white edge" if turn in future else "ink"
        if now is not None and future and turn is future[0]:
            kind = "sunf edge"
        c.path(kind, f"M{x + 44:.1f} {y - 4:.1f}v8l-6.5-4z")


def _moved(c: Canvas, event: Event, axis: Axis, stay: Stay, x: float, width: float) -> None:
    """Draw a pot that was moved here: to keep hot, or to be finished on a ring."""
    y, end = axis.at(stay.starts_at), axis.at(stay.ends_at)
    c.rect("white", x, y, width, end - y)
    c.rect("edge", x, y, width, end - y, fill="url(#hatchv)")
    name = clip(event.dish(stay.batch.dish_id).name, max(end - y - 10, NAMED_AT_LEAST), letter=8)
    place = f"translate({x + 5:.1f} {y + 6:.1f}) rotate(90)"
    c.text("t15 food halo", 0, 0, name, transform=place)


def _bar(c: Canvas, event: Event, axis: Axis, p: Placement, x: float, width: float) -> None:
    load, hot, done, lift = (axis.at(t) for t in (p.loaded_at, p.hot_at, p.done_at, p.lifted_at))
    if p.preheat_at is not None:
        c.rect("l15 dash", x, axis.at(p.preheat_at), width / 2, load - axis.at(p.preheat_at))
    curve = " ".join(
        f"L{x + width * rise(k / RISE_STEPS):.1f} {load + (hot - load) * k / RISE_STEPS:.1f}"
        for k in range(RISE_STEPS + 1)
    )
    c.path("strawf", f"M{x:.1f} {load:.1f}{curve}H{x:.1f}Z")
    c.rect("sunf", x, hot, width, done - hot)
    c.rect("white", x, done, width, lift - done)
    c.rect("", x, done, width, lift - done, fill="url(#hatchv)")
    c.path("l15", f"M{x:.1f} {load:.1f}{curve}V{max(lift, done):.1f}H{x:.1f}Z")
    c.path("l3", f"M{x - 1:.1f} {done:.1f}h{width + 3:.1f}")
    if p.cautious_at:
        slow = axis.at(p.cautious_at)
        c.path("l2", f"M{x + width + 2:.1f} {done:.1f}V{slow:.1f}m-3 0h6")
    dish = event.dish(p.dish_id)
    name = clip(dish.name + formatting.part(p), max(lift - load - 10, NAMED_AT_LEAST), letter=8)
    place = f"translate({x + 5:.1f} {load + 6:.1f}) rotate(90)"
    c.text("t15 food straw", 0, 0, name, transform=place)


def _lines(c: Canvas, event: Event, plan: Plan, axis: Axis, now: datetime | None) -> None:
    for job in plan.jobs:
        if job.kind != "serve":
            continue
        y = axis.at(job.at)
        meal = event.meal(job.meal_id or "")
        name = f"{clip(meal.name, 150, letter=BOLD)} {formatting.clock(event, job.at)}"
        c.path("l1", f"M{SUN_X:.0f} {y - 2:.1f}H{WIDTH:.0f}M{SUN_X:.0f} {y + 2:.1f}H{WIDTH:.0f}")
        c.rect("ink", 101, y + 2, len(name) * BOLD + 12, 22)
        c.text("t14 b inv", 107, y + 18, name)
    if now is not None and axis.start <= now <= axis.end:
        y = axis.at(now)
        c.path("l3", f"M0 {y:.1f}H{WIDTH:.0f}")
        c.rect("ink", 0, y - 11, 46, 22)
        c.text("t14 b inv", 4, y + 5, formatting.clock(event, now))
