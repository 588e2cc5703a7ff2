"""The planner's form: its parts, what stands in each field, what can be chosen, faults beside."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from events.errors import Fault, NotFound
from events.food_rules import FOOD_RULES
from events.model import Cooker, Event
from events.reading.catalogue import entries
from events.reading.foods import foods
from events.site import AHEAD_MOST
from service.application.event_analyses import siting, station_stretches, sun_windows
from service.charts.sun_path import sun_path
from service.forms import event_form
from service.forms.event_form import Table
from service.forms.fields import Field, shown
from service.forms.multiline import LINES, lines_of
from service.forms.pot_guess import is_as_guessed
from service.forms.refusals import advice, refusal_lines
from service.forms.site_parts import shade_line, site_parts
from service.forms.sky_table import sky_rows
from service.forms.table_fields import LIKE, ROWS
from service.forms.us_units import METRIC_OF, fields_of, in_units
from service.text import formatting
from service.text.allergens import columns, name_of
from service.text.catalogue import name_in
from service.text.faults import Manner
from service.text.row_lines import ABILITY_WORDS, row_lines
from service.text.sun import site_sun, spot_sun
from service.web.context import PageContext
from service.web.dish_matrix import Chosen, matrix_rows
from service.web.part_choices import MOMENTS, part_choices
from service.web.planner_parts import (
    LIKE_OF,
    NEW_FIELDS,
    PARTS,
    TABLE_OF_PAGE,
    near_and_aside,
    new_usual,
    part_of,
    part_values,
)
from service.web.warning_rows import warning_rows

TABS = (
    ("site", "Place and hours"),
    ("cookers", "Cookers"),
    ("pots", "Pots"),
    ("dishes", "Dishes"),
    ("servings", "Meals"),
    ("helpers", "Helpers"),
    ("talks", "Talks"),
    ("check", "Check"),
    *((tab, name) for part in PARTS.values() for tab, name in ((part.tab, part.name), *part.pages)),
)
TABLE_OF_TAB = {
    "cookers": "cooker",
    "pots": "pot",
    "dishes": "dish",
    "servings": "meal",
    "helpers": "helper",
    "talks": "talk",
    **TABLE_OF_PAGE,
}
STATIONS_DRAWN = 6
SWAPS_SHOWN = 3
Choices = dict[str, list[tuple[str, str]]]


@dataclass(frozen=True)
class Typed:
    """What was typed and not stored, and what is wrong with it; else nothing."""

    picked: str = ""  # the dish that is looked at
    form: Mapping[str, str] = field(default_factory=dict)
    faults: Sequence[Fault] = ()
    conflict: bool = False  # another changed the event in between
    table: Table = field(default_factory=dict)  # the event's tables as they were typed
    added: Mapping[str, str] = field(default_factory=dict)  # a new row's id: where it was typed


def _weeks_off(context: PageContext) -> int:
    """Return in how many weeks the day is, where no forecast reaches so far; else 0."""
    event = context.stored.event
    days = (event.date - formatting.local_date(context.at, event.zone)).days
    return round(days / 7) if days > AHEAD_MOST else 0


def form_values(
    context: PageContext, own: Mapping[str, Cooker], tab: str, typed: Typed
) -> dict[str, object]:
    """Return all that one part of the planner's form shows."""
    if tab not in dict(TABS):
        raise NotFound(f"No page “{tab}” in the planner.")
    event = context.stored.event
    table = event_form.table_of(event)
    kind = TABLE_OF_TAB.get(tab)
    rows = event_form.rows_of(table, kind) if kind else []
    rows = [event_form.as_shown(event, row) for row in rows]
    part = part_of(tab, event)
    dish = next((d for d in event.dishes if d.id == typed.picked), event.dishes[0])
    site = table["site"]
    assert isinstance(site, dict)
    return {
        "tab": tab,
        "tabs": TABS,
        "kind": kind,
        "rows": rows,
        "fields": _new_fields(event, kind or ""),
        "fields_of_row": {
            str(r["id"]): near_and_aside(
                _of_the_day(event, event_form.row_fields(kind, r, event.units)), kind
            )
            for r in rows
            if kind
        },
        "site": in_units(site, event.units),
        "lines": lines_of(site, event.units),
        "sky_rows": sky_rows(event),
        "weeks_off": _weeks_off(context),
        "top": table,
        "value": _text_in_field(typed.form, event.clock_h),
        "shown": shown,
        "fault_of": _fault_beside(typed, rows, kind, event),
        "part": part,
        "part_faults": bool(part and any(f.table in part.singles for f in typed.faults)),
        "row_counts": {k: len(event_form.rows_of(table, t)) for k, t in TABLE_OF_PAGE.items()},
        "pots_guessed": tab in ("pots", "check") and is_as_guessed(event),
        "drawn": event.contest is not None and event.contest.seed is not None,
        "typed_new": any(
            typed.form.get(f"{new}.{key}") for new in event_form.NEWS for key in ("name", "like")
        ),
        "new_usual": new_usual(event, kind or ""),
        "like_of": LIKE_OF.get(kind or "", ""),
        "empty_rows": event_form.NEWS[1:] if kind in NEW_FIELDS else (),
        "has_fault": _has_fault(typed, rows, kind),
        "row_lines": row_lines(event, kind) if kind else {},
        "faults": refusal_lines(typed.faults, typed.table or table),
        "conflict": typed.conflict,
        "choices": _choices(event, own),
        "site_sun": site_sun(event, sun_windows(event)[0].stretches),
        "dish": dish,
        "picked": dish.id == typed.picked,
        "row_of": {str(r["id"]): r for r in rows},
        "version": context.stored.version,
        **(_site_parts(event, typed) if tab == "site" else {}),
        **(part_values(event, part, table) if part and tab == part.tab else {}),
        **_beside_form(context, tab),
    }


