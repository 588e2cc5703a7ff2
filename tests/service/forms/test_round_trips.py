"""What is shown and sent back untouched changes nothing, in metric and in US units."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time
from functools import cache
from typing import Any

import pytest

from events.model import Event
from events.reading.event_file import read_table
from events.reading.schema import LISTS
from events.table import changed
from service.forms.event_form import (
    row_fields,
    rows_of,
    table_of,
    with_rows,
    with_singles,
    with_site,
)
from service.forms.fields import shown
from service.forms.multiline import lines_of
from service.forms.table_fields import EVENT, ROWS, SINGLES, SITE
from service.forms.us_units import fields_of, in_units
from tests.conftest import sample_event
from tests.service.forms.sending import sent, sent_rows


@cache
def odd(sample: str, units: str, clock_h: int) -> Event:
    """Return a sample with figures that no screen shows whole."""
    event = changed(sample_event(sample), units=units, clock_h=clock_h)
    pots = tuple(changed(p, litres=1 / 3 + 3, mass_kg=1 / 7) for p in event.pots)
    mirrors = tuple(changed(c, litres=1 / 3 + 5, wind_limit_m_s=1 / 3) for c in event.cookers)
    event = changed(event, pots=pots, cookers=mirrors)
    if event.groups:
        first = changed(event.groups[0], adult="akinyi", skips=("build-stop",))
        others = tuple(changed(g, start=time(9, 10)) for g in event.groups[1:])
        rota = changed(event.rota, walk_m_min=37, bell=True)
        event = changed(event, groups=(first, *others), rota=rota)
    if event.contest:
        breaks = ({"at": time(14, 0), "minutes": 15}, {"at": time(9, 5), "minutes": 5})
        contest = changed(event.contest, closed=breaks, ties=("lot", "shared"))
        event = changed(event, contest=contest)
    return event


ALL_PARTS = ("harvest-lunch", "school-rounds", "twelve-pots", "cook-off", "school-day")


def rows_in(event: Event, kind: str) -> tuple[object, ...]:
    """Return an event's own rows of one table."""
    return tuple(getattr(event, LISTS[kind][0]))


def tables() -> Iterator[Any]:
    """Yield each table of rows with each sample that has it; all but the first are slow."""
    for kind in ROWS:
        first, *others = (s for s in ALL_PARTS if rows_in(sample_event(s), kind))
        yield first, kind
        yield from (pytest.param(s, kind, marks=pytest.mark.slow) for s in others)


@pytest.mark.parametrize(("units", "clock_h"), [("metric", 24), ("us", 12)])
@pytest.mark.parametrize(("sample", "kind"), [*tables()])
def test_no_row_changes_by_being_shown_and_saved_untouched(
    sample: str, kind: str, units: str, clock_h: int
) -> None:
    event = odd(sample, units, clock_h)

    saved = read_table(with_rows(event, kind, sent_rows(event, kind), {}), source="untouched")

    assert saved == event


@pytest.mark.parametrize(("units", "clock_h"), [("metric", 24), ("us", 12)])
@pytest.mark.parametrize("kind", list(SINGLES))
def test_no_rule_changes_by_being_shown_and_saved_untouched(
    kind: str, units: str, clock_h: int
) -> None:
    for event in (odd(name, units, clock_h) for name in ALL_PARTS[:3]):
        row = table_of(event).get(kind, {})
        if kind == "contest" and not row:
            continue
        assert isinstance(row, dict)
        form = sent(event, kind, kind, row)

        saved = read_table(with_singles(event, (kind,), form), source="untouched")

        assert saved == event, event.title


@pytest.mark.parametrize("units", ["metric", "us"])
def test_no_place_changes_by_being_shown_and_saved_untouched(units: str) -> None:
    event = changed(sample_event("harvest-lunch"), units=units)
    trees = ({"bearing_deg": 10.1, "height_m": 1 / 3, "distance_m": 100.5, "width_m": 2 / 3},)
    site = {"latitude_deg": -34.61234567, "longitude_deg": 110.97471, "altitude_m": 1234.567}
    event = changed(event, site=changed(event.site, **site, obstacles=trees))
    table = table_of(event)
    held = table["site"]
    assert isinstance(held, dict)
    form = {f.key: shown(table.get(f.key), event.clock_h) for f in EVENT}
    there = in_units(held, units)
    form |= {f.key: shown(there.get(f.key), event.clock_h) for f in fields_of(SITE, units)}
    form |= {k: v.replace("\n", "\r\n") for k, v in lines_of(held, units).items()}
    ticks = [f.key for f in (*EVENT, *SITE) if f.kind == "tick"]
    form |= {key: "on" if form[key] == "True" else "" for key in ticks}

    assert read_table(with_site(event, form), source="untouched") == event


def test_cookers_and_pots_are_typed_in_inches_square_feet_quarts_and_pounds() -> None:
    """Factors: the international inch and foot; NIST SP 811, quart and pound (from memory)."""
    event = changed(sample_event("harvest-lunch"), units="us")
    form = {
        **{"mirror-1.id": "mirror-1", "mirror-1.diameter_in": "60", "mirror-1.volume_qt": "8"},
        **{"box-1.id": "box-1", "box-1.aperture_ft2": "5"},
    }
    pot = event.pots[0].id
    pots = {f"{pot}.id": pot, f"{pot}.volume_qt": "12", f"{pot}.mass_lb": "3"}

    kept = read_table(with_rows(event, "cooker", form, {}), source="typed")
    typed_pot = read_table(with_rows(event, "pot", pots, {}), source="typed").pots[0]

    mirror, box = kept.cooker("mirror-1"), kept.cooker("box-1")
    assert mirror.diameter_m == pytest.approx(1.524)
    assert mirror.aperture_m2 == pytest.approx(1.8241, abs=1e-4)
    assert mirror.litres == pytest.approx(7.5708, abs=1e-4)
    assert box.aperture_m2 == pytest.approx(0.464515, abs=1e-6)
    assert (typed_pot.litres, typed_pot.mass_kg) == pytest.approx((11.3562, 1.36078), abs=1e-4)
    assert kept.cooker("mirror-2") == event.cooker("mirror-2")


@pytest.mark.parametrize(("kind", "has"), [("mirror-1", "diameter_m"), ("box-1", "aperture_m2")])
def test_a_cooker_is_sized_in_one_field_as_people_say_it_for_its_kind(kind: str, has: str) -> None:
    event = sample_event("harvest-lunch")
    row = next(r for r in rows_of(table_of(event), "cooker") if r["id"] == kind)

    keys = {f.key for f in row_fields("cooker", row, "metric")}

    assert keys & {"diameter_m", "aperture_m2"} == {has}
