"""The temperature record: what the probes said, against which limit, and what was done."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

from events.model import Event
from service.application.desk import Written
from service.application.live_day import LiveDay
from service.text import formatting
from service.text.glossary import band
from solver.plan import Plan
from solver.policy import CLOCK_LIMIT_MIN
from solver.thermal.food import FOOD_RULES

HEAD = ("time", "food", "cooker", "reading_c", "limit_c", "ok", "who", "what was done", "rules")


def reading_rows(event: Event, plan: Plan, entries: list[Written]) -> list[dict[str, object]]:
    """Return every reading that still counts, with its limit; discards too."""
    rules = FOOD_RULES[event.site.food_rules]
    placed = {p.id: p for p in plan.placements}
    cookers = {c.id: c.name for c in event.cookers}
    helpers = {h.id: h.name for h in event.helpers}
    out: list[dict[str, object]] = []
    for w in entries:
        e = w.kept.entry
        p = placed.get(e.placement_id or "")
        if w.undone or (e.core_c is None and e.kind != "discarded"):
            continue
        dish = event.dish(p.dish_id) if p else None
        done = p is not None and w.kept.happened_at >= p.done_at
        limit = None
        if dish is not None and dish.hazardous:
            limit = rules.hot_holding_c if done else max(rules.middle_c, dish.core_c or 0.0)
        out.append(
            {
                "at": w.kept.happened_at,
                "clock": formatting.clock(event, w.kept.happened_at),
                "food": (dish.name + formatting.part(p)) if dish and p else w.food,
                "cooker": cookers.get(e.cooker_id or (p.cooker_id if p else ""), ""),
                "core_c": e.core_c,
                "limit_c": limit,
                "ok": e.core_c is not None and (limit is None or e.core_c >= limit),
                "due": done,
                "who": helpers.get(e.helper_id or "", ""),
                "done": "thrown away" if e.kind == "discarded" else e.note,
            }
        )
    return out


def discard_rows(event: Event, plan: Plan, running: LiveDay) -> list[tuple[str, str, str]]:
    """Return (food, by when it is thrown away if it is not hot, why) of hazardous pots."""
    clocks = {p.placement_id: p.clock_min for p in running.pots}
    rules = FOOD_RULES[event.site.food_rules]
    out = []
    for p in plan.placements:
        dish = event.dish(p.dish_id)
        if not dish.hazardous or p.id in running.day_status.finished_ids:
            continue
        used = clocks.get(p.id, p.between_5_and_60_min)
        by = p.served_at + timedelta(minutes=max(0, CLOCK_LIMIT_MIN - used))
        why = f"{used} of {CLOCK_LIMIT_MIN} min at {band(event)} are used"
        if rules.hot_holding_c:
            why += f"; counts on while it is under {formatting.temp(event, rules.hot_holding_c)}"
        out.append((dish.name + formatting.part(p), formatting.clock(event, by), why))
    return out


def record_csv(event: Event, plan: Plan, entries: list[Written]) -> str:
    """Return the record as CSV: temperatures in °C, times local."""
    rules = FOOD_RULES[event.site.food_rules]
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(HEAD)
    for r in reading_rows(event, plan, entries):
        ok = "yes" if r["ok"] else "no" if r["due"] else "not yet"
        row = (r["clock"], r["food"], r["cooker"], r["core_c"], r["limit_c"], ok, r["who"])
        rows.writerow([_plain(v) for v in (*row, r["done"], rules.edition)])
    return out.getvalue()


def _plain(value: object) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    text = "" if value is None else str(value)
    return f"'{text}" if text[:1] in "=+-@\t\r" else text