def _new_fields(event: Event, kind: str) -> tuple[Field, ...]:
    """Return the fields of a row that is added."""
    fields = ROWS.get(kind, ())
    some = NEW_FIELDS.get(kind)
    chosen = tuple(f for f in fields if some is None or f.key in some)
    return fields_of(_of_the_day(event, chosen), event.units)


def _of_the_day(event: Event, fields: tuple[Field, ...]) -> tuple[Field, ...]:
    """Return the fields without those of a part that the day has not."""
    return tuple(f for f in fields if f.kind != "who-comes" or event.groups)


def _site_parts(event: Event, typed: Typed) -> dict[str, object]:
    """Return the parts of the page of place and hours, each with whether a fault opens it."""
    at = [f for f in typed.faults if f.table in ("", "site")]
    parts = [(p, any(p.holds(f.key) for f in at)) for p in site_parts(event)]
    return {
        "parts": parts,
        "shade_line": shade_line(event),
        "has_shade_fault": any(f.key.partition(".")[0] in LINES for f in at),
        "has_sky_fault": any(f.table == "weather" for f in typed.faults),
    }


def _beside_form(context: PageContext, tab: str) -> dict[str, object]:
    """Return what one part shows beside its form: minutes, the sun's path, what to check."""
    event = context.stored.event
    beside: dict[str, object] = {}
    if tab == "dishes":
        beside["matrix"] = matrix_rows(event, _chosen(context))
        beside["unplaced"] = {u.dish_id for u in context.plan.unplaced} if context.plan else set()
        beside["known_foods"] = [name.replace("-", " ") for name in foods()]
        beside["food_kg"] = sum(d.mass_kg for d in event.dishes)
        beside["people"] = max(meal.portions for meal in event.meals)
    if tab == "check":
        beside |= _checks(context)
    if tab == "site":
        beside["path"] = sun_path(event, None)
        beside["sun_rows"] = context.plan.sun[::6] if context.plan else ()
        beside["station_paths"] = [
            (sun_path(event, s), spot_sun(event, s, station_stretches(event, s)))
            for s in event.stations
        ][:STATIONS_DRAWN]
    return beside


def _text_in_field(form: Mapping[str, str], clock_h: int) -> Callable[[str, object], str]:
    """Return how a field's text is found: as it was typed, else as it is."""

    def text(key: str, value: object) -> str:
        return form[key] if key in form else shown(value, clock_h)

    return text


