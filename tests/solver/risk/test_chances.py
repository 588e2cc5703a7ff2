"""What a chance counts: every batch, rested, safe, by people who come late; rescues; gas."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from events.model import Event
from events.table import changed
from solver.plan import Plan
from solver.risk import monte_carlo
from solver.risk.monte_carlo import simulate
from solver.simulation.day import make_day
from solver.simulation.day_state import LoadInProgress
from solver.simulation.run import SimulationResult
from solver.thermal.energy_balance import Ensemble
from tests.conftest import sample_event, sample_plan

RUNS = 100


def ready_at(monkeypatch: pytest.MonkeyPatch, late_min: dict[str, np.ndarray]) -> None:
    """Let each batch be ready so many minutes after it is served, run by run; else long before."""

    def ready(day: object, plan: object, fill: monte_carlo.Fill, samples: object) -> np.ndarray:
        rows = []
        for p in fill.placements:
            served = (p.served_at - day.sky.start_at).total_seconds() / 60  # type: ignore[attr-defined]
            rows.append(served + late_min.get(p.id, np.full(RUNS, -300.0)))
        return np.asarray(rows)

    monkeypatch.setattr(monte_carlo, "_ready", ready)


def late_in(*runs: int) -> np.ndarray:
    late = np.full(RUNS, -300.0)
    late[list(runs)] = 1.0
    return late


def told(event: Event, plan: Plan) -> dict[str, int]:
    risk = simulate(make_day(event), plan, runs=RUNS)
    return {c.dish_id: c.of_100 for c in risk.dishes}


def two_batches(plan: Plan) -> tuple[str, str, str]:
    name = next(d for d, n in Counter(p.dish_id for p in plan.placements).items() if n == 2)
    first, second = (p.id for p in plan.placements if p.dish_id == name)
    return name, first, second


@pytest.mark.slow
def test_a_dish_is_in_time_when_each_of_its_batches_is(monkeypatch: pytest.MonkeyPatch) -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")
    dish, first, second = two_batches(plan)

    ready_at(monkeypatch, {first: late_in(*range(30)), second: late_in(*range(20, 60))})

    chances = told(event, plan)
    assert chances.pop(dish) == 40
    assert set(chances.values()) == {95}  # never more


@pytest.mark.slow
def test_a_dish_must_have_rested_when_it_is_served(monkeypatch: pytest.MonkeyPatch) -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")
    dish, first, _ = two_batches(plan)
    ready = np.full(RUNS, -20.0)
    ready[:50] = -19.0
    ready_at(monkeypatch, {first: ready})

    def resting(rest_min: int) -> Event:
        rows = tuple(changed(d, rest_min=rest_min) if d.id == dish else d for d in event.dishes)
        return changed(event, dishes=rows)

    assert told(resting(19), plan)[dish] == 95
    assert told(resting(20), plan)[dish] == 50
    assert told(resting(21), plan)[dish] == 0


@pytest.mark.slow
def test_chances_are_shown_to_the_nearest_step_of_five(monkeypatch: pytest.MonkeyPatch) -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")
    dish, first, _ = two_batches(plan)

    for missed, shown in ((2, 95), (7, 95), (8, 90), (12, 90), (13, 85), (98, 0), (100, 0)):
        ready_at(monkeypatch, {first: late_in(*range(missed))})
        assert told(event, plan)[dish] == shown


@pytest.mark.slow
def test_meals_and_the_whole_plan_need_every_dish(monkeypatch: pytest.MonkeyPatch) -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")
    dish, first, _ = two_batches(plan)
    other = next(p for p in plan.placements if p.dish_id != dish)
    ready_at(monkeypatch, {first: late_in(*range(40)), other.id: late_in(*range(30, 50))})

    risk = simulate(make_day(event), plan, runs=RUNS)

    same_meal = event.dish(dish).meal == event.dish(other.dish_id).meal
    meals = {m.meal_id: m.of_100 for m in risk.meals}
    assert risk.all_of_100 == 50
    assert meals[event.dish(dish).meal] == (50 if same_meal else 60)
    assert risk.without[0].dish_id == dish
    assert risk.without[0].of_100 == 80
    weakest = {p.cooker_id for p in plan.placements if p.dish_id == dish}
    assert risk.weakest_cooker_id in weakest
    assert risk.dishes_on_time == pytest.approx(len({p.dish_id for p in plan.placements}) - 0.6)


def test_what_is_warm_too_long_counts_as_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a clock of no minutes at all only dishes without a clock are left."""
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    before = told(event, plan)

    monkeypatch.setattr("solver.simulation.holding.clock_limit_min", lambda event, dish: 0)
    after = told(event, plan)

    has_clock = {d.id for d in event.dishes if d.hazardous} & before.keys()
    assert has_clock
    assert max(before[d] for d in has_clock) >= 50
    assert {after[d] for d in has_clock} == {0}
    assert all(after[d] == before[d] for d in before.keys() - has_clock)


def with_spent(plan: Plan, dish_id: str, spent_min: int) -> Plan:
    return changed(
        plan,
        placements=tuple(
            changed(p, spent_min=spent_min if p.dish_id == dish_id else p.spent_min)
            for p in plan.placements
        ),
    )


