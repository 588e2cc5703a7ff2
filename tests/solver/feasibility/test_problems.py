"""What weighs most: dangers first, a dish to leave out last; changes that can be enough."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

from events.model import Event
from events.table import changed
from solver.feasibility.changes import (
    DoneNearer,
    EatLater,
    KeepOut,
    LeaveOut,
    MakeLess,
    MorePots,
    UseGas,
    apply,
)
from solver.feasibility.problems import problems
from solver.notices import PlanWarning, Refusal
from solver.plan import DishChance, Plan, Unplaced
from solver.planning.pipeline import make_plan
from tests.conftest import sample_event, sample_plan

NOON = datetime(2026, 11, 28, 10, tzinfo=UTC)


def harvest(**chances: int) -> tuple[Event, Plan]:
    """Return a lunch that is wanted on 80 of 100 days, with chances as given."""
    event = changed(sample_event("harvest-lunch"), chance_pct=80)
    plan = sample_plan("harvest-lunch")
    return event, changed(plan, risk=changed(plan.risk, **chances))


def dry(event: Event, plan: Plan) -> tuple[Plan, str]:
    """Return a plan with a pot on a mirror that would boil dry, and its mirror."""
    at = next(p for p in plan.placements if event.cooker(p.cooker_id).kind == "parabolic")
    figures = {"water_kg": 1.9, "in_pot_kg": 2.2, "batch": 1.0, "batches": 1.0}
    warning = PlanWarning(
        kind="boils-dry", placement_id=at.id, dish_ids=(at.dish_id,), figures=figures
    )
    return changed(plan, warnings=(*plan.warnings, warning)), at.cooker_id


def test_a_pot_that_boils_dry_stands_first_and_can_be_kept_out_of_its_mirror() -> None:
    event, plan = harvest()
    plan, mirror = dry(event, plan)

    first = problems(event, plan)[0]

    assert (first.kind, first.water_kg, first.in_pot_kg) == ("boils-dry", 1.9, 2.2)
    out = [f.change for f in first.fixes if isinstance(f.change, KeepOut)]
    assert out
    assert all(mirror in c.cooker_ids for c in out)


def test_the_dish_that_pulls_the_chance_down_can_always_be_left_out() -> None:
    event, plan = harvest()
    dish_id = plan.placements[0].dish_id

    def last(all_of_100: int, without: int) -> str:
        left = (DishChance(dish_id=dish_id, of_100=without),)
        risk = changed(plan.risk, all_of_100=all_of_100, without=left)
        found = problems(event, changed(plan, risk=risk))
        return found[-1].kind if found else ""

    assert last(45, 65) == "pulls-down"
    assert last(45, 55) == "pulls-down"
    assert last(45, 50) != "pulls-down"  # no clear gain
    assert last(80, 95) != "pulls-down"  # sure enough as it is
    fixes = problems(
        event,
        changed(
            plan,
            risk=changed(
                plan.risk, all_of_100=45, without=(DishChance(dish_id=dish_id, of_100=65),)
            ),
        ),
    )[-1].fixes
    assert [type(f.change) for f in fixes] == [LeaveOut]


def test_a_dish_that_is_too_late_gets_an_hour_at_which_it_can_be_ready() -> None:
    event, plan = harvest()
    dish = next(d for d in event.dishes if d.meal == event.meals[0].id)
    meal_at = event.instant(event.meal(dish.meal).start)
    late = Refusal(
        kind="too-late",
        figures={"rest_min": 5.0},
        instants={
            "loaded_at": meal_at - timedelta(minutes=60),
            "done_at": meal_at + timedelta(minutes=18),
            "meal_at": meal_at,
        },
    )
    plan = changed(plan, unplaced=(Unplaced(dish_id=dish.id, reasons=(late,)),))

    problem = next(p for p in problems(event, plan) if p.kind == "not-placed")

    later = [f.change.by_min for f in problem.fixes if isinstance(f.change, EatLater)]
    assert later[0] == 30  # 23 minutes late: a quarter of an hour is not enough
    assert 15 not in later


def test_no_gas_is_offered_for_what_no_ring_bakes() -> None:
    event, plan = harvest()
    oven = [d.id for d in event.dishes if d.needs_body_c]
    reasons = (Refusal(kind="no-sun"),)
    plan = changed(plan, unplaced=tuple(Unplaced(dish_id=d, reasons=reasons) for d in oven))

    for problem in problems(event, plan):
        if problem.dish_ids[0] in oven:
            assert not [f for f in problem.fixes if isinstance(f.change, UseGas)]


def stood(event: Event, plan: Plan, dish_id: str, *, warm_min: int, held_min: int) -> Plan:
    """Return a plan in which a dish is lukewarm for so long, and waits so long for its meal."""
    at = next(p for p in plan.placements if p.dish_id == dish_id)
    long = changed(at, between_5_and_60_min=warm_min, held_min=held_min)
    figures = {"batch": 1.0, "batches": 1.0, "limit_min": 120.0, "away_min": 240.0}
    warning = PlanWarning(
        kind="warm-long",
        placement_id=at.id,
        dish_ids=(dish_id,),
        figures={**figures, "warm_min": float(warm_min)},
    )
    placements = tuple(long if p.id == at.id else p for p in plan.placements)
    return changed(plan, placements=placements, warnings=(*plan.warnings, warning))


def test_what_is_served_cold_is_offered_nearer_to_its_meal_by_the_minutes_that_are_too_many() -> (
    None
):
    """Lukewarm for 21 minutes over the half of 240, 145 before its meal: 124, so two hours."""
    event, plan = harvest()

    first = problems(event, stood(event, plan, "beetroot", warm_min=141, held_min=145))[0]

    assert first.kind == "warm-long"
    nearer = [f.change.most_min for f in first.fixes if isinstance(f.change, DoneNearer)]
    assert nearer == [120, 90]
    assert isinstance(first.fixes[0].change, DoneNearer)
    assert not [f for f in first.fixes if isinstance(f.change, MakeLess)]  # it stands no less


def test_what_is_served_hot_is_offered_in_smaller_pots() -> None:
    event, plan = harvest()

    first = problems(event, stood(event, plan, "bean-stew", warm_min=141, held_min=145))[0]

    assert not [f for f in first.fixes if isinstance(f.change, DoneNearer)]
    assert [f for f in first.fixes if isinstance(f.change, MakeLess)]


def test_what_is_lukewarm_is_offered_in_more_pots_of_those_that_there_are() -> None:
    event, plan = harvest()
    plan = stood(event, plan, "bean-stew", warm_min=141, held_min=145)

    def offered(event: Event) -> list[int]:
        first = problems(event, plan)[0]
        return [f.change.pots for f in first.fixes if isinstance(f.change, MorePots)]

    more = offered(event)
    assert more == [2, 3]
    split = apply(event, f"bean-stew-pots-{more[0]}")
    assert split is not None
    assert split.dish("bean-stew").batches_least == 2
    one = tuple(changed(p, count=1) for p in event.pots if p.id == "pot-12l")
    assert offered(changed(event, pots=one)) == []


def test_a_dish_in_more_pots_is_planned_so() -> None:
    event = changed(sample_event("harvest-lunch"), talks=())
    rice = changed(event.dish("rice"), batches_min=2)

    plan = make_plan(changed(event, dishes=(rice,)))

    assert [p.batches for p in plan.placements] == [2, 2]


def test_a_dish_without_a_place_is_offered_smaller_and_then_smaller_and_later_at_once() -> None:
    event, plan = harvest()
    why = (Refusal(kind="never-done", figures={"reached_c": 90.0}, instants={"until_at": NOON}),)
    plan = changed(plan, unplaced=(Unplaced(dish_id="bean-stew", reasons=why),))

    fixes = next(p for p in problems(event, plan) if p.kind == "not-placed").fixes

    alone = [f.change.portions for f in fixes if isinstance(f.change, MakeLess) and not f.also]
    assert alone == [21, 18, 15, 12, 9, 6]  # of 24: the most that fits is met first
    pairs = [f for f in fixes if f.also]
    assert pairs
    assert fixes[-len(pairs) :] == tuple(pairs)  # only where no single change helps
    better = apply(event, *(one.id for one in pairs[0].all))
    assert better is not None
    assert better.dish("bean-stew").portions == 18
    assert better.meals[0].start == time(13)
