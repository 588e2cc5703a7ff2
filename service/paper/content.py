"""Everything that goes on paper, as plain words and figures; the template only sets it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Literal, get_args

from events.model import Cooker, Event
from service.paper.duties import MealLook, meal_looks
from service.paper.lists import lists
from service.paper.rota import rota_facts
from service.paper.show import show_facts
from service.paper.station_card import Facts, aiming, clock_parts, station_card
from service.text import formatting, messages, notices, turn_orders
from service.text.cookers import caution
from service.text.run_sheet import RunSheetItem, items_of_helper, run_sheet_items, who_does
from service.text.sun import site_sun
from service.text.warnings import warning_lines
from solver.plan import Plan, SunStep

Part = Literal[
    "run-sheet", "helpers", "cards", "aiming", "rota", "show", "before", "food", "gas", "safety"
]
PARTS: tuple[Part, ...] = get_args(Part)


def needed_parts(event: Event) -> list[Part]:
    """Return the parts that a day needs on paper: what to show where somebody comes to see it."""
    site = event.site
    needs: dict[Part, bool] = {
        "rota": bool(event.groups),
        "show": bool(event.talks or event.groups or event.contest or site.visitors_from),
        "gas": any(c.on_gas for c in event.cookers),
    }
    return [part for part in PARTS if needs.get(part, True)]


def facts(
    event: Event,
    plan: Plan,
    *,
    parts: Sequence[Part] = PARTS,
    base_url: str = "",
    made_clock: str = "",
) -> Facts:
    """Return the paper of a plan. `base_url` gives the cards their codes, if any."""
    every = run_sheet_items(event, plan)
    return {
        "parts": [part for part in PARTS if part in parts],
        "title": event.title,
        "day": formatting.long_date(event.date),
        "plan": plan.event_id,
        "made": made_clock,
        "degrees": "°F" if event.units == "us" else "°C",
        "sun": [_column(event, s) for s in plan.sun],
        "site_sun": site_sun(event, plan.windows[0].stretches),
        "rows": _with_looks(event, plan, [(i.at, short_line(event, i)) for i in every], None),
        "helpers": [
            {
                "name": h.name,
                "hours": f"{formatting.hour(event, h.start)} to {formatting.hour(event, h.end)}",
                "rows": _with_looks(event, plan, [(i.at, line(event, i)) for i in items], h.id),
                "cautions": _cautions(items),
                "turns": any(item.turns for item in items),
            }
            for h in event.helpers
            if (items := items_of_helper(event, plan, h.id))
        ],
        "stations": [station_card(event, plan, c, base_url) for c in event.cookers],
        "aiming": aiming(event),
        "refused": [
            {
                "name": event.dish(u.dish_id).name,
                "why": " ".join(f"{where}: {why}" for where, why in notices.refusals(event, u)),
            }
            for u in plan.unplaced
        ],
        "warnings": [
            *warning_lines(event, plan.warnings),
            *(messages.PROBE, messages.CHILDREN, messages.BURNS, messages.LOCAL),
        ],
        "help": event.site.emergency,
        "burns": messages.BURNS,
        "tip": messages.tip(event),
        "no_shadow": messages.NO_SHADOW,
        "plan_of_ground": _ground(event, plan),
        "rota": rota_facts(event, plan),
        "show": show_facts(event, plan) if "show" in parts else [],
        **lists(event, plan),
    }


def _column(event: Event, step: SunStep) -> Facts:
    at = step.at.astimezone(event.zone)
    return {
        "clear": round(step.clear_w_m2 / 1000, 3),
        "beam": round(step.beam_w_m2 / 1000, 3),
        "blocked": step.blocked,
        "hour": formatting.clock(event, step.at) if at.minute == 0 else "",
    }


def line(event: Event, item: RunSheetItem) -> Facts:
    """Return one line of a run sheet, with how far each cooker is turned."""
    title, text = item.title, formatting.sentences((item.how, item.second))
    if item.kind == "walk":
        lines = turn_orders.turn_lines(event, item.turns)
        order = turn_orders.turn_order(event, item.turns[0])
        if len(lines) == 1:
            text = f": {order.short}; {order.shadow_short}"
        else:  # each cooker on a line of its own, named once
            title, text = "Turn", "".join(f"\n{line}" for line in lines)
    return {
        **clock_parts(event, item.at),
        "id": item.id,
        "who": who_does(event, item),
        "kind": item.kind,
        "title": title,
        "food": item.food,
        "text": text,
        "caution": item.caution,
        "reading": item.reading,
        "probes": [],
    }


def short_line(event: Event, item: RunSheetItem) -> Facts:
    """Return one line of the run sheet for all: how far to turn stands on cards."""
    if item.kind == "walk":
        return {**line(event, item), "title": item.title, "text": ""}
    parts = (item.how, item.second if item.reading or not item.turns else "")
    return {**line(event, item), "text": formatting.sentences(parts)}


def _with_looks(
    event: Event, plan: Plan, rows: Sequence[tuple[datetime, Facts]], helper_id: str | None
) -> list[Facts]:
    """Return lines with the last look before each meal among them, for all or for a helper."""
    looks = [(look.at, _look_line(event, look)) for look in meal_looks(event, plan, helper_id)]
    return [row for _, row in sorted((*rows, *looks), key=lambda timed: timed[0])]


def _look_line(event: Event, look: MealLook) -> Facts:
    return {
        **clock_parts(event, look.at),
        "id": f"look-{look.meal.id}",
        "who": ", ".join(h.name for h in look.helpers),
        "kind": "look",
        "title": f"Before {look.meal.name}:",
        "food": "",
        "text": " wash hands, probe every pot. What reads less is not served.",
        "caution": "",
        "reading": False,
        "probes": [{"food": d.name, "least": messages.probe_least(event, d)} for d in look.dishes],
    }


def _beware(item: RunSheetItem) -> Iterator[tuple[str, Cooker]]:
    """Yield each caution of a job or a walk with the cooker it is said of."""
    if item.kind == "walk":
        for turn, cooker in zip(item.turns, item.cookers, strict=True):
            yield from ((text, cooker) for text in turn_orders.turn_cautions(cooker, turn))
        return
    for cooker in item.cookers:
        if text := caution(cooker, item.kind):
            yield text, cooker


def _cautions(items: list[RunSheetItem]) -> list[str]:
    """Return what a helper must beware of, each with the cookers it is said of."""
    where: dict[str, dict[str, None]] = defaultdict(dict)
    for item in items:
        for text, cooker in _beware(item):
            where[text][cooker.name] = None
    return [f"{', '.join(sorted(names))}: {text}" for text, names in where.items()]


def _ground(event: Event, plan: Plan) -> Facts:
    """Return the stations on the ground, metres east and north, and which hours each has sun."""
    suns: dict[str, list[str]] = defaultdict(list)
    hours = []
    first = plan.sun[0].at
    at = first + timedelta(minutes=-first.minute % 60)
    while at < plan.sun[-1].at:
        hours.append(at)
        at += timedelta(hours=1)
    windows = {w.cooker_id: w.stretches for w in plan.windows}
    for station in event.stations:
        sunny = [c.id for c in event.cookers if c.station == station.id and c.id in windows]
        stretches = windows[sunny[0]] if sunny else plan.windows[0].stretches
        for hour in hours:
            lit = any(s.starts_at <= hour < s.ends_at for s in stretches)
            suns[station.id].append("sun" if lit else "shade")
    return {
        "hours": [formatting.clock(event, h) for h in hours],
        "stations": [
            {
                "name": s.name,
                "x": s.x_m,
                "y": s.y_m,
                "cookers": [c.name for c in event.cookers if c.station == s.id],
                "sun": suns[s.id],
            }
            for s in event.stations
        ],
    }
