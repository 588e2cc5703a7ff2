"""A cooker's lane on the day's picture: its batches as bars, its turns, what it has to spare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

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
from service.text import formatting
from solver.plan import Placement, Plan

WIDE, MARGIN_X = 1240.0, 1060.0
BAR, ROW = 32.0, 36.0
LETTER = 9.7  # a bold letter of 15 px in the widest of the system's serif fonts
GAP = 24.0  # between lanes, with room for the marks of turns


@dataclass(frozen=True)
class Lane:
    """A cooker, the rows of what is in it, and where its lane begins."""

    cooker: Cooker
    rows: list[list[Stay]]
    top: float

    @property
    def own(self) -> list[Placement]:
        """Return the batches that are loaded into it, row by row."""
        return [stay.batch for row in self.rows for stay in row if not stay.is_moved]

    @property
    def bottom(self) -> float:
        """Return where the next lane begins."""
        return self.top + max(len(self.rows), 1) * ROW + GAP


def lanes_of(event: Event, plan: Plan, top: float) -> list[Lane]:
    """Return a lane for each cooker, downwards; for an insulated box only where it is used."""
    lanes: list[Lane] = []
    for cooker in event.cookers:
        rows = rows_of(stays_of(plan, cooker.id))
        if cooker.keeps_heat_only and not rows:
            continue
        lanes.append(Lane(cooker, rows, lanes[-1].bottom if lanes else top))
    return lanes


def draw_lane(
    c: Canvas,
    event: Event,
    plan: Plan,
    lane: Lane,
    *,
    axis: Axis,
    now: datetime | None,
    link: str = "",
) -> None:
    """Draw a lane. With a `link` each batch leads to a page of its own."""
    cooker, top = lane.cooker, lane.top
    c.path("hairl", f"M0 {top - 1:.0f}H{WIDE:.0f}")
    c.symbol(cooker.nature.symbol, 0, top + 6, 40)
    kind, letter = ("t18 b", 9.0) if len(cooker.name) * 9 <= 112 else ("t15 b", 8.2)
    c.text(kind, 50, top + 26, clip(cooker.name, 112, letter=letter))
    c.text("t13 softt", 50, top + 44, formatting.size(cooker, event.units))
    for n, row in enumerate(lane.rows):
        for stay in row:
            y, batch = top + 8 + n * ROW, stay.batch
            if stay.is_moved:
                _kept_hot(c, event, axis, stay, y)
                continue
            if link:
                name = event.dish(batch.dish_id).name + formatting.part(batch)
                c.open_link(f"{link}{batch.id}", name)
            _bar(c, event, axis, batch, y)
            if link:
                c.close_link()
    _turns(c, plan, lane, axis, now)
    if lane.own or not lane.rows:
        _spare(c, plan, lane.own, top)


def _turns(c: Canvas, plan: Plan, lane: Lane, axis: Axis, now: datetime | None) -> None:
    """Mark every turn under the bars: filled once it is past, large where it is the next."""
    base = lane.top + 8 + max(len(lane.rows), 1) * ROW - 4
    turns = [t for t in plan.turns if t.cooker_id == lane.cooker.id]
    coming = [t for t in turns if now is None or t.at >= now]
    for turn in turns:
        x = axis.at(turn.at)
        if turn not in coming:
            c.path("ink", f"M{x - 4:.1f} {base + 13:.0f}h8l-4-9z")
        elif now is not None and turn is coming[0]:
            c.path("sunf edge2", f"M{x - 6:.1f} {base + 14:.0f}h12l-6-12z")
        else:
            c.path("white edge", f"M{x - 4:.1f} {base + 13:.0f}h8l-4-9z")


def _spare(c: Canvas, plan: Plan, batches: Sequence[Placement], top: float) -> None:
    if not batches:
        c.text("t13 softt", MARGIN_X, top + 25, "not used")
        return
    least = min(batches, key=lambda p: p.margin_min)
    c.text("t18 b", MARGIN_X, top + 25, f"{least.margin_min} min")
    late = [p for p in batches if p.cautious_at is None or p.cautious_at > p.served_at]
    if late:
        c.symbol("warn", MARGIN_X - 32, top + 8, 22)
    chances = {d.dish_id: d.of_100 for d in plan.risk.dishes} if plan.risk else {}
    if batches[0].dish_id in chances:
        least_of = min(chances[p.dish_id] for p in batches)
        draw_dots(c, least_of, MARGIN_X + 96, top + 19)
        c.text("t13 softt", MARGIN_X, top + 44, f"{least_of} of 100 skies")
    elif late:
        poor = "with a weak flame" if "burner" in late[0].route else "under a poor sky"
        c.text("t13 b", MARGIN_X, top + 44, f"late {poor}")
    elif all(p.route == "burner" for p in batches):
        c.text("t13 softt", MARGIN_X, top + 44, "on gas, whatever the sky")
    else:
        c.text("t13 softt", MARGIN_X, top + 44, "holds under a poor sky")


def draw_dots(c: Canvas, of_100: int, x: float, y: float, *, size: float = 1.0) -> None:
    """Draw a chance as ten dots; the half is a half."""
    full, open_r = 3.8 * size, 3.2 * size
    for k in range(10):
        at = x + 9 * size * k
        if of_100 >= 10 * (k + 1):
            c.circle("ink", at, y, full)
            continue
        c.circle("white edge", at, y, open_r)
        if of_100 >= 10 * k + 5:
            c.path("ink", f"M{at:.1f} {y - full:.1f}a{full:g} {full:g} 0 0 0 0 {2 * full:g}z")


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
    name = clip(dish.name + formatting.part(p), lift - load - 6, letter=LETTER)
    c.text("t15 food straw", load + 6, base - 7, name)
    left = lift - load - 6 - len(name) * LETTER
    if name == dish.name + formatting.part(p) and left > 52:
        c.text(
            "t13 qty straw",
            load + 8 + len(name) * LETTER,
            base - 7,
            formatting.mass(event, p.mass_kg),
        )


def _kept_hot(c: Canvas, event: Event, axis: Axis, stay: Stay, y: float) -> None:
    """Draw a pot that was moved here: to keep hot, or to be finished on a ring."""
    x, end = axis.at(stay.starts_at), axis.at(stay.ends_at)
    c.rect("white", x, y, end - x, BAR - 4)
    c.rect("edge", x, y, end - x, BAR - 4, fill="url(#hatch)")
    dish = event.dish(stay.batch.dish_id)
    c.text("t15 food halo", x + 6, y + BAR - 12, clip(dish.name, end - x - 8, letter=LETTER))
