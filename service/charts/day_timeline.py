"""The day on a desk: the sun's strength over a lane for each cooker, time running right."""

from __future__ import annotations

from datetime import datetime, timedelta

from markupsafe import Markup

from events.model import Cooker, Event
from service.charts.canvas import RISE_STEPS, Axis, Canvas, clip, rise, rows_of
from service.text import formatting
from solver.plan import Placement, Plan, SunStep

WIDE, LEFT, RIGHT, MARGIN_X = 1240.0, 168.0, 1030.0, 1060.0
SUN_TOP, SUN_BASE = 20.0, 98.0  # 1000 W/m² and 0
BOLD = 9.2  # a bold letter of 14 px in the widest of the system fonts
LANES_FROM, BAR, ROW = 137.0, 32.0, 36.0


def axis_of(plan: Plan, low: float, high: float) -> Axis:
    """Return the day's axis: from the first to the last of the sun's columns."""
    grain = timedelta(minutes=30)
    first, last = plan.sun[0].at, plan.sun[-1].at + timedelta(minutes=10)
    first -= timedelta(minutes=first.minute % 30)
    rest = timedelta(minutes=last.minute % 30)
    return Axis(first, last + (grain - rest if rest else timedelta()), low, high)


def day_wide(event: Event, plan: Plan, now: datetime | None, *, link: str = "") -> Markup:
    """Return the day's picture for wide screens; `now` is None on another day.

    With a `link` each batch leads to a page of its own.
    """
    c, axis = Canvas(), axis_of(plan, LEFT, RIGHT)
    _sun(c, event, plan, axis)
    bottom = LANES_FROM
    tops: list[tuple[Cooker, float, list[list[Placement]]]] = []
    for cooker in event.cookers:
        rows = rows_of([p for p in plan.placements if p.cooker_id == cooker.id])
        moved = [p for p in plan.placements if p.then_cooker_id == cooker.id]
        if cooker.keeps_heat_only and not moved:
            continue
        tops.append((cooker, bottom, rows))
        bottom += max(len(rows), 1) * ROW + 24
    _programme(c, event, plan, axis, bottom)
    for cooker, top, rows in tops:
        _lane(c, event, plan, axis, cooker, top=top, rows=rows, now=now, link=link)
    c.path("l2", f"M0 {bottom:.0f}H{WIDE:.0f}")
    height = _walks(c, event, plan, axis, bottom) + 44
    base = height - 26
    c.path("l1", f"M{LEFT:.0f} {base:.0f}H{RIGHT:.0f}")
    for at in axis.hours(timedelta(minutes=30)):
        x = axis.at(at)
        full = at.minute == 0
        c.path("l1", f"M{x:.1f} {base:.0f}v{6 if full else 3}")
        if full:
            c.text("t15 mid", x, base + 22, formatting.tick(event, at))
    if now is not None and axis.start <= now <= axis.end:
        x = axis.at(now)
        c.path("l3", f"M{x:.1f} 12V{base:.0f}")
        c.rect("ink", x - 26, base + 2, 52, 23)
        c.text("t15 b mid inv", x, base + 19, formatting.clock(event, now))
    label = (
        f"{len(event.cookers)} cookers from {formatting.clock(event, axis.start)} to "
        f"{formatting.clock(event, axis.end)} under the strength of the sun. "
        "The same figures are in the table below."
    )
    return c.svg(WIDE, height, label, role="group" if link else "img")


def _sun(c: Canvas, event: Event, plan: Plan, axis: Axis) -> None:
    c.text("t15 b", 0, 34, "Strength of the sun")
    notes = ("filled: as forecast", "outline: if no cloud", "ruled: too low, or shade")
    for k, note in enumerate(notes):
        c.text("t13 softt", 0, 52 + 17 * k, note)
    for watts in (500, 1000):
        y = SUN_BASE - (SUN_BASE - SUN_TOP) * watts / 1000
        c.path("hairl dots", f"M148 {y:.0f}H{RIGHT:.0f}")
        c.text("t13 softt", RIGHT + 8, y + 5, f"{watts} W/m²")
    for step in plan.sun:
        _column(c, step, axis)
    c.path("l2", f"M148 {SUN_BASE:.0f}H{RIGHT:.0f}")
    stretches = plan.windows[0].stretches
    if not stretches:
        c.text("t15 b halo mid", (LEFT + RIGHT) / 2, 16, "No usable sun on this day")
    for n, s in enumerate(stretches):
        from_x, to_x = axis.at(s.starts_at), axis.at(s.ends_at)
        if s.starts_at > axis.start:
            c.path("l3", f"M{from_x + 7:.1f} 12H{from_x:.1f}V{SUN_BASE:.0f}")
            start = formatting.clock(event, s.starts_at)
            c.text("t13 b halo", from_x + 12, 16, f"sun {'again ' if n else ''}from {start}")
        if s.ends_at < axis.end:
            c.path("l3", f"M{to_x - 7:.1f} 12H{to_x:.1f}V{SUN_BASE:.0f}")
            c.text(
                "t13 b halo end", to_x - 12, 16, f"sun until {formatting.clock(event, s.ends_at)}"
            )


