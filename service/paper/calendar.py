"""The day as a calendar (RFC 5545) and the run sheet as CSV."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, time, timedelta

from icalendar import Alarm, Calendar
from icalendar import Event as Entry

from events.model import Event
from service.text import formatting, turn_orders
from service.text.run_sheet import RunSheetItem, helper_names, run_sheet_items, who_does
from solver.plan import EVERYBODY, Plan

ALARM_MIN = 5
HEAD = ("at", "utc", "minutes", "who", "kind", "cooker", "do", "how", "second", "caution")


def calendar(event: Event, plan: Plan, *, name: str, helper_id: str | None = None) -> bytes:
    """Return the jobs as calendar entries in UTC; a job keeps its UID when the plan changes."""
    days = Calendar()
    days.add("prodid", "-//Noonfare//day plan//EN")
    days.add("version", "2.0")
    days.add("x-wr-calname", event.title)
    for item in run_sheet_items(event, plan):
        if helper_id is None or helper_id in item.helper_ids or item.kind in EVERYBODY:
            days.add_component(_entry(event, item, name))
    written = days.to_ical()
    assert isinstance(written, bytes)
    return written


def run_sheet_csv(event: Event, plan: Plan) -> str:
    """Return the run sheet as CSV: one line for each thing to do; no cell starts a formula."""
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(HEAD)
    for item in run_sheet_items(event, plan):
        cells = (
            formatting.clock(event, item.at),
            item.at.astimezone(UTC).isoformat(),
            round((item.ends_at - item.at).total_seconds() / 60),
            who_does(event, item),
            item.kind,
            ", ".join(c.name for c in item.cookers),
            _summary(item),
            *_orders(event, item),
            item.caution,
        )
        table.writerow([formatting.spreadsheet_cell(cell) for cell in cells])
    return out.getvalue()


def _entry(event: Event, item: RunSheetItem, name: str) -> Entry:
    entry = Entry()
    entry.add("uid", f"{item.id}@{name}.noonfare")
    # One stamp for the whole plan: the same plan gives the same bytes.
    entry.add("dtstamp", datetime.combine(event.date, time(0), tzinfo=UTC))
    entry.add("dtstart", item.at.astimezone(UTC))
    entry.add("dtend", item.ends_at.astimezone(UTC))
    entry.add("summary", _summary(item))
    lines = (helper_names(event, item), *_orders(event, item), item.caution)
    entry.add("description", "\n".join(line for line in lines if line))
    if item.kind not in (*EVERYBODY, "rescue"):
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", _summary(item))
        alarm.add("trigger", timedelta(minutes=-ALARM_MIN))
        entry.add_component(alarm)
    return entry


def _orders(event: Event, item: RunSheetItem) -> tuple[str, str]:
    """Return how an item is done; of a walk, the turn of each cooker."""
    if item.kind == "walk":
        return ". ".join(turn_orders.turn_lines(event, item.turns)), ""
    return item.how, item.second


def _summary(item: RunSheetItem) -> str:
    return f"{item.title} {item.food}".strip()
