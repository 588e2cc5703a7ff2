"""One self-contained page for each helper and each station: no outside files, works in flight mode.

Sent the evening before. Its countdown goes by the phone's own clock; without scripts it is the
same list in time order.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from events.model import Cooker, Event, Helper
from service.charts.turn import turn_picture
from service.paper.calendar import calendar, run_sheet_csv
from service.paper.content import line
from service.paper.station_card import Facts, station_card
from service.text import formatting, messages
from service.text.run_sheet import RunSheetItem, items_of_cooker, items_of_helper
from service.text.turn_orders import turn_order
from service.text.warnings import warning_lines
from solver.plan import Plan, Turn

_web = files("service") / "web"
_templates = Environment(
    loader=FileSystemLoader([str(_web / "templates"), str(_web / "static")]),  # for the sheet
    autoescape=select_autoescape(),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)

UTC_FORM = "%Y-%m-%dT%H:%M:%SZ"


@dataclass(frozen=True)
class _Sent:
    """What one page holds: whose it is, their things to do, and a station's cautions and loads."""

    name: str
    sub: str
    items: list[RunSheetItem]
    cautions: Sequence[str] = ()
    loads: Sequence[dict[str, object]] = ()


def pages(event: Event, plan: Plan, *, made_at: datetime | None = None) -> dict[str, str]:
    """Return file name → page, for every helper and every station."""
    sent = {f"helper-{h.id}.html": _helper(event, plan, h) for h in event.helpers}
    for cooker in event.cookers:
        sent[f"station-{cooker.id}.html"] = _station(event, plan, cooker)
    return {file: _page(event, plan, page, made_at) for file, page in sent.items()}


def _helper(event: Event, plan: Plan, helper: Helper) -> _Sent:
    hours = f"{formatting.hour(event, helper.start)} to {formatting.hour(event, helper.end)}."
    return _Sent(helper.name, hours, items_of_helper(event, plan, helper.id))


def _station(event: Event, plan: Plan, cooker: Cooker) -> _Sent:
    items, station = items_of_cooker(event, plan, cooker), station_card(event, plan, cooker, "")
    cautions, loads = station["cautions"], station["loads"]
    assert isinstance(cautions, list)
    assert isinstance(loads, list)
    place = f"{station['place']}, {station['size']}." if station["place"] else ""
    return _Sent(cooker.name, place, items, cautions, loads)


def _page(event: Event, plan: Plan, sent: _Sent, made_at: datetime | None) -> str:
    foot = [
        *warning_lines(event, plan.warnings),
        *(messages.PROBE, messages.CHILDREN, messages.BURNS, messages.LOCAL),
    ]
    if event.site.emergency:
        foot.append(f"Help: {event.site.emergency}")
    return _templates.get_template("standalone.html").render(
        name=sent.name,
        title=event.title,
        day=formatting.long_date(event.date),
        sub=sent.sub,
        plan=plan.event_id,
        made=formatting.day_clock(event, made_at) if made_at else "",
        made_at=made_at.astimezone(UTC).strftime(UTC_FORM) if made_at else "",
        tip=messages.tip(event) if any(item.turns for item in sent.items) else "",
        rows=_rows(event, sent.items),
        cautions=sent.cautions,
        loads=sent.loads,
        degrees="°F" if event.units == "us" else "°C",
        foot=foot,
    )


def _rows(event: Event, items: list[RunSheetItem]) -> list[Facts]:
    """Return what is to be done, with instants for the countdown, and where an hour begins."""
    rows: list[Facts] = []
    hour: object = None
    for item in items:
        row = line(event, item)
        utc, end = (t.astimezone(UTC).strftime(UTC_FORM) for t in (item.at, item.ends_at))
        how = [] if item.kind == "walk" else [part for part in (item.how, item.second) if part]
        rows.append(
            {
                **row,
                "title": item.title,
                "how": ". ".join(how),
                "caution": "" if len(item.turns) > 1 else item.caution,
                "turns": [_turn(event, turn) for turn in item.turns],
                "utc": utc,
                "end": end,
                "new": row["hour"] != hour,
            }
        )
        hour = row["hour"]
    return rows


def _turn(event: Event, turn: Turn) -> Facts:
    """Return how one cooker is turned, with its picture."""
    return {"order": turn_order(event, turn), "picture": turn_picture(event, turn)}


def write_pages(
    event: Event, plan: Plan, folder: Path, *, name: str, made_at: datetime | None = None
) -> list[Path]:
    """Write every page, the run sheet as CSV and the calendars; return what was written."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for file, data in _all(event, plan, name=name, made_at=made_at).items():
        (folder / file).write_bytes(data)
        written.append(folder / file)
    return written


def packed(event: Event, plan: Plan, *, name: str, made_at: datetime | None = None) -> bytes:
    """Return all of it as a ZIP, the same bytes for the same plan."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for file, data in _all(event, plan, name=name, made_at=made_at).items():
            archive.writestr(zipfile.ZipInfo(file, (1980, 1, 1, 0, 0, 0)), data)
    return out.getvalue()


def _all(event: Event, plan: Plan, *, name: str, made_at: datetime | None) -> dict[str, bytes]:
    out = {file: page.encode() for file, page in pages(event, plan, made_at=made_at).items()}
    out["run-sheet.csv"] = run_sheet_csv(event, plan).encode()
    out["day.ics"] = calendar(event, plan, name=name)
    for h in event.helpers:
        out[f"helper-{h.id}.ics"] = calendar(event, plan, name=name, helper_id=h.id)
    return out
