"""What a job is called, for whoever does it."""

from __future__ import annotations

from service.text.job_words import JobWords, job_words
from tests.conftest import sample_event, sample_plan


def words(kind: str, dish_id: str) -> JobWords:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    placements = {p.id: p for p in plan.placements}
    for job in plan.jobs:
        about = tuple(placements[i] for i in job.placement_ids)
        if job.kind == kind and dish_id in {p.dish_id for p in about}:
            return job_words(event, plan, job, about)
    raise AssertionError(f"no job: {kind} {dish_id}")


def test_what_is_served_out_of_its_cooker_is_lifted_as_what_is_left() -> None:
    """The rice stays in its box through lunch; the stew is lifted when lunch begins."""
    assert (words("lift", "rice").title, words("lift", "rice").food) == (
        "Lift what is left of",
        "Rice",
    )
    assert words("lift", "bean-stew").title == "Lift"


def test_serving_names_the_people_and_what_comes_out_of_a_cooker() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    serving = next(j for j in plan.jobs if j.kind == "serve" and j.meal_id == "lunch")

    how = job_words(event, plan, serving, ()).how

    assert how.startswith(f"{event.meal('lunch').portions} people. ")
    assert "Rice: out of Box 1" in how