def _fault_beside(
    typed: Typed, rows: Sequence[Table], kind: str | None, manner: Manner
) -> Callable[[str, str], str]:
    """Return how a field's fault is found: by its row's id, else its number, and by its key."""
    is_in_row = _in_row(typed, rows, kind)

    def beside(row_id: str, key: str) -> str:
        for f in typed.faults:
            whole = kind is None and f.table in ("", "site", row_id or "site")
            typed_in = re.split("[ .]", f.key)[0]  # a part of a list is typed in the list's field
            if (whole or is_in_row(f, row_id)) and typed_in in (key, METRIC_OF.get(key)):
                return advice(f, manner)
        return ""

    return beside


def _has_fault(typed: Typed, rows: Sequence[Table], kind: str | None) -> Callable[[str], bool]:
    """Return how it is found whether a row has a fault: such a row opens by itself."""
    is_in_row = _in_row(typed, rows, kind)
    return lambda row_id: any(is_in_row(f, row_id) for f in typed.faults)


def _in_row(typed: Typed, rows: Sequence[Table], kind: str | None) -> Callable[[Fault, str], bool]:
    numbers = {str(r["id"]): n for n, r in enumerate(rows, 1)}

    def is_in_row(fault: Fault, row_id: str) -> bool:
        where = typed.added.get(fault.id, fault.id)
        same = where == row_id if where else fault.number == numbers.get(row_id)
        return kind is not None and fault.table == kind and same

    return is_in_row


def _choices(event: Event, own: Mapping[str, Cooker]) -> Choices:
    catalogue = {
        kind: [(k, name_in({"name": k, **v}, event.units)) for k, v in entries(kind).items()]
        for kind in LIKE
    }
    catalogue["cooker"] += [(f"own:{k}", f"{c.name} (own)") for k, c in own.items()]
    return {
        "station": [("", "-"), *((s.id, s.name) for s in event.stations)],
        "meal": [(m.id, m.name) for m in event.meals],
        "helper": [("", "-"), *((h.id, h.name) for h in event.helpers)],
        "dish": [("", "-"), *((d.id, d.name) for d in event.dishes)],
        "speakers": [(h.id, h.name) for h in event.helpers],
        "cooker": [("", "any"), *((c.id, c.name) for c in event.cookers)],
        "cookers": [("", "any"), *((c.id, c.name) for c in event.cookers)],
        "no-cookers": [("", "none"), *((c.id, c.name) for c in event.cookers)],
        "stage": [("", "-"), *((s, s) for s in ("loaded", "simmering", "lifted"))],
        "moment": [("", "-"), *MOMENTS],
        "rules": [(r, r) for r in FOOD_RULES],
        "raw": [
            ("", "as its name says"),
            ("True", "yes, raw"),
            ("False", "no, or cooked before"),
        ],
        "kidney": [
            ("", "-"),
            ("no", "none"),
            ("boiled", "boiled for 30 min before, or tinned"),
            ("raw", "raw: boiled here"),
        ],
        "abilities": [(str(ability), words) for ability, words in ABILITY_WORDS.items()],
        "allergens": [(a, name_of(event, a)) for a in columns(event)],
        "units": [("metric", "metric"), ("us", "US")],
        **part_choices(event),
        **{f"like-{k}": v for k, v in catalogue.items()},
    }


def _chosen(context: PageContext) -> Chosen:
    """Return when the plan loads each dish in each cooker, by (dish, cooker)."""
    placements = context.plan.placements if context.plan else ()
    return {
        (p.dish_id, p.cooker_id): formatting.clock(context.event, p.loaded_at) for p in placements
    }


def _checks(context: PageContext) -> dict[str, object]:
    event = context.stored.event
    places = siting(event)
    typical = [c for c in event.cookers if c.on_sun and not c.is_measured]
    return {
        "plan": context.plan,
        "in_force": context.in_force,
        "warnings": warning_rows(context.event, context.plan, f"/e/{context.name}", context.role)
        if context.plan
        else [],
        "dishes": {d.id: d.name for d in event.dishes},
        "typical": typical,
        "typical_names": formatting.joined([c.name for c in typical]),
        "spots": [(event.station(s.station_id).name, s.sun_min) for s in places.spots],
        "swaps": [
            (event.cooker(s.cooker_id).name, event.cooker(s.other_id).name, s.gain_min)
            for s in places.swaps[:SWAPS_SHOWN]
        ],
    }
