"""The day as a calendar (RFC 5545) and the run sheet as CSV."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, time, timedelta

from icalendar import Alarm, Calendar
from icalendar import Event as Entry

from events.model import Event
from service.application.calendar_edition import NO_POSTS, CalendarEdition, Work, work_of
from service.text import formatting, turn_orders
from service.text.run_sheet import (
    RunSheetItem,
    helper_names,
    items_of_helper,
    run_sheet_items,
    who_does,
)
from solver.plan import EVERYBODY, Plan
from solver.programme import posts_of

ALARM_MIN = 5
REFRESH = timedelta(minutes=5)  # how often those who subscribe are asked to look again
UNPUBLISHED = CalendarEdition()  # a file that is carried away and follows no plan
HEAD = ("at", "utc", "minutes", "who", "kind", "cooker", "do", "how", "second", "caution")


def calendar(
    event: Event,
    plan: Plan,
    *,
    name: str,
    helper_id: str | None = None,
    edition: CalendarEdition = UNPUBLISHED,
) -> bytes:
    """Return one helper's work, or the whole day, as calendar entries in UTC.

    An entry's UID holds no time: it stays the same while the plan changes. Sequence and stamp are
    the edition's; what is gone since an earlier edition is cancelled.
    """
    days = Calendar()
    days.add("prodid", "-//Noonfare//day plan//EN")
    days.add("version", "2.0")
    days.add("method", "PUBLISH")
    whose = f"{event.title}: {event.helper(helper_id).name}" if helper_id else event.title
    days.add("name", whose)
    days.add("x-wr-calname", whose)
    days.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    days.add("x-published-ttl", REFRESH)
    feed = f"{helper_id or 'all'}@{name}.noonfare"
    posts = posts_of(event, helper_id) if helper_id else NO_POSTS
    keys = {work.id: work.key for work in work_of(plan, helper_id, posts)}
    items = items_of_helper(event, plan, helper_id) if helper_id else run_sheet_items(event, plan)
    items = [item for item in items if item.id in keys]  # looks are asked for by the phone's page
    for item in items:
        days.add_component(_entry(event, item, f"{keys[item.id]}.{feed}", edition))
    shown = {keys[item.id] for item in items}
    for work in (w for w in edition.earlier if w.key not in shown):
        days.add_component(_cancelled(event, work, f"{work.key}.{feed}", edition))
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


def _entry(event: Event, item: RunSheetItem, uid: str, edition: CalendarEdition) -> Entry:
    entry = _stamped(event, uid, edition)
    entry.add("dtstart", item.at.astimezone(UTC))
    entry.add("dtend", item.ends_at.astimezone(UTC))
    entry.add("status", "CONFIRMED")
    entry.add("summary", _summary(item))
    lines = (helper_names(event, item), *_orders(event, item), item.caution)
    entry.add("description", "\n".join(line for line in lines if line))
    entry.add("location", _place(event, item))
    entry.add("geo", (event.site.latitude_deg, event.site.longitude_deg))
    if item.kind not in (*EVERYBODY, "rescue"):
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", _summary(item))
        alarm.add("trigger", timedelta(minutes=-ALARM_MIN))
        entry.add_component(alarm)
    return entry


def _cancelled(event: Event, work: Work, uid: str, edition: CalendarEdition) -> Entry:
    entry = _stamped(event, uid, edition)
    entry.add("dtstart", work.starts_at.astimezone(UTC))
    entry.add("dtend", work.ends_at.astimezone(UTC))
    entry.add("status", "CANCELLED")
    entry.add("summary", "No longer to do")
    return entry


def _stamped(event: Event, uid: str, edition: CalendarEdition) -> Entry:
    entry = Entry()
    entry.add("uid", uid)
    # One stamp for the whole plan: the same plan gives the same bytes.
    made_at = edition.made_at or datetime.combine(event.date, time(0), tzinfo=UTC)
    entry.add("dtstamp", made_at.astimezone(UTC))
    entry.add("last-modified", made_at.astimezone(UTC))
    entry.add("sequence", edition.number)
    return entry


def _place(event: Event, item: RunSheetItem) -> str:
    """Return where an item is done: its stations, and the site."""
    stations = [event.station(c.station).name for c in item.cookers if c.station]
    return ", ".join(part for part in (*dict.fromkeys(stations), event.site.name) if part)


def _orders(event: Event, item: RunSheetItem) -> tuple[str, str]:
    """Return how an item is done; of a walk, the turn of each cooker."""
    if item.kind == "walk":
        return ". ".join(turn_orders.turn_lines(event, item.turns)), ""
    return item.how, item.second


def _summary(item: RunSheetItem) -> str:
    return f"{item.title} {item.food}".strip()
