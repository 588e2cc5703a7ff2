"""The day on a desk: the sun's strength over a lane for each cooker, time running right."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from markupsafe import Markup

from events.diary import Cloud, cloud_over
from events.model import Event
from service.charts.canvas import Axis, Canvas, clip
from service.charts.day_lane import MARGIN_X, WIDE, draw_lane, lanes_of
from service.text import formatting
from service.text.clouds import cloud_stretch
from solver.live.availability import CLOUD_LEFT
from solver.plan import Plan, Stretch, SunStep

LEFT, RIGHT = 168.0, 1030.0
SUN_TOP, SUN_BASE = 20.0, 98.0  # 1000 W/m² and 0
STEP = timedelta(minutes=10)  # of the sun's columns
SMALL = 7.4  # of 13 px
BOLD = 9.2  # a bold letter of 14 px in the widest of the system fonts
LANES_FROM = 137.0


def axis_of(plan: Plan, low: float, high: float) -> Axis:
    """Return the day's axis: from the first to the last of the sun's columns."""
    grain = timedelta(minutes=30)
    first, last = plan.sun[0].at, plan.sun[-1].at + STEP
    first -= timedelta(minutes=first.minute % 30)
    rest = timedelta(minutes=last.minute % 30)
    return Axis(first, last + (grain - rest if rest else timedelta()), low, high)


def beam_seen_w_m2(step: SunStep, clouds: Sequence[Cloud]) -> float:
    """Return the beam of a column: as forecast, or what a reported cloud leaves of it."""
    if cloud_over(clouds, step.at + STEP / 2) is None:
        return step.beam_w_m2
    return min(step.beam_w_m2, CLOUD_LEFT * step.clear_w_m2)


def day_wide(
    event: Event,
    plan: Plan,
    now: datetime | None,
    *,
    link: str = "",
    clouds: Sequence[Cloud] = (),
) -> Markup:
    """Return the day's picture for wide screens; `now` is None on another day.

    With a `link` each batch leads to a page of its own.
    """
    c, axis = Canvas(), axis_of(plan, LEFT, RIGHT)
    _sun(c, event, plan, axis, clouds)
    lanes = lanes_of(event, plan, LANES_FROM)
    bottom = lanes[-1].bottom if lanes else LANES_FROM
    _programme(c, event, plan, axis, bottom)
    for lane in lanes:
        draw_lane(c, event, plan, lane, axis=axis, now=now, link=link)
    c.path("l2", f"M0 {bottom:.0f}H{WIDE:.0f}")
    height = (_walks(c, event, plan, axis, bottom) if plan.walks else bottom) + 44
    _hours(c, event, axis, now, base=height - 26)
    label = (
        f"{len(event.cookers)} cookers from {formatting.clock(event, axis.start)} to "
        f"{formatting.clock(event, axis.end)} under the strength of the sun. "
        "The same figures are in the table below."
    )
    return c.svg(WIDE, height, label, role="group" if link else "img")


def _hours(c: Canvas, event: Event, axis: Axis, now: datetime | None, *, base: float) -> None:
    """Draw the hours under everything, and the time now through it."""
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


def _sun(c: Canvas, event: Event, plan: Plan, axis: Axis, clouds: Sequence[Cloud]) -> None:
    c.text("t15 b", 0, 34, "Strength of the sun")
    notes = ("filled: as forecast", "outline: if no cloud", "ruled: too low, or shade")
    for k, note in enumerate(notes):
        c.text("t13 softt", 0, 52 + 17 * k, note)
    for watts in (500, 1000):
        y = SUN_BASE - (SUN_BASE - SUN_TOP) * watts / 1000
        c.path("hairl dots", f"M148 {y:.0f}H{RIGHT:.0f}")
        c.text("t13 softt", RIGHT + 8, y + 5, f"{watts} W/m²")
    for step in plan.sun:
        _column(c, step, axis, beam_seen_w_m2(step, clouds))
    for cloud in clouds:
        _cloud(c, event, cloud, axis)
    c.path("l2", f"M148 {SUN_BASE:.0f}H{RIGHT:.0f}")
    stretches = plan.windows[0].stretches
    if not stretches:
        c.text("t15 b halo mid", (LEFT + RIGHT) / 2, 16, "No usable sun on this day")
    for n, s in enumerate(stretches):
        _usable(c, event, s, axis, again=n > 0)


def _usable(c: Canvas, event: Event, sunny: Stretch, axis: Axis, *, again: bool) -> None:
    """Mark from when to when the sun is of use: at both ends, or by one label where it is short."""
    from_x, to_x = axis.at(sunny.starts_at), axis.at(sunny.ends_at)
    start, end = (formatting.clock(event, at) for at in (sunny.starts_at, sunny.ends_at))
    begins, ends = sunny.starts_at > axis.start, sunny.ends_at < axis.end
    if begins:
        c.path("l3", f"M{from_x + 7:.1f} 12H{from_x:.1f}V{SUN_BASE:.0f}")
    if ends:
        c.path("l3", f"M{to_x - 7:.1f} 12H{to_x:.1f}V{SUN_BASE:.0f}")
    first, last = f"sun {'again ' if again else ''}from {start}", f"sun until {end}"
    if begins and ends and (len(first) + len(last)) * SMALL + 40 > to_x - from_x:
        whole = f"sun {start}–{end}"
        if len(whole) * SMALL + 30 <= to_x - from_x:
            c.text("t13 b halo mid", (from_x + to_x) / 2, 16, whole)
        else:
            c.text("t13 b halo", to_x + 6, 16, whole)
        return
    if begins:
        c.text("t13 b halo", from_x + 12, 16, first)
    if ends:
        c.text("t13 b halo end", to_x - 12, 16, last)


def _cloud(c: Canvas, event: Event, cloud: Cloud, axis: Axis) -> None:
    """Draw a reported cloud over the columns that it darkens, with how long it lasts."""
    x, end = axis.at(cloud.starts_at), axis.at(cloud.ends_at)
    if end - x < 1:
        return
    c.rect("edge", x, SUN_TOP + 4, end - x, 16, fill="url(#hatch)")
    right = x > (LEFT + RIGHT) / 2
    c.text(
        "t13 b halo end" if right else "t13 b halo",
        end if right else x,
        SUN_TOP + 34,
        cloud_stretch(event, cloud),
    )


def _column(c: Canvas, step: SunStep, axis: Axis, beam_w_m2: float) -> None:
    x = axis.at(step.at) + 1
    w = axis.at(step.at + STEP) - x - 1
    scale = (SUN_BASE - SUN_TOP) / 1000
    clear, beam = step.clear_w_m2 * scale, beam_w_m2 * scale
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
            wide = len(name) * BOLD + 14
            left = x if x + wide < MARGIN_X else x - wide  # never over what stands in the margin
            c.rect("ink", left, 104, wide, 24)
            c.text("t14 b inv", left + 7, 121, name)


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
    walkers = {walk.helper_id for walk in plan.walks}
    names = ", ".join(h.name for h in event.helpers if h.id in walkers)
    c.text("t13 softt", MARGIN_X, top + 25, clip(names, 175, letter=7))
    return top + 20 + 24 * len(ends)
