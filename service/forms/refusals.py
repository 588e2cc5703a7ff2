"""What can't be taken, said by the names that the page's own fields have: one sentence each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

from events.errors import Fault, Figure
from events.reading.schema import LISTS
from service.forms.event_form import Table, rows_of
from service.forms.fields import Field
from service.forms.part_start import CONTEST_START, ROTA_START
from service.forms.sky_table import SKY_LABELS
from service.forms.table_fields import EVENT, ROWS, SINGLES, SITE
from service.forms.us_units import US, as_typed, fields_of
from service.text.faults import WORDS, InFiles, Manner, said
from service.text.form_fault_words import CHOOSE, FORM, HOW_TO_TYPE
from service.text.row_lines import ABILITY_WORDS

# What a page calls a row of each table, where the row has no name of its own.
ROW_NAMES = {
    "cooker": "cooker",
    "pot": "pot",
    "meal": "meal",
    "dish": "dish",
    "helper": "helper",
    "talk": "talk",
    "station": "place",
    "team": "team",
    "entry": "entry",
    "contest_cooker": "cooker of the contest",
    "judge": "judge",
    "criterion": "line of points",
    "group": "group",
    "stop": "stop",
}
NONE_THERE = ("none", "no-meal", "no-helper", "contest-needs", "no-group", "no-stop")
# What is said of a part for which there is one table, where a fault has no key.
_TABLES = {"contest": "Contest", "rota": "Round", "votes": "Votes"}
_FIELDS = {
    **ROWS,
    **SINGLES,
    "contest": (*SINGLES["contest"], *CONTEST_START),
    "rota": (*SINGLES["rota"], *ROTA_START),
}
_WORDS = {**WORDS, **FORM}
_OTHER_LABELS = {"hours": "Forecast", "words": "Forecast", "like": "Cooks like", "where": "Where"}
_OTHER_LABELS |= {"stations": "Places that are drawn", "groups": "Groups"}
_OTHER_LABELS |= {"days_ahead": "Days before the day that the forecast was made"}


def refusal_lines(faults: Sequence[Fault], table: Table | None = None) -> list[str]:
    """Return each fault as a sentence, the first thing first and none twice."""
    return list(dict.fromkeys(refusal_line(f, table or {}) for f in faults))


def refusal_line(fault: Fault, table: Table) -> str:
    """Return a fault by its field's label and its row's name."""
    if fault.kind in NONE_THERE and fault.table in LISTS:
        return f"There is no {ROW_NAMES[fault.table]} yet. Add at least one."
    units: Literal["metric", "us"] = "us" if table.get("units") == "us" else "metric"
    manner = InFiles(units, 12 if table.get("clock_h") == 12 else 24)
    label = label_of(fault.table, as_typed(fault, units).key, units)
    place = ", ".join(filter(None, (_row_name(fault, table), label)))
    return f"{place or 'The event'}: {advice(fault, manner)}"


def advice(fault: Fault, manner: Manner) -> str:
    """Return what is wrong in a field and what to do, beside the field itself."""
    typed = as_typed(fault, manner.units)
    kinds = {"like": "like"} | {f.key: f.kind for f in _fields(fault.table)}
    ability = fault.figures.get("ability")
    return said(
        replace(typed, value=_quoted(typed.value)),
        manner,
        _WORDS,
        how=HOW_TO_TYPE.get(kinds.get(fault.key, "text"), CHOOSE),
        ability_words=next((w for a, w in ABILITY_WORDS.items() if a == ability), ""),
    ).advice


def _quoted(value: Figure) -> Figure:
    """Return a value as a sentence has it: a number plainly, words in the quotes that are ours."""
    try:
        return f"{float(str(value)):.10g}"
    except ValueError:
        pass
    text = str(value)
    is_words = isinstance(value, str) and len(text) > 1 and text[0] in "'\"" and text[0] == text[-1]
    return f"“{text[1:-1]}”" if is_words else value


def label_of(table: str, key: str, units: str) -> str:
    """Return what a page calls a key of a table; a key that it has no field for, as it is."""
    first, _, rest = key.partition(".")
    if table == "weather" and rest:
        column = rest.partition(".")[2]
        return f"{_OTHER_LABELS['hours']}, {SKY_LABELS.get(column, column.replace('_', ' '))}"
    labels = _labels(table, units)
    whole = first.partition(" ")[0]  # a part of a list is typed in the list's field
    return (
        labels.get(first)
        or labels.get(whole)
        or _OTHER_LABELS.get(first)
        or first.replace("_", " ")
    )


def _fields(table: str) -> Sequence[Field]:
    return _FIELDS.get(table, (*SITE, *EVENT))


def _labels(table: str, units: str) -> Mapping[str, str]:
    labels = {f.key: f.label for f in _fields(table)}
    labels |= {unit.key: unit.label for key, unit in US.items() if key in labels}
    return labels | {f.key: f.label for f in fields_of(tuple(_fields(table)), units)}


def _row_name(fault: Fault, table: Table) -> str:
    if fault.table not in ROW_NAMES:
        return _TABLES.get(fault.table, "")
    rows = rows_of(table, fault.table)
    row = next((r for r in rows if r.get("id") == fault.id), None)
    if row is None and fault.number is not None and fault.number <= len(rows):
        row = rows[fault.number - 1]
    name = str(row.get("name") or row.get("like") or "") if row else ""
    return name or f"{ROW_NAMES[fault.table].capitalize()} {fault.number or ''}".strip()
