"""What a job is called, for whoever does it."""

from __future__ import annotations

from events.table import changed
from service.text.job_words import WRAPPED, JobWords, job_words
from solver.notices import PlanWarning
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


def test_what_would_stand_lukewarm_too_long_is_lifted_into_ice_water() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    salad = next(p for p in plan.placements if p.dish_id == "beetroot")
    figures = {"batch": 1.0, "batches": 1.0, "warm_min": 141.0, "limit_min": 120.0, "away_min": 240}
    warm = PlanWarning(
        kind="warm-long", placement_id=salad.id, dish_ids=("beetroot",), figures=figures
    )
    lift = next(j for j in plan.jobs if j.kind == "lift" and salad.id in j.placement_ids)
    warned = changed(plan, warnings=(*plan.warnings, warm))

    assert job_words(event, plan, lift, (salad,)).how == "Mirror 2, lid on until 12:30"
    how = job_words(event, warned, lift, (salad,)).how
    assert how == "Mirror 2, then into ice water and a cold box until 12:30"


def test_what_would_boil_dry_says_so_where_it_is_loaded() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    stew = next(p for p in plan.placements if p.dish_id == "bean-stew")
    figures = {"batch": 1.0, "batches": 1.0, "water_kg": 6.1, "in_pot_kg": 1.7}
    dry = PlanWarning(kind="boils-dry", placement_id=stew.id, figures=figures)
    load = next(j for j in plan.jobs if j.kind == "load" and stew.id in j.placement_ids)
    warned = changed(plan, warnings=(*plan.warnings, dry))

    assert job_words(event, plan, load, (stew,)).second == ""
    second = job_words(event, warned, load, (stew,)).second
    assert second == "Look every half hour and add boiling water: it boils dry"


def test_one_of_the_young_writes_and_several_write() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    young = [
        changed(event.helpers[0], id=name.lower(), name=name, adult=False, may=())
        for name in ("Ada", "Max")
    ]
    crew = changed(event, helpers=(*event.helpers, *young))
    job = changed(plan.jobs[0], kind="write-temperatures", helper_ids=("asta", "ada"))
    both = changed(job, helper_ids=("asta", "ada", "max"))

    assert job_words(crew, plan, job, ()).how.endswith("reads aloud, Ada writes it down")
    assert job_words(crew, plan, both, ()).how.endswith("Ada and Max write it down")


def test_a_hot_pot_is_told_by_what_it_is_kept_hot() -> None:
    """Lid, cloth and lee: common practice, no published source."""
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    salad = next(p for p in plan.placements if p.dish_id == "beetroot")
    lift = next(j for j in plan.jobs if j.kind == "lift" and salad.id in j.placement_ids)
    dishes = tuple(changed(d, serve_hot=True) for d in event.dishes)

    how = job_words(changed(event, dishes=dishes), plan, lift, (salad,)).how

    assert how == f"Mirror 2, {WRAPPED} until 12:30"
    assert "lid on" in how
    assert "out of the wind" in how
