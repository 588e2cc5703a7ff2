"""The day as a calendar (RFC 5545) and the run sheet as CSV."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, time, timedelta

from icalendar import Alarm, Calendar
from icalendar import Event as Entry

from events.model import Event
from service.text import formatting, turn_orders
from service.text.run_sheet import RunSheetItem, run_sheet_items
from solver.plan import EVERYBODY, Plan

ALARM_MIN = 5


def calendar(event: Event, plan: Plan, *, name: str, helper_id: str | None = None) -> bytes:
    """Return the jobs as calendar entries in UTC; a job keeps its UID when the plan changes."""
    out = Calendar()
    out.add("prodid", "-//Noonfare//day plan//EN")
    out.add("version", "2.0")
    out.add("x-wr-calname", event.title)
    # One stamp for the whole plan: the same plan gives the same bytes.
    stamp = datetime.combine(event.date, time(0), tzinfo=UTC)
    for d in run_sheet_items(event, plan):
        if helper_id is not None and helper_id not in d.helper_ids and d.kind not in EVERYBODY:
            continue
        entry = Entry()
        entry.add("uid", f"{d.id}@{name}.noonfare")
        entry.add("dtstamp", stamp)
        entry.add("dtstart", d.at.astimezone(UTC))
        entry.add("dtend", d.ends_at.astimezone(UTC))
        entry.add("summary", f"{d.title} {d.food}".strip())
        told = [t for t in (*_orders(event, d), d.caution) if t]
        who = ", ".join(h.name for h in event.helpers if h.id in d.helper_ids)
        entry.add("description", "\n".join([who, *told] if who else told))
        if d.kind not in (*EVERYBODY, "rescue"):
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", f"{d.title} {d.food}".strip())
            alarm.add("trigger", timedelta(minutes=-ALARM_MIN))
            entry.add_component(alarm)
        out.add_component(entry)
    written = out.to_ical()
    assert isinstance(written, bytes)
    return written


def _orders(event: Event, d: RunSheetItem) -> tuple[str, str]:
    """Return how a job is done; of a walk, the turn of each cooker."""
    if d.kind == "walk":
        return ". ".join(turn_orders.turn_lines(event, d.turns)), ""
    return d.how, d.second


def run_sheet_csv(event: Event, plan: Plan) -> str:
    """Return the run sheet as CSV: one line for each thing to do; no cell starts a formula."""
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(
        ["at", "utc", "minutes", "who", "kind", "cooker", "do", "how", "second", "caution"]
    )
    for d in run_sheet_items(event, plan):
        who = (
            "all"
            if d.kind in EVERYBODY
            else ", ".join(h.name for h in event.helpers if h.id in d.helper_ids)
        )
        cells = [
            formatting.clock(event, d.at),
            d.at.astimezone(UTC).isoformat(),
            str(round((d.ends_at - d.at).total_seconds() / 60)),
            who,
            d.kind,
            ", ".join(c.name for c in d.cookers),
            f"{d.title} {d.food}".strip(),
            *_orders(event, d),
            d.caution,
        ]
        table.writerow([formatting.spreadsheet_cell(cell) for cell in cells])
    return out.getvalue()
