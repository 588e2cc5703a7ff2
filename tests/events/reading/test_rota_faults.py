"""Groups and stops in a file: what is read, and every fault with its limit."""

from __future__ import annotations

import pytest

from events.errors import FaultyEvent
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.reading.write import write_event
from service.text.faults import said
from tests.conftest import replaced, sample_event

SCHOOL = sample_text("school-rounds")


def faults(*pairs: tuple[str, str]) -> list[tuple[str, str, str]]:
    with pytest.raises(FaultyEvent) as caught:
        read_event(replaced(SCHOOL, *pairs))
    return [(f.table, f.key, said(f).limit) for f in caught.value.faults]


def test_what_is_written_reads_back_equal() -> None:
    event = sample_event("school-rounds")

    assert read_event(write_event(event)) == event


def test_an_event_without_groups_writes_no_rota() -> None:
    assert "rota" not in write_event(sample_event("harvest-lunch"))


@pytest.mark.parametrize(
    ("old", "new", "table", "key", "limit"),
    [
        ('adult = "Mrs Achieng"', "", "group", "adult", "the young go round with a named adult"),
        ('adult = "Mrs Achieng"', 'adult = "Mr Oduor"', "group", "adult", "is with Red already"),
        ("people = 9", "people = 12", "group", "people", "The mirror takes 10"),
        ('guide = "wanja"', 'guide = "nobody"', "stop", "guide", "is not in this file"),
        ('cookers = ["panel"]', "", "stop", "sees", "no cooker is named"),
        ("x_m = 40\ny_m = 30\n", "", "stop", "station", "a stop needs a place"),
        ("until = 11:30:00", "until = 08:30:00", "rota", "until", "must be after from 08:45"),
        ("pause_until = 10:30:00", "", "rota", "pause_min", "begins between two times"),
        ("visit_min = 20", "visit_min = 22", "rota", "visit_min", "must be a multiple of 5"),
        ('name = "Red"', 'name = "Red"\nskips = ["x"]', "group", "skips", "is not in this file"),
    ],
)
def test_a_fault_says_what_cannot_be(old: str, new: str, table: str, key: str, limit: str) -> None:
    assert (table, key, limit) in faults((old, new))


def test_a_round_longer_than_its_hours_is_refused() -> None:
    found = faults(("until = 11:30:00", "until = 10:15:00"))

    assert ("group", "until", "4 stops, the walks and the pause need 115 min at least") in found


def test_stops_without_groups_are_asked_for_them() -> None:
    start, end = SCHOOL.index("[[group]]"), SCHOOL.index("[[stop]]")

    assert faults((SCHOOL[start:end], "")) == [("group", "", "there is none")]
