"""Two lift what is too heavy for one, where another is free.

What one lifts away from the body: HSE INDG143, guideline weights (10 kg), from memory.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from events.table import changed
from solver.plan import Job
from solver.policy import ONE_LIFTS_KG
from solver.rostering.lifting import with_second_hands
from solver.rostering.programme import Work
from solver.scheduling.columns import Candidate
from tests.solver.checking.hand_laid import at
from tests.solver.rostering.test_work import BOX, placed
from tests.solver.scheduling.test_timed_load import day

CHOSEN = placed(BOX)
(BATCH,) = CHOSEN.batches


def lift(*who: str, kind: str = "lift") -> Job:
    row = {"id": "l", "kind": kind, "at": at("12:00"), "minutes": 5, "helper_ids": who}
    return Job.model_validate(row | {"placement_ids": (BATCH.id,)})


def hands(job: Job, *others: Job, over_kg: float = 0.1, mass_kg: float = ONE_LIFTS_KG) -> list[str]:
    """Return who lifts a batch of so much that it is so much over the limit with its pot."""
    (pot,) = CHOSEN.load.pots
    heavy = with_mass(mass_kg - pot.mass_kg + over_kg)
    work = with_second_hands(day(), Work((), (), (job, *others)), [heavy])
    return list(work.jobs[0].helper_ids)


def with_mass(kg: float) -> Candidate:
    """Return the chosen load with a batch of so much."""
    batches = (replace(BATCH, mass_kg=kg),)
    return replace(CHOSEN, load=replace(CHOSEN.load, batches=batches))


def test_over_the_weight_another_who_may_lift_lends_a_hand() -> None:
    assert ONE_LIFTS_KG == 10.0
    assert hands(lift("ada")) == ["ada", "ben"]
    assert hands(lift("ben")) == ["ben", "ada"]
    assert hands(lift("ada"), over_kg=0.0) == ["ada"]


@pytest.mark.parametrize("kind", ["insulate", "move"])
def test_so_it_is_where_a_pot_is_moved(kind: str) -> None:
    assert hands(lift("ada", kind=kind)) == ["ada", "ben"]


def test_what_is_no_lifting_and_what_two_lift_already_stay_as_they_are() -> None:
    assert hands(lift("ada", kind="load")) == ["ada"]
    assert hands(lift("ada", "cam")) == ["ada", "cam"]


def test_nobody_is_taken_from_other_work_for_it() -> None:
    def stirs(who: str) -> Job:
        return changed(lift(who, kind="stir"), id=f"s-{who}", placement_ids=())

    assert hands(lift("ada"), stirs("ben")) == ["ada", "cam"]
    assert hands(lift("ada"), *map(stirs, ("ben", "cam", "dan", "eve", "kid"))) == ["ada"]
