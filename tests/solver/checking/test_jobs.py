"""Rules of work on a plan laid by hand: jobs and their people, stirring."""

from __future__ import annotations

import pytest

from events.table import changed
from solver.checking.breach import Breach
from solver.checking.people_rules import (
    PEOPLE_RULES,
    attended_cookers_are_attended,
    helpers_have_their_breaks,
    jobs_have_their_people,
    mirrors_are_watched,
    nobody_is_in_two_places,
    packing_waits_for_the_last_meal,
    the_young_have_light_jobs_only,
    turns_are_walked,
    turns_keep_the_sun,
    visitors_are_greeted_when_they_come,
)
from solver.checking.rules import RULES
from solver.plan import Job, Plan
from tests.solver.checking.damage import (
    again,
    edited,
    event,
    job,
    more,
    named,
    of_a_load,
    plan,
    untrained,
    without,
)
from tests.solver.checking.hand_laid import EVENT, JOBS, PLAN, at, minutes


def test_every_rule_of_work_is_in_the_check() -> None:
    assert set(PEOPLE_RULES) == {
        attended_cookers_are_attended,
        helpers_have_their_breaks,
        jobs_have_their_people,
        mirrors_are_watched,
        nobody_is_in_two_places,
        packing_waits_for_the_last_meal,
        the_young_have_light_jobs_only,
        turns_are_walked,
        turns_keep_the_sun,
        visitors_are_greeted_when_they_come,
    }
    assert set(PEOPLE_RULES) < set(RULES)


# --- jobs and their people


@pytest.mark.parametrize("row", of_a_load("any"), ids=lambda j: j.id)
def test_a_load_has_each_of_its_jobs_at_its_minute(row: Job) -> None:
    missing = [j for j in JOBS if j is row]
    cooker = next(p for p in PLAN.placements if p.id == row.placement_ids[-1])
    breach = Breach("job-missing", (cooker.fill, row.kind), missing[0].at)

    assert breach in named(jobs_have_their_people, without("jobs", row.id))
    assert breach in named(jobs_have_their_people, job(row.id, at=row.at + minutes(1)))
    assert breach in named(jobs_have_their_people, job(row.id, kind="attend"))
    assert breach in named(jobs_have_their_people, job(row.id, placement_ids=("tea-1", "rice-1")))


def test_a_plan_needs_no_other_jobs_than_these() -> None:
    for row in of_a_load("any"):
        assert len(named(jobs_have_their_people, without("jobs", row.id))) == 1, row.id


@pytest.mark.parametrize(
    ("name", "who", "has", "wants"),
    [
        ("insulate-10:20-stew-1", ("ada",), 1, 2),
        ("insulate-10:20-stew-1", ("ada", "ada"), 1, 2),
        ("lift-12:45-stew-2", ("ada",), 1, 2),
        ("move-11:40-stew-2", ("ada", "ben", "cam"), 3, 2),
        ("load-09:00-bread-1", ("ada", "ben"), 2, 1),
        ("preheat-08:30-bread-1", ("ada", "ben"), 2, 1),
        ("probe-10:00-bread-1", ("ada", "ben"), 2, 1),
    ],
)
def test_a_job_has_as_many_people_as_it_needs(
    name: str, who: tuple[str, ...], has: int, wants: int
) -> None:
    found = named(jobs_have_their_people, job(name, helper_ids=who))

    assert found == [Breach("wrong-number-of-people", (name,), has, wants)]


def test_over_ten_kilograms_with_its_pot_a_second_may_lift() -> None:
    """HSE INDG143, guideline weight for arms stretched out: 10 kg, from memory."""
    name = "lift-13:00-lentils-1+rice-1"

    def found(pot_kg: float) -> list[Breach]:
        plan = job(name, helper_ids=("ada", "ben"))
        (rice,) = [p for p in plan.placements if p.id == "rice-1"]
        heavy = event("pots", rice.pot_id, mass_kg=round(pot_kg - rice.mass_kg, 3))
        return named(jobs_have_their_people, plan, event=heavy)

    assert found(10.001) == []
    assert found(10.0) == [Breach("wrong-number-of-people", (name,), 2, 1)]


