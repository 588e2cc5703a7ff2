"""The verdict says how good a plan is by the chance that was wanted; problems have their price."""

from __future__ import annotations

import pytest

from events.model import Event
from events.site import Weather
from events.table import changed
from service.text.notices import quicker
from service.text.verdict import problem_words, short_verdict, verdict
from solver.feasibility.changes import apply
from solver.feasibility.problems import Problem, problems
from solver.feasibility.season import season, usual_of_100
from solver.notices import PlanWarning
from solver.plan import MealChance, Plan, Unplaced
from tests.conftest import plan_of, sample_event, sample_plan


def harvest(of_100: int | None, *, wanted: int = 80) -> tuple[Event, Plan]:
    event = changed(sample_event("harvest-lunch"), chance_pct=wanted)
    plan = sample_plan("harvest-lunch")
    assert plan.risk is not None
    meals = tuple(MealChance(meal_id=m.meal_id, of_100=of_100 or 0) for m in plan.risk.meals)
    risk = None if of_100 is None else changed(plan.risk, meals=meals)
    return event, changed(plan, risk=risk)


@pytest.mark.parametrize(
    ("of_100", "state", "heading"),
    [
        (90, "good", "Lunch looks good."),
        (80, "good", "Lunch looks good."),
        (75, "tight", "Lunch is tight."),
        (55, "bad", "Lunch will quite possibly be late."),
        (20, "bad", "Lunch will probably be late."),
        (None, "early", "Too early to say."),
    ],
)
def test_the_verdict_goes_by_the_chance_that_was_wanted(
    of_100: int | None, state: str, heading: str
) -> None:
    said = verdict(*harvest(of_100))

    assert (said.state, said.heading) == (state, heading)
    assert ("you asked for 80" in said.sentence) == (state in ("tight", "bad"))


def test_a_plan_that_lacks_a_dish_is_never_called_whole_or_good() -> None:
    event, plan = sample_event("winter-refusal"), sample_plan("winter-refusal")

    said = verdict(event, plan)

    assert said.state == "bad"
    assert "will not be whole" in said.heading
    assert "whole and" not in said.sentence


@pytest.mark.parametrize("sample", ["harvest-lunch", "winter-refusal", "school-day"])
def test_every_press_can_be_made_and_changes_the_event(sample: str) -> None:
    event, plan = sample_event(sample), sample_plan(sample)

    for problem in problems(event, plan):
        words = problem_words(event, problem)
        assert words.heading
        assert words.why
        for fix in problem.fixes:
            words = problem_words(event, problem, fix)
            assert words.press
            assert words.cost
            better = apply(event, fix.id)
            assert better is not None
            assert better != event


def test_less_of_everything_is_named_with_what_it_takes() -> None:
    event = sample_event("harvest-lunch")

    less = apply(event, "all-less-70")

    assert less is not None
    assert sum(d.mass_kg for d in less.dishes) < 0.75 * sum(d.mass_kg for d in event.dishes)
    assert all(d.portions >= 1 for d in less.dishes)


def test_a_plan_is_said_in_a_few_words() -> None:
    assert short_verdict(*harvest(75)) == "6 of 6 dishes, 75 of 100"


def test_a_day_on_gas_alone_says_so_and_what_the_sun_does() -> None:
    event = sample_event("harvest-lunch")
    plan = sample_plan("harvest-lunch")
    ring = next(c.id for c in event.cookers if c.on_gas)
    on_gas = tuple(changed(p, cooker_id=ring) for p in plan.placements)
    plan = changed(plan, placements=on_gas, risk=None)

    said = verdict(event, plan)

    assert said.heading == "This is a gas day: no sun cooker is used."
    assert said.state == "good"
    highest = max(s.elevation_deg for s in plan.sun)
    assert said.sentence.startswith(
        f"All 6 dishes fit. The sun reaches {highest:.0f}° at its highest. Usable sun "
    )
    assert "clear sky" not in said.sentence


@pytest.mark.parametrize(
    ("kept", "out", "says"),
    [(2, 0, "Both dishes fit."), (1, 0, "The dish fits."), (0, 3, "no dish found a place.")],
)
def test_few_dishes_are_counted_as_people_do(kept: int, out: int, says: str) -> None:
    event, plan = harvest(None)
    dishes = event.dishes[: kept + out]
    ids = {d.id for d in dishes[:kept]}
    plan = changed(
        plan,
        placements=tuple(p for p in plan.placements if p.dish_id in ids),
        unplaced=tuple(Unplaced(dish_id=d.id, reasons=()) for d in dishes[kept:]),
    )

    said = verdict(changed(event, dishes=dishes, talks=()), plan)

    assert says in f"{said.heading} {said.sentence}"
    assert "0 of" not in said.sentence


