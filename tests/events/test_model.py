"""The event's look-ups, its clock, and copies with other values."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from pathlib import Path

import pytest
from pydantic import ValidationError

from events.errors import NotFound
from events.kinds import COOKER_KINDS, DONE_MODES, Done, Kind
from events.model import Cooker, Dish, Event
from events.table import changed
from tests.conftest import sample_event


def test_each_table_is_found_by_its_id(harvest: Event) -> None:
    assert harvest.dish("rice") is next(d for d in harvest.dishes if d.id == "rice")
    for rows, look_up in (
        (harvest.stations, harvest.station),
        (harvest.cookers, harvest.cooker),
        (harvest.pots, harvest.pot),
        (harvest.meals, harvest.meal),
        (harvest.dishes, harvest.dish),
        (harvest.helpers, harvest.helper),
        (harvest.talks, harvest.talk),
    ):
        assert [look_up(row.id) for row in rows] == list(rows)  # type: ignore[operator]


def test_an_unknown_id_is_named(harvest: Event) -> None:
    with pytest.raises(NotFound, match="dish, mirror-1"):
        harvest.dish("mirror-1")


def test_a_copy_looks_up_its_own_rows(harvest: Event) -> None:
    harvest.dish("rice")
    more = changed(harvest.dish("rice"), portions=7)

    other = changed(harvest, dishes=(more,))

    assert other.dish("rice").portions == 7
    with pytest.raises(NotFound):
        other.dish("bean-stew")


def test_local_clock_times_become_instants(harvest: Event) -> None:
    assert harvest.instant(time(12, 30)) == datetime(2026, 11, 28, 10, 30, tzinfo=UTC)
    assert harvest.instant(time(0, 0), day=date(2026, 11, 27)).tzinfo is UTC


def test_a_copy_is_validated(harvest: Event) -> None:
    with pytest.raises(ValidationError, match="optical_efficiency"):
        changed(harvest.cookers[0], optical_efficiency=0.97)
    with pytest.raises(ValidationError, match="colour"):
        changed(harvest.cookers[0], colour="red")


def test_no_copy_goes_round_validation() -> None:
    rooms = Path(__file__).parents[2]
    files = [f for room in ("events", "solver", "service") for f in (rooms / room).rglob("*.py")]

    assert len(files) > 100
    assert [f.name for f in files if ".model_copy(" in f.read_text(encoding="utf-8")] == []


@pytest.mark.parametrize("kind", COOKER_KINDS)
def test_what_a_kind_asks_for_are_keys_of_a_cooker(kind: Kind) -> None:
    of = COOKER_KINDS[kind]

    assert {*of.requires, *of.scaled} <= Cooker.model_fields.keys()
    assert ("aperture_m2" in of.requires) == (of.heat == "sun")
    assert ("loss_w_k" in of.requires) == of.has_body


@pytest.mark.parametrize("done", DONE_MODES)
def test_what_a_way_of_being_done_asks_for_are_keys_of_a_dish(done: Done) -> None:
    assert set(DONE_MODES[done].requires) <= Dish.model_fields.keys()


@pytest.mark.parametrize("unseen", ["\0", "\r\n", "\u202e", "\u2066", "\x7f", "\u2028"])
def test_what_nobody_can_see_is_no_part_of_a_name(unseen: str) -> None:
    """PostgreSQL stores no NUL; a name whose letters are turned round passes for another."""
    event = changed(sample_event("harvest-lunch"), title=f"Harvest{unseen}lunch{unseen}")

    assert event.title == "Harvest lunch"


def test_letters_of_every_writing_stay_in_a_name() -> None:
    for name in ("Água", "می‌خواهم", "क्षेत्र", "👩‍🍳 kitchen", "日の出"):
        assert changed(sample_event("harvest-lunch"), title=name).title == name
