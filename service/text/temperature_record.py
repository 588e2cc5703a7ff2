"""The temperature record: what the probes said, against which limit, and what was done."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from events.food_rules import clock_limit_min, least_middle_c, rules_of
from events.model import Dish, Event
from service.application.diary import DiaryEntry
from service.application.live_day import LiveDay
from service.text import formatting
from service.text.glossary import band
from solver.plan import Placement, Plan

HEAD = ("time", "food", "cooker", "reading_c", "limit_c", "ok", "who", "what was done", "rules")


@dataclass(frozen=True)
class RecordRow:
    """A reading that counts, or food thrown away."""

    at: datetime
    clock: str
    food: str
    cooker: str
    core_c: float | None
    limit_c: float | None
    due: bool  # read when the food was to be done, so that the limit holds
    who: str
    done: str

    @property
    def ok(self) -> bool:
        """Return whether the reading keeps its limit."""
        return self.core_c is not None and (self.limit_c is None or self.core_c >= self.limit_c)


@dataclass(frozen=True)
class Discard:
    """By when food that can spoil is thrown away, if it is not hot."""

    food: str
    by: str
    why: str


def reading_rows(event: Event, plan: Plan, entries: Sequence[DiaryEntry]) -> list[RecordRow]:
    """Return every reading that still counts, with its limit; discards too."""
    placed = {p.id: p for p in plan.placements}
    return [
        _row(event, placed.get(e.stored.entry.placement_id or ""), e)
        for e in entries
        if not e.undone
        and (e.stored.entry.core_c is not None or e.stored.entry.kind == "discarded")
    ]


def discard_rows(event: Event, plan: Plan, live_day: LiveDay) -> list[Discard]:
    """Return by when each hazardous pot is thrown away, if it is not hot."""
    used_min = {p.placement_id: p.clock_min for p in live_day.pots}
    return [
        _discard(event, p, used_min.get(p.id))
        for p in plan.placements
        if event.dish(p.dish_id).hazardous and p.id not in live_day.day_status.finished_ids
    ]


def record_csv(event: Event, plan: Plan, entries: Sequence[DiaryEntry]) -> str:
    """Return the record as CSV: temperatures in °C, times local."""
    rules = rules_of(event)
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(HEAD)
    for r in reading_rows(event, plan, entries):
        ok = "yes" if r.ok else "no" if r.due else "not yet"
        row = (r.clock, r.food, r.cooker, r.core_c, r.limit_c, ok, r.who, r.done, rules.edition)
        table.writerow([formatting.spreadsheet_cell(value) for value in row])
    return out.getvalue()


def _row(event: Event, placement: Placement | None, written: DiaryEntry) -> RecordRow:
    stored, entry = written.stored, written.stored.entry
    cookers = {c.id: c.name for c in event.cookers}
    helpers = {h.id: h.name for h in event.helpers}
    due = placement is not None and stored.happened_at >= placement.done_at
    dish = event.dish(placement.dish_id) if placement else None
    cooker_id = entry.cooker_id or (placement.cooker_id if placement else "")
    return RecordRow(
        at=stored.happened_at,
        clock=formatting.clock(event, stored.happened_at),
        food=dish.name + formatting.part(placement) if dish and placement else written.food,
        cooker=cookers.get(cooker_id, ""),
        core_c=entry.core_c,
        limit_c=_limit_c(event, dish, due=due),
        due=due,
        who=helpers.get(entry.helper_id or "", ""),
        done="thrown away" if entry.kind == "discarded" else entry.note,
    )


def _limit_c(event: Event, dish: Dish | None, *, due: bool) -> float | None:
    """Return what the food must have: its middle while it cooks, hot holding once it is done."""
    if dish is None or not dish.hazardous:
        return None
    return rules_of(event).hot_holding_c if due else least_middle_c(event, dish)


def _discard(event: Event, placement: Placement, so_far_min: int | None) -> Discard:
    """Return by when a pot is thrown away; what has not begun goes by the plan."""
    used_min = placement.between_5_and_60_min if so_far_min is None else so_far_min
    rules, dish = rules_of(event), event.dish(placement.dish_id)
    limit_min = clock_limit_min(event, dish)
    by = placement.served_at + timedelta(minutes=max(0, limit_min - used_min))
    told = "go by the plan" if so_far_min is None else "are used"
    why = f"{used_min} of {limit_min} min at {band(event)} {told}"
    if rules.hot_holding_c:
        why += f"; counts on while it is under {formatting.temp(event, rules.hot_holding_c)}"
    food = dish.name + formatting.part(placement)
    return Discard(food, formatting.clock(event, by), why)
