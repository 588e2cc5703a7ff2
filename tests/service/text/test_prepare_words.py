"""What a step before loading is called, and where steps are told that are nobody's job.

The steps are those of a sample's bean stew: soaked, boiled, weighed in.
"""

from __future__ import annotations

from events.table import changed
from service.text.run_sheet import items_of_helper, run_sheet_items
from solver.plan import Plan
from tests.conftest import sample_event, sample_plan

EVENT = sample_event("harvest-lunch")


def said(plan: Plan) -> dict[str, str]:
    """Return what is said of loading and preparing the bean stew, by kind of job."""
    items = [i for i in run_sheet_items(EVENT, plan) if "Bean stew" in i.food]
    return {
        i.kind: f"{i.title} {i.food}. {i.how}. {i.second}".lower()
        for i in items
        if i.kind in ("prepare", "load")
    }


def test_weighing_in_is_a_job_with_its_minutes_on_its_helpers_own_page() -> None:
    plan = sample_plan("harvest-lunch")
    (job,) = [j for j in plan.jobs if j.kind == "prepare" and j.dish_id == "bean-stew"]

    assert "prepare and weigh into its pot. it takes 25 min" in said(plan)["prepare"]
    assert job.id in {i.id for i in items_of_helper(EVENT, plan, job.helper_ids[0])}
    assert len(job.helper_ids) == 1


def test_steps_before_the_crews_hours_are_told_with_the_first_that_is_somebodys() -> None:
    plan = sample_plan("harvest-lunch")

    told = said(plan)["prepare"]
    assert "before that, and nobody is named for it: soak the beans" in told
    assert "; boil the soaked beans for 30 minutes" in told
    assert "nobody" not in said(plan)["load"]


def test_where_no_step_is_anybodys_job_loading_tells_them_all() -> None:
    plan = sample_plan("harvest-lunch")
    bare = changed(plan, jobs=tuple(j for j in plan.jobs if j.kind != "prepare"))

    told = said(bare)["load"]
    assert "soak the beans" in told
    assert "weigh into its pot" in told


def test_a_heavy_pot_says_how_many_lift_it() -> None:
    """Over the 10 kg of HSE INDG143 (arms stretched out), from memory."""
    plan = sample_plan("harvest-lunch")
    (lift,) = [
        i for i in run_sheet_items(EVENT, plan) if i.id.startswith("lift") and "Bean" in i.food
    ]
    alone = changed(plan, jobs=tuple(changed(j, helper_ids=j.helper_ids[:1]) for j in plan.jobs))
    (other,) = [i for i in run_sheet_items(EVENT, alone) if i.id == lift.id]

    assert lift.second.endswith("11.0 kg with its pot, over 10.0 kg: two lift it")
    assert other.second.endswith("call a second person to lift it")
    assert all(
        "with its pot" not in i.second for i in run_sheet_items(EVENT, plan) if i.food == "Rice"
    )
