"""Versions: every plan with what changed in it, any two side by side, and the way back."""

from __future__ import annotations

from datetime import date, time
from itertools import groupby
from typing import Annotated

from fastapi import Query, Response

from events.differences import Difference, differences
from events.errors import NotFound
from events.model import Event
from service.application.versions import PlannedVersion
from service.charts.day_timeline import day_wide
from service.dependencies import Name, ServicesDep
from service.forms.fields import shown
from service.forms.table_fields import EVENT, ROWS, SINGLES, SITE
from service.forms.us_units import fields_of, in_units
from service.text import formatting
from service.text.verdict import short_verdict
from service.web.context import PageContextDep
from service.web.form_data import FormFields
from service.web.plan_differences import comparison_rows
from service.web.rendering import page_router, see_other

router = page_router()
SAID_MOST = 5  # differences said in a row of the list; the rest are counted
Number = Annotated[int, Query(ge=0)]


@router.get("/e/{name}/versions")
def versions(context: PageContextDep, services: ServicesDep) -> Response:
    """Show every plan, what changed in it and how good it was, with the way back."""
    rows = [_row(v) for v in services.versions.planned(context.name)]
    return context.page(
        "versions.html", page_path="/versions", rows=rows, in_use=context.in_force.version
    )


@router.post("/e/{name}/versions/{number}")
def go_back(name: Name, number: int, services: ServicesDep, form: FormFields) -> Response:
    """Make an older version the newest; it is planned again."""
    services.versions.go_back(name, number, etag=form.get("etag"))
    return see_other(f"/e/{name}")


@router.get("/e/{name}/compare")
def compare(
    context: PageContextDep, services: ServicesDep, old: Number = 0, new: Number = 0
) -> Response:
    """Show two plans side by side: the present one and the one before, unless others are named."""
    numbers = [v.number for v in services.versions.planned(context.name)]
    new = new or next(iter(numbers), 0)
    old = old or next((n for n in numbers if n < new), 0)
    if not old or not new:
        raise NotFound(f"{context.name} has no two plans to compare yet.")
    was, now = services.versions.at(context.name, old), services.versions.at(context.name, new)
    return context.page(
        "compare.html",
        page_path="/versions",
        old=old,
        new=new,
        numbers=numbers,
        changes=difference_words(now.event, differences(was.event, now.event)),
        rows=comparison_rows(was, now),
        old_wide=day_wide(was.event, was.plan, None),
        wide=day_wide(now.event, now.plan, None),
        levels=list(zip(was.plan.levels, now.plan.levels, strict=False)),
    )


def _row(version: PlannedVersion) -> dict[str, object]:
    event, changes = version.event, version.changes
    said = ["First plan"] if version.number == 1 else ["The oldest plan that is listed"]
    if changes is not None:
        said = difference_words(event, changes) or ["Saved again, nothing changed"]
        if len(said) > SAID_MOST:
            said = [*said[:SAID_MOST], f"{len(said) - SAID_MOST} more"]
    made_at = version.made_at
    day = f"{made_at.astimezone(event.zone):%d %b} " if made_at else ""
    return {
        "number": version.number,
        "made": day + formatting.clock(event, made_at) if made_at else "",
        "changes": said,
        "verdict": short_verdict(event, version.plan),
    }


def difference_words(event: Event, changes: list[Difference]) -> list[str]:
    """Return what differs in short lines, a row of the event each."""
    rows = groupby(changes, key=lambda d: (d.table, d.name, d.kind))
    return [_line(event, table, name, list(group)) for (table, name, _), group in rows]


def _line(event: Event, table: str, name: str, group: list[Difference]) -> str:
    if group[0].kind != "changed":
        return f"{name} {group[0].kind}"
    parts = ", ".join(_change(event, table, d) for d in group)
    return f"{name}: {parts}" if name else parts[:1].upper() + parts[1:]


def _change(event: Event, table: str, change: Difference) -> str:
    label = _label(event, table, change.key)
    was, new = (_value(event, change.key, value) for value in (change.was, change.new))
    return label if was is None or new is None else f"{label} {was or 'none'} → {new or 'none'}"


def _label(event: Event, table: str, key: str) -> str:
    plain = {"": EVENT, "site": SITE}
    fields = plain.get(table) or ROWS.get(table) or SINGLES.get(table, ())
    file_key = {"start": "from", "end": "until"}.get(key, key)
    units = fields_of(tuple(f for f in fields if f.key == file_key), event.units)
    words = units[0].label if units else key.replace("_", " ")
    words = words if not words[1:2].islower() else words[0].lower() + words[1:]
    return "weather" if table == "weather" else words


def _value(event: Event, key: str, value: object) -> str | None:
    """Return a value as it stands in a field; None for what is too long for a line."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, time):
        return formatting.hour(event, value)
    if isinstance(value, date):
        return formatting.long_date(value)
    if isinstance(value, int | float):
        row = in_units({key: value}, event.units)
        return shown(list(row.values())[-1])
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, tuple) and all(isinstance(v, str) for v in value):
        return ", ".join(value)
    return None