@pytest.mark.parametrize(("days_ahead", "is_early"), [(16, False), (17, True)])
def test_a_sky_typed_half_a_year_ahead_tells_no_chance(days_ahead: int, is_early: bool) -> None:
    event = sample_event("winter-refusal")
    assert event.weather.hours
    event = changed(event, weather=changed(event.weather, days_ahead=days_ahead))
    few = changed(event, dishes=event.dishes[:1], talks=())
    plan = plan_of(few)

    assert (plan.risk is None) == is_early
    assert ("sky-supposed" in {w.kind for w in plan.warnings}) == is_early
    whole = changed(plan, unplaced=())
    said = verdict(few, whole)
    if is_early:
        assert (said.state, said.heading) == ("early", "Too early to say.")
        assert "Planned for the sky that you put in." in said.sentence


def test_on_the_day_itself_nobody_is_told_that_it_is_too_early() -> None:
    event, plan = harvest(None)
    without = changed(event, weather=Weather())

    asked = verdict(without, plan, on_the_day=True)
    known = verdict(event, plan, on_the_day=True)

    assert asked.heading == "No forecast given. What does the sky look like?"
    assert known.heading == "Planned before the sky was known."
    assert verdict(without, plan).heading == "Too early to say."


@pytest.mark.parametrize(("water_kg", "says"), [(1.5, "1.5 kg would"), (2.0, "all would")])
def test_a_pot_that_boils_dry_loses_no_more_than_it_holds(water_kg: float, says: str) -> None:
    dry = Problem(kind="boils-dry", dish_ids=("rice",), water_kg=water_kg, in_pot_kg=2.0)

    words = problem_words(sample_event("harvest-lunch"), dry)

    assert words.heading == f"Rice boils dry: of 2.0 kg of water in a pot, {says} boil away."


def test_what_stands_lukewarm_is_told_to_be_cooled_and_what_heats_slowly_made_in_less() -> None:
    event = sample_event("harvest-lunch")

    def why(dish_id: str) -> str:
        return problem_words(event, Problem(kind="warm-long", dish_ids=(dish_id,), minutes=141)).why

    assert "in ice water, stirred, under 21 °C within 120 min" in why("beetroot")
    assert "less into each pot" not in why("beetroot")
    assert "Start it in a mirror, or put less into each pot" in why("bean-stew")
    assert "ice water" not in why("bean-stew")


def test_food_that_is_lukewarm_too_long_stands_in_the_headline_before_any_chance() -> None:
    event, plan = harvest(None)
    at = next(p for p in plan.placements if p.dish_id == "rice")
    figures = {"warm_min": 130.0, "limit_min": 120.0, "away_min": 240.0, "batch": 1, "batches": 1}
    warm = PlanWarning(kind="warm-long", placement_id=at.id, dish_ids=("rice",), figures=figures)
    plan = changed(plan, warnings=(*plan.warnings, warm))

    early = verdict(event, plan)
    out = verdict(event, changed(plan, unplaced=(Unplaced(dish_id="tea", reasons=()),)))

    assert (early.state, early.heading) == ("tight", "Rice: lukewarm for too long.")
    assert early.sentence.startswith("Too early to say. All 6 dishes fit.")
    assert out.state == "bad"
    assert out.heading.endswith("found no place. Rice: lukewarm for too long.")


def test_advice_names_no_cooker_that_is_not_there() -> None:
    event = sample_event("harvest-lunch")
    no_mirror = changed(
        event, cookers=tuple(c for c in event.cookers if c.kind != "parabolic"), talks=()
    )
    only_boxes = changed(no_mirror, cookers=tuple(c for c in no_mirror.cookers if not c.on_gas))

    stew = event.dish("bean-stew")
    assert quicker(event, stew) == "Start it in a mirror, or put less"
    assert quicker(no_mirror, stew) == "Start it on a gas ring, or put less"
    assert quicker(only_boxes, stew) == "Put less"


def test_without_a_forecast_the_months_usual_skies_are_told_as_the_year_has_them() -> None:
    event, plan = harvest(None)
    year, week, _ = event.date.isocalendar()
    of_100 = season(event, year, weeks=(week - 1,)).weeks[0].all_of_100

    said = verdict(event, plan, usual_of_100=usual_of_100(event))

    assert f"{of_100} of 100 usual November skies" in said.sentence
    assert "nobody can say" not in said.sentence
    assert "nobody can say" in verdict(event, plan).sentence


def test_what_has_no_minute_to_spare_is_named() -> None:
    event, plan = harvest(None)
    tight = tuple(changed(p, margin_min=0) if p.dish_id == "rice" else p for p in plan.placements)

    early = verdict(event, changed(plan, placements=tight))
    event, plan = harvest(90)
    good = verdict(event, changed(plan, placements=tight))

    assert (early.state, early.heading) == ("tight", "No minute to spare: Rice.")
    assert good.heading == "Lunch looks good."
    assert good.sentence.endswith("No minute to spare: Rice.")