def test_a_load_is_lifted_by_as_many_as_its_heaviest_pot_needs() -> None:
    for dish in ("rice", "lentils"):
        found = named(jobs_have_their_people, event=event("dishes", dish, lift_helpers=2))
        name = "lift-13:00-lentils-1+rice-1"
        assert found == [Breach("wrong-number-of-people", (name,), 1, 2)]


def test_what_bakes_long_is_looked_at_when_it_may_be_done() -> None:
    late = plan("placements", "bread-1", lifted_at=at("10:09"))
    late = plan("jobs", "lift-10:10-bread-1", late, at=at("10:09"))
    no_probe = without("jobs", "probe-10:00-bread-1")

    assert named(jobs_have_their_people, without("jobs", "probe-10:00-bread-1", old=late)) == []
    assert [b.ids[1] for b in named(jobs_have_their_people, no_probe)] == ["probe"]
    assert named(jobs_have_their_people, no_probe, event("dishes", "bread", shape="slab")) == []


def test_pots_that_bake_together_are_looked_at_when_the_last_may_be_done() -> None:
    """Rice is done at 11, lentils at 11:15; the box is emptied at one o'clock."""
    for baked in (("rice",), ("lentils",), ("rice", "lentils")):
        days = EVENT
        for dish in baked:
            days = edited(days, "dishes", dish, shape="baked")
        found = named(jobs_have_their_people, event=days)
        assert found == [Breach("job-missing", ("box-09:30", "probe"), at("11:15"))]


def test_a_pot_that_stays_on_its_ring_is_not_lifted_off() -> None:
    assert named(jobs_have_their_people, plan("placements", "stew-2", off_at=None)) == []


@pytest.mark.parametrize(
    ("name", "who", "limit"),
    [
        ("load-09:00-stew-1", ("ben",), "mirrors"),
        ("stir-09:30-stew-1", ("ben",), "mirrors"),
        ("insulate-10:20-stew-1", ("ben", "kid"), "mirrors"),
        ("load-11:30-tea-1", ("cam",), "burner"),
        ("lift-12:45-stew-2", ("cam", "ben"), "burner"),
        ("lift-13:00-lentils-1+rice-1", ("kid",), "lift"),
    ],
)
def test_a_job_is_done_by_one_who_may(name: str, who: tuple[str, ...], limit: str) -> None:
    found = named(jobs_have_their_people, job(name, helper_ids=who))

    assert found == [Breach("nobody-may-do-it", (name, *who), limit=limit)]


def test_at_an_untrained_cooker_only_hot_pots_ask_for_an_ability() -> None:
    found = named(jobs_have_their_people, event=untrained())

    kinds = {"lift", "insulate", "move"}
    assert {b.ids[0] for b in found} == {j.id for j in JOBS if j.kind in kinds}
    assert {(b.rule, b.limit) for b in found} == {("nobody-may-do-it", "lift")}
    assert named(jobs_have_their_people, event=untrained("lift")) == []


def test_a_job_without_a_cooker_is_at_its_loads() -> None:
    here = job("load-09:00-stew-1", cooker_id=None, helper_ids=("ben",))

    assert [b.limit for b in named(jobs_have_their_people, here)] == ["mirrors"]


def test_planned_again_only_what_is_to_come_is_asked_for() -> None:
    past = [j.id for j in JOBS if j.at <= at("10:20")]
    rest = without("jobs", *past)

    assert named(jobs_have_their_people, again("10:20", old=rest)) == []
    assert {b.ids[1] for b in named(jobs_have_their_people, again("10:19", old=rest))} == {
        "insulate"
    }


def test_a_load_that_is_in_is_not_loaded_again() -> None:
    rest = without("jobs", "load-10:30-stew-2")

    assert named(jobs_have_their_people, again("10:25", "stew-2", old=rest)) == []
    assert [b.ids[1] for b in named(jobs_have_their_people, again("10:25", old=rest))] == ["load"]
    lifted = without("jobs", "move-11:40-stew-2")
    assert [b.ids[1] for b in named(jobs_have_their_people, again("10:25", "stew-2", old=lifted))]