def _column(c: Canvas, step: SunStep, axis: Axis) -> None:
    x = axis.at(step.at) + 1
    w = axis.at(step.at + timedelta(minutes=10)) - x - 1
    scale = (SUN_BASE - SUN_TOP) / 1000
    clear, beam = step.clear_w_m2 * scale, step.beam_w_m2 * scale
    if clear < 1:
        return
    if step.blocked:
        c.rect("treecol", x, SUN_BASE - clear, w, clear, fill="url(#tree)")
        return
    if clear - beam > 0.5:
        c.rect("white hairl", x, SUN_BASE - clear, w, clear - beam)
    c.rect("sunf", x, SUN_BASE - beam, w, beam)
    c.path("l15", f"M{x:.1f} {SUN_BASE - beam:.1f}h{w:.1f}")


def _programme(c: Canvas, event: Event, plan: Plan, axis: Axis, bottom: float) -> None:
    c.text("t15 b", 0, 122, "Talks, servings")
    c.text("t14 b", MARGIN_X, 122, "To spare, chance")
    for job in plan.jobs:
        x = axis.at(job.at)
        if job.kind == "talk":
            talk = event.talk(job.talk_id or "")
            end = axis.at(job.at + timedelta(minutes=job.minutes))
            c.path("ink", f"M{x:.1f} 104h5v24h-5z")
            c.path("l3", f"M{x:.1f} 126.5H{end:.1f}")
            name = f"{formatting.clock(event, job.at)} {clip(talk.name, 180, letter=7)}"
            meals = [axis.at(j.at) for j in plan.jobs if j.kind == "serve" and j.at >= job.at]
            room = min(meals, default=RIGHT) - x - 14 >= len(name) * 7.4
            c.text("t13 halo" if room else "t13 halo end", x + (10 if room else -6), 121, name)
    for job in plan.jobs:
        x = axis.at(job.at)
        if job.kind == "serve":
            meal = event.meal(job.meal_id or "")
            name = f"{clip(meal.name, 120, letter=8)} {formatting.clock(event, job.at)}"
            c.path("l1", f"M{x - 2:.1f} 104V{bottom:.0f}M{x + 2:.1f} 104V{bottom:.0f}")
            c.rect("ink", x, 104, len(name) * BOLD + 14, 24)
            c.text("t14 b inv", x + 7, 121, name)


def _lane(
    c: Canvas,
    event: Event,
    plan: Plan,
    axis: Axis,
    cooker: Cooker,
    *,
    top: float,
    rows: list[list[Placement]],
    now: datetime | None,
    link: str = "",
) -> None:
    c.path("hairl", f"M0 {top - 1:.0f}H{WIDE:.0f}")
    c.symbol(cooker.nature.symbol, 0, top + 6, 40)
    c.text("t18 b", 50, top + 26, clip(cooker.name, 112, letter=9))
    c.text("t13 softt", 50, top + 44, formatting.size(cooker))
    for n, row in enumerate(rows):
        for p in row:
            if link:
                dish = event.dish(p.dish_id).name
                c.open_link(f"{link}{p.id}", dish + formatting.part(p))
            _bar(c, event, axis, p, top + 8 + n * ROW)
            if link:
                c.close_link()
    base = top + 8 + max(len(rows), 1) * ROW - 4
    for p in plan.placements:
        if p.then_cooker_id == cooker.id:
            _kept(c, event, axis, p, top + 8)
    future = [t for t in plan.turns if t.cooker_id == cooker.id and (now is None or t.at >= now)]
    for turn in plan.turns:
        if turn.cooker_id == cooker.id:
            x = axis.at(turn.at)
            if turn not in future:
                c.path("ink", f"M{x - 4:.1f} {base + 13:.0f}h8l-4-9z")
            elif now is not None and turn is future[0]:
                c.path("sunf edge2", f"M{x - 6:.1f} {base + 14:.0f}h12l-6-12z")
            else:
                c.path("white edge", f"M{x - 4:.1f} {base + 13:.0f}h8l-4-9z")
    if rows or all(p.then_cooker_id != cooker.id for p in plan.placements):
        _spare(c, plan, [p for row in rows for p in row], top)


