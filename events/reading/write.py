"""An event written as a file that reads back equal."""

from __future__ import annotations

import tomli_w
from pydantic import BaseModel

from events import model
from events.contest import ENTRY_KEYS, Entry
from events.kitchen import Dish
from events.measured import Measured
from events.reading.schema import HOURS, LISTS, SINGLE, has_hours
from events.site import Weather
from events.table import RawTable


def write_event(event: model.Event) -> str:
    """Return the event as a file's text; reading it gives the same event."""
    return tomli_w.dumps(event_table(event))


def event_table(event: model.Event) -> RawTable:
    """Return the event as the tables of its file: what reading the file's TOML gives."""
    table: RawTable = {key: getattr(event, key) for key in model.EventHead.model_fields}
    table["site"] = _plain(event.site)
    if event.weather != Weather():
        table["weather"] = _plain(event.weather)
    for key in SINGLE:
        if getattr(event, key) != model.Event.model_fields[key].default:
            table[key] = _plain(getattr(event, key))
    for key, (field, _) in LISTS.items():
        if rows := getattr(event, field):
            table[key] = [_plain(row) for row in rows]
    return table


def _plain(table: BaseModel) -> RawTable:
    """Return a table's keys and values as TOML has them; what is None is left out."""
    row: RawTable = {}
    swap = {v: k for k, v in HOURS.items()} if has_hours(type(table)) else {}
    for key in type(table).model_fields:
        value = getattr(table, key)
        if value is None:
            continue
        if isinstance(value, Measured):
            row |= value.model_dump(exclude_unset=True, exclude_none=True)
            continue
        if isinstance(table, Entry) and isinstance(value, Dish):
            dish = _plain(value)
            row |= {k: v for k, v in dish.items() if k not in ENTRY_KEYS and k != "meal"}
            continue
        if isinstance(value, BaseModel):
            value = _plain(value)
        elif isinstance(value, dict):
            notes = {k: v.kind if not v.note else _plain(v) for k, v in value.items()}
            # As TOML has them: tables behind all that is none. The fingerprint goes by this order.
            value = dict(sorted(notes.items(), key=lambda item: isinstance(item[1], dict)))
        elif isinstance(value, tuple):
            value = [
                _plain(v) if isinstance(v, BaseModel) else list(v) if isinstance(v, tuple) else v
                for v in value
            ]
        row[swap.get(key, key)] = value
    return row