def test_who_did_what_is_past_is_not_asked() -> None:
    by_ben = job("load-09:00-stew-1", helper_ids=("ben",))

    assert named(jobs_have_their_people, again("09:00", old=by_ben)) == []
    assert named(jobs_have_their_people, again("08:59", old=by_ben))


# --- stirring


def stirred(dish: str, every_min: int, *clocks: str, old: Plan = PLAN) -> list[Breach]:
    """Return what is said of stirring where the stew is stirred at some clock times only."""
    bare = without("jobs", *(j.id for j in old.jobs if j.kind == "stir"), old=old)
    name = {
        "stew": ("stew-1",),
        "rice": ("lentils-1", "rice-1"),
        "lentils": ("lentils-1", "rice-1"),
    }
    jobs = tuple(
        Job(
            id=f"stir-{c}", kind="stir", at=at(c), minutes=5, helper_ids=("ada",),
            placement_ids=name[dish],
        )
        for c in clocks
    )  # fmt: skip
    days = EVENT
    for other in ("stew", "rice", "lentils"):
        every = every_min if other == dish else 0
        days = edited(days, "dishes", other, stir_every_min=every)
    found = named(jobs_have_their_people, more(bare, jobs=jobs), days)
    return [b for b in found if b.ids[0] not in ("mirror-10:30",)]


def test_food_is_stirred_as_often_as_it_must_be() -> None:
    """From loading at 9 to done at 10: loading itself may take half an hour."""
    assert stirred("stew", 30, "09:30") == []
    assert stirred("stew", 30, "09:31") == [
        Breach("not-stirred", ("mirror-09:00",), at("09:00"), at("09:31"))
    ]
    assert stirred("stew", 30, "09:29") == [
        Breach("not-stirred", ("mirror-09:00",), at("09:29"), at("10:00"))
    ]
    assert len(stirred("stew", 20, "09:30")) == 1
    assert stirred("stew", 20, "09:30", "09:40") == []
    assert len(stirred("stew", 45)) == 1
    assert stirred("stew", 60) == []


def test_nobody_stirs_more_often_than_each_slot() -> None:
    every = [f"09:{m}" for m in range(30, 60, 5)]

    assert stirred("stew", 3, *every) == []
    assert len(stirred("stew", 3, *every[:-1])) == 1


def test_it_is_stirred_until_done_or_lifted() -> None:
    never = plan("placements", "stew-1", done_at=at("11:00"))
    late = plan("placements", "stew-1", done_at=at("10:20"))

    assert stirred("stew", 30, "09:30", "10:00", old=never) == []
    assert len(stirred("stew", 30, "09:30", old=late)) == 1


@pytest.mark.parametrize("dish", ["rice", "lentils"])
def test_what_is_loaded_together_is_stirred_together(dish: str) -> None:
    """The box is loaded at 9:30; its slower pot is done at 11:15."""
    assert stirred(dish, 35, "10:05", "10:40") == []
    assert len(stirred(dish, 35, "10:05", "10:35")) == 1


def test_the_pot_that_needs_it_most_often_counts() -> None:
    both = edited(
        event("dishes", "rice", stir_every_min=60), "dishes", "lentils", stir_every_min=35
    )
    jobs = tuple(changed(JOBS[4], id=c, at=at(c), placement_ids=("rice-1", "lentils-1"))
                 for c in ("10:05", "10:55"))  # fmt: skip

    found = named(jobs_have_their_people, more(jobs=jobs), both)

    assert found == [Breach("not-stirred", ("box-09:30",), at("10:05"), at("10:55"))]


def test_planned_again_stirring_is_counted_from_now() -> None:
    longer = plan("placements", "stew-1", done_at=at("10:20"))

    assert stirred("stew", 30, "09:30", old=again("10:10")) == []
    assert stirred("stew", 30, "09:30", old=again("09:50", old=longer)) == []
    assert stirred("stew", 30, "09:30", old=again("09:45", old=longer)) == [
        Breach("not-stirred", ("mirror-09:00",), at("09:45"), at("10:20"))
    ]