def _spare(c: Canvas, plan: Plan, mine: list[Placement], top: float) -> None:
    if not mine:
        c.text("t13 softt", MARGIN_X, top + 25, "not used")
        return
    least = min(mine, key=lambda p: p.margin_min)
    c.text("t18 b", MARGIN_X, top + 25, f"{least.margin_min} min")
    late = [p for p in mine if p.cautious_at is None or p.cautious_at > p.served_at]
    if late:
        c.symbol("warn", MARGIN_X - 32, top + 8, 22)
    chances = {d.dish_id: d.of_100 for d in plan.risk.dishes} if plan.risk else {}
    if mine[0].dish_id in chances:
        least_of = min(chances[p.dish_id] for p in mine)
        _dots(c, least_of, MARGIN_X + 96, top + 19)
        c.text("t13 softt", MARGIN_X, top + 44, f"{least_of} of 100 skies")
    elif late:
        c.text("t13 b", MARGIN_X, top + 44, "late under a poor sky")
    else:
        c.text("t13 softt", MARGIN_X, top + 44, "holds under a poor sky")


def _dots(c: Canvas, of_100: int, x: float, y: float) -> None:
    """Draw a chance as ten dots; the half is a half."""
    for k in range(10):
        at = x + 9 * k
        if of_100 >= 10 * (k + 1):
            c.circle("ink", at, y, 3.8)
            continue
        c.circle("white edge", at, y, 3.2)
        if of_100 >= 10 * k + 5:
            c.path("ink", f"M{at:.1f} {y - 3.8:.1f}a3.8 3.8 0 0 0 0 7.6z")


def _bar(c: Canvas, event: Event, axis: Axis, p: Placement, y: float) -> None:
    base = y + BAR - 4
    height = BAR - 4
    load, hot, done, lift = (axis.at(t) for t in (p.loaded_at, p.hot_at, p.done_at, p.lifted_at))
    if p.preheat_at is not None:
        x = axis.at(p.preheat_at)
        c.path(
            "l15 dash",
            f"M{x:.1f} {base:.1f}V{base - height / 2:.1f}L{load:.1f} {y:.1f}V{base:.1f}Z",
        )
        c.text("t13", x + 6, base - 6, clip("empty, heating up", load - x - 8, letter=6.6))
    curve = " ".join(
        f"L{load + (hot - load) * k / RISE_STEPS:.1f} {base - height * rise(k / RISE_STEPS):.1f}"
        for k in range(RISE_STEPS + 1)
    )
    c.path("strawf", f"M{load:.1f} {base:.1f}{curve}V{base:.1f}Z")
    c.rect("sunf", hot, y, done - hot, height)
    c.rect("white", done, y, lift - done, height)
    c.rect("", done, y, lift - done, height, fill="url(#hatch)")
    c.path("l15", f"M{load:.1f} {base:.1f}{curve}H{max(lift, done):.1f}V{base:.1f}Z")
    c.path("l3", f"M{done:.1f} {y - 3:.1f}V{base:.1f}")
    slow = axis.at(p.cautious_at) if p.cautious_at else axis.high
    c.path(
        "l2",
        f"M{done:.1f} {y - 3:.1f}H{slow:.1f}"
        + (f"M{slow:.1f} {y - 7:.1f}v8" if p.cautious_at else ""),
    )
    dish = event.dish(p.dish_id)
    name = clip(dish.name + formatting.part(p), lift - load - 6, letter=8.6)
    c.text("t15 food straw", load + 6, base - 7, name)
    left = lift - load - 6 - len(name) * 8.6
    if name == dish.name + formatting.part(p) and left > 52:
        c.text(
            "t13 qty straw",
            load + 12 + len(name) * 8.0,
            base - 7,
            formatting.mass(event, p.mass_kg),
        )


def _kept(c: Canvas, event: Event, axis: Axis, p: Placement, y: float) -> None:
    x, end = axis.at(p.lifted_at), axis.at(p.served_at)
    c.rect("white", x, y, end - x, BAR - 4)
    c.rect("edge", x, y, end - x, BAR - 4, fill="url(#hatch)")
    dish = event.dish(p.dish_id)
    c.text("t15 food halo", x + 6, y + BAR - 12, clip(dish.name, end - x - 8, letter=8.6))


def _walks(c: Canvas, event: Event, plan: Plan, axis: Axis, top: float) -> float:
    c.text("t15 b", 0, top + 25, "Walks")
    c.text("t13 softt", 62, top + 25, "by one helper")
    ends = [LEFT - 30.0]
    for walk in plan.walks:
        x = axis.at(walk.at)
        row = next((k for k, end in enumerate(ends) if x - end >= 22), len(ends))
        if row == len(ends):
            ends.append(x)
        ends[row] = x
        c.circle("white edge2", x, top + 20 + 24 * row, 10)
        name = event.helper(walk.helper_id).name
        c.text("t13 b mid", x, top + 25 + 24 * row, name[:1].upper())
    names = ", ".join(h.name for h in event.helpers)
    c.text("t13 softt", MARGIN_X, top + 25, clip(names, 175, letter=7))
    return top + 20 + 24 * len(ends)
