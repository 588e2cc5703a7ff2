"""What planning again changes is said whole, in the event's own clock."""

from __future__ import annotations

from typing import get_args

import pytest

from events.model import Event
from events.table import changed
from service.text.replan_changes import WORK, pot_change, work_change
from solver.plan import FoodPart, JobKind, PotChange, WorkChange
from tests.conftest import sample_event
from tests.diaries import local

HARVEST: Event = sample_event("harvest-lunch")
RICE = FoodPart(dish_id="rice", batch=1, batches=2)
NOON, LATER = local(HARVEST, "12:00"), local(HARVEST, "13:05")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            {"kind": "new", "cooker_id": "box-1", "at": NOON},
            "Rice 1 of 2 goes into Box 1 at 12:00: a new pot.",
        ),
        (
            {
                "kind": "moved",
                "cooker_id": "box-1",
                "at": LATER,
                "was_cooker_id": "taken-away",
                "was_at": NOON,
            },
            "Rice 1 of 2 goes into Box 1 at 13:05, no more into taken-away at 12:00.",
        ),
        (
            {
                "kind": "moved",
                "cooker_id": "box-1",
                "at": LATER,
                "was_cooker_id": "box-1",
                "was_at": NOON,
            },
            "Rice 1 of 2 goes into Box 1 at 13:05, no more at 12:00.",
        ),
        (
            {
                "kind": "second-cooker",
                "cooker_id": "gas-ring",
                "at": NOON,
                "was_cooker_id": "box-1",
            },
            "Rice 1 of 2 goes from Box 1 to Gas ring at 12:00.",
        ),
        (
            {"kind": "late", "at": LATER, "was_at": NOON},
            "Rice 1 of 2 is served at 13:05, 65 min late.",
        ),
        (
            {"kind": "lifted", "cooker_id": "box-1", "at": LATER, "was_at": NOON},
            "Rice 1 of 2 comes out of Box 1 at 13:05, no more at 12:00.",
        ),
        ({"kind": "given-up"}, "Rice 1 of 2 is not cooked any more."),
    ],
    ids=lambda v: v["kind"] if isinstance(v, dict) else "",
)
def test_every_change_of_a_pot_is_a_sentence(change: dict[str, object], says: str) -> None:
    assert pot_change(HARVEST, PotChange.model_validate({"food": RICE} | change)) == says


@pytest.mark.parametrize(
    ("job", "says"),
    [
        ("load", "New: 1:05 pm load Rice 1 of 2 into Box 1 and Mirror 2"),
        ("turn", "New: 1:05 pm turn Box 1 and Mirror 2"),
        ("attend", "New: 1:05 pm stay at Box 1 and Mirror 2"),
    ],
)
def test_a_helpers_new_work_says_what_and_when(job: str, says: str) -> None:
    us = changed(HARVEST, clock_h=12)
    change = WorkChange.model_validate(
        {
            "kind": "new",
            "helper_id": "bo",
            "at": LATER,
            "job": job,
            "foods": [RICE],
            "cooker_ids": ["mirror-2", "box-1"],
        }
    )

    assert work_change(us, change) == says
    assert work_change(us, changed(change, kind="dropped")) == says.replace("New:", "No more:")


def test_every_kind_of_job_has_its_words() -> None:
    assert set(WORK) == {*get_args(JobKind), "turn"}
