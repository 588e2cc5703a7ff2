"""One self-contained page for each helper and each station: no outside files, works in flight mode.

Sent the evening before. Its countdown goes by the phone's own clock; without scripts it is the
same list in time order.
"""

from __future__ import annotations

import io
import zipfile
from datetime import UTC
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from events.model import Event
from service.paper.calendar import calendar, run_sheet_csv
from service.paper.content import facts, line
from service.text import formatting, notices
from service.text import messages as words
from service.text.run_sheet import RunSheetItem, items_of_helper, run_sheet_items
from solver.plan import Plan

_templates = Environment(
    loader=FileSystemLoader(str(files("service") / "web" / "templates")),
    autoescape=select_autoescape(),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def pages(event: Event, plan: Plan, *, made: str = "") -> dict[str, str]:
    """Return file name → page, for every helper and every station."""
    out = {}
    told = facts(event, plan, made=made)
    for h in event.helpers:
        hours = f"{formatting.hour(event, h.start)} to {formatting.hour(event, h.end)}."
        rows = items_of_helper(event, plan, h.id)
        out[f"helper-{h.id}.html"] = _page(event, plan, h.name, rows, sub=hours, made=made)
    stations = told["stations"]
    assert isinstance(stations, list)
    for c, station in zip(event.cookers, stations, strict=True):
        rows = [d for d in run_sheet_items(event, plan) if c in d.cookers and d.kind != "rescue"]
        place = f"{station['place']}, {station['size']}." if station["place"] else ""
        out[f"station-{c.id}.html"] = _page(
            event,
            plan,
            c.name,
            rows,
            sub=place,
            made=made,
            cautions=station["cautions"],
            loads=station["loads"],
        )
    return out


def _page(
    event: Event,
    plan: Plan,
    name: str,
    rows: list[RunSheetItem],
    *,
    sub: str,
    made: str,
    cautions: list[str] | None = None,
    loads: list[dict[str, object]] | None = None,
) -> str:
    told = []
    hour = -1
    for d in rows:
        row = line(event, d)
        text = str(row["text"]).lstrip(".: ")
        utc, end = (t.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ") for t in (d.at, d.ends_at))
        told.append({**row, "text": text, "utc": utc, "end": end, "new": row["hour"] != hour})
        hour = int(str(row["hour"]))
    foot = [
        *(notices.warning(event, w) for w in plan.warnings),
        words.PROBE,
        words.CHILDREN,
        words.BURNS,
        words.LOCAL,
    ]
    if event.site.emergency:
        foot.append(f"Help: {event.site.emergency}")
    return _templates.get_template("alone.html").render(
        name=name,
        title=event.title,
        day=formatting.long_date(event.date),
        sub=sub,
        plan=plan.event_id,
        made=made,
        rows=told,
        cautions=cautions or [],
        loads=loads or [],
        degrees="°F" if event.units == "us" else "°C",
        foot=foot,
    )


def write_pages(event: Event, plan: Plan, folder: Path, *, name: str, made: str = "") -> list[Path]:
    """Write every page, the run sheet as CSV and the calendars; return what was written."""
    folder.mkdir(parents=True, exist_ok=True)
    out = []
    for file, data in _all(event, plan, name=name, made=made).items():
        (folder / file).write_bytes(data)
        out.append(folder / file)
    return out


def packed(event: Event, plan: Plan, *, name: str, made: str = "") -> bytes:
    """Return all of it as a ZIP, the same bytes for the same plan."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for file, data in _all(event, plan, name=name, made=made).items():
            archive.writestr(zipfile.ZipInfo(file, (1980, 1, 1, 0, 0, 0)), data)
    return out.getvalue()


def _all(event: Event, plan: Plan, *, name: str, made: str) -> dict[str, bytes]:
    out = {file: page.encode() for file, page in pages(event, plan, made=made).items()}
    out["run-sheet.csv"] = run_sheet_csv(event, plan).encode()
    out["day.ics"] = calendar(event, plan, name=name)
    for h in event.helpers:
        out[f"helper-{h.id}.ics"] = calendar(event, plan, name=name, helper_id=h.id)
    return out