def test_what_a_pot_spent_in_a_cooker_that_it_had_to_leave_counts() -> None:
    """The limit is 240 minutes: with as many spent before, whatever comes is too much."""
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    before = told(event, plan)
    dish = max((d.id for d in event.dishes if d.hazardous), key=lambda d: before.get(d, 0))
    assert before[dish] >= 80

    spent = told(event, with_spent(plan, dish, 239))
    little = told(event, with_spent(plan, dish, 5))

    assert spent == {**before, dish: 0}
    assert little == before


def eggs(**values: object) -> tuple[Event, Plan, str]:
    """Return a plan with a dish that can spoil and is served cold."""
    event = sample_event("school-day")
    cold = next(d for d in event.dishes if d.hazardous and not d.serve_hot)
    dishes = tuple(changed(d, **values) if d.id == cold.id else d for d in event.dishes)
    return changed(event, dishes=dishes), sample_plan("school-day"), cold.id


def eaten_late(plan: Plan, dish_id: str, hours: float) -> Plan:
    return changed(
        plan,
        placements=tuple(
            changed(p, last_plate_at=p.lifted_at + timedelta(hours=hours))
            if p.dish_id == dish_id
            else p
            for p in plan.placements
        ),
    )


def test_what_is_served_cold_counts_while_it_stands() -> None:
    """Eggs are under 60 °C soon after they are lifted: 240 minutes later they are thrown away."""
    event, plan, dish = eggs()
    before = told(event, plan)
    assert before[dish] >= 80

    assert told(event, eaten_late(plan, dish, 6)) == {**before, dish: 0}
    assert told(event, eaten_late(plan, dish, 1)) == before
    safe, _, _ = eggs(hazardous=False)
    assert told(safe, eaten_late(plan, dish, 6)) == before
    hot, _, _ = eggs(serve_hot=True)
    assert told(hot, eaten_late(plan, dish, 6)) == before  # other rules hold what is served hot


def test_what_cools_in_its_cooker_counts_from_when_it_was_done() -> None:
    """Done after 30 minutes, looked at every three: under 60 °C at six of these, before and after.

    What was never done, or is lifted (its middle is no longer followed), has no such minutes.
    """
    core_c = np.full((41, 3, 1), 80.0)
    core_c[:6, 0] = core_c[11:17, 0] = 59.9
    core_c[20:, 1] = np.nan
    core_c[:, 2] = 40.0
    never = np.full((3, 1), np.inf)
    done = np.asarray([[30.0], [30.0], [np.inf]])
    result = SimulationResult(done, never, never, never, never[0], core_c)

    assert monte_carlo._cooled_min(result).tolist() == [[18.0], [0.0], [0.0]]


@pytest.mark.parametrize(
    ("clock_min", "hours", "eaten"),
    [(30.0, 1.0, True), (30.0, 6.0, False), (235.0, 1.0, False), (241.0, 0.0, False)],
)
def test_what_is_out_already_goes_on_counting_until_it_is_eaten(
    clock_min: float, hours: float, eaten: bool
) -> None:
    """Eggs at 60 °C when they are lifted: every minute that they stand counts, to 240."""
    event, plan, dish = eggs()
    plan = eaten_late(plan, dish, hours)
    day = make_day(event)
    samples = monte_carlo._samples(day, 5, 1)
    fill = next(f for f in monte_carlo._fills(day, plan) if f.first.dish_id == dish)
    forcing = monte_carlo._forcing(day, plan, fill, samples)
    state = monte_carlo._loaded(day, fill, forcing, samples)
    state.core_c = np.full_like(state.core_c, 60.0)
    clocks = (clock_min,) * len(fill.placements)
    out = LoadInProgress(fill.placements, "lifted", None, state, clocks, ())  # type: ignore[arg-type]

    ready = monte_carlo._ready(day, plan, replace(fill, in_progress=out), samples)

    assert np.isfinite(ready).all() == eaten
    assert np.isfinite(ready).any() == eaten


def test_people_load_late_and_turn_late(monkeypatch: pytest.MonkeyPatch) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    day = make_day(event)

    def came(name: str, *late_min: int) -> float:
        with pytest.MonkeyPatch.context() as patch:
            if late_min:
                patch.setattr(monte_carlo, name, late_min)
            return simulate(day, plan).dishes_on_time

    assert came("LOAD_LATE_MIN", 90) < came("LOAD_LATE_MIN")
    assert (
        came("TURN_LATE_MIN", 90) < came("TURN_LATE_MIN") <= came("TURN_LATE_MIN", 0) + 0.2
    )  # other draws


def test_half_of_the_days_somebody_loads_five_or_ten_minutes_late(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    day = make_day(event)
    planned = {(p.loaded_at - day.sky.start_at).total_seconds() / 60 for p in plan.placements}
    late: Counter[float] = Counter()
    run = monte_carlo.run

    def seen(state: Ensemble, *rest: object, **named: object) -> object:
        late.update(float(min(m - p for p in planned if p <= m)) for m in state.minute)
        return run(state, *rest, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(monte_carlo, "run", seen)
    simulate(day, plan, runs=RUNS)

    assert set(late) == {0.0, 5.0, 10.0}
    assert late[0.0] / late.total() == pytest.approx(0.5, abs=0.1)


def test_a_first_aim_is_never_late_and_others_go_to_the_same_ring() -> None:
    turns = list(sample_plan("harvest-lunch").turns)

    late = monte_carlo._delayed(turns, 15)

    for before, after in zip(turns, late, strict=True):
        assert after.ring_min == before.ring_min
        assert after.at - before.at == timedelta(minutes=0 if before.first else 15)
