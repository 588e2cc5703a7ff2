"""What a browser sends of a table's rows as they were shown."""

from __future__ import annotations

from events.model import Event
from service.forms.event_form import (
    as_shown,
    row_fields,
    rows_of,
    table_of,
)
from service.forms.fields import shown
from service.forms.table_fields import TICKED


def sent(event: Event, kind: str, name: str, row: dict[str, object]) -> dict[str, str]:
    """Return a row's form as the page shows it and a browser sends it, nothing typed."""
    held, form = as_shown(event, row), {f"{name}.id": name, f"{name}.whole": "on"}
    for field in row_fields(kind, row, event.units):
        text = shown(held.get(field.key), event.clock_h)
        if field.kind == "tick":
            form |= {f"{name}.{field.key}": "on"} if text else {}
        elif text or field.kind not in TICKED:  # a box that is not ticked is not sent
            form[f"{name}.{field.key}"] = text
    return form


def sent_rows(event: Event, kind: str) -> dict[str, str]:
    """Return a table's form, nothing typed."""
    form: dict[str, str] = {}
    for row in rows_of(table_of(event), kind):
        form |= sent(event, kind, str(row["id"]), row)
        if kind == "station" and event.contest and row["id"] in event.contest.stations:
            form[f"{row['id']}.drawn"] = "on"
    return form
