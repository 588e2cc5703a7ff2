"""One pot over sampled days, by hand: what it is given, what it may not do, when its heat ends."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from events.food_rules import rules_of
from events.model import Event
from events.table import changed
from solver.plan import Placement, Plan
from solver.risk import monte_carlo
from solver.risk.monte_carlo import Fill, Samples
from solver.simulation.cooker_draws import CookerDraws
from solver.simulation.day import DRAWS_SEED, Day
from solver.simulation.day_state import LoadInProgress
from solver.simulation.transfer import Finish
from solver.thermal.energy_balance import Ensemble, Forcing
from tests.solver.checking.hand_laid import PLACEMENTS, PLAN, at
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import EVENT, START, day

RUNS = 4
STEW, MOVED, RICE, LENTILS, BREAD, TEA = PLACEMENTS
ALONE = changed(RICE, fill="alone")


class Ones:
    """Luck that draws the second of every choice, and one standard deviation above every mean."""

    def standard_normal(self, shape: object) -> object:
        return np.ones(shape)  # type: ignore[call-overload]

    def choice(self, of: tuple[int, ...], runs: int) -> object:
        return np.full(runs, of[-1])


def samples(day: Day) -> Samples:
    size = (RUNS, day.sky.air_c.size)
    draws = CookerDraws(np.full(RUNS, 0.9), np.full(RUNS, 1.2))
    cookers = {c.id: draws for c in day.event.cookers}
    beam, diffuse = np.full(size, 800.0), np.full(size, 100.0)
    return Samples(RUNS, Ones(), beam, diffuse, cookers)  # type: ignore[arg-type]


def fill_of(day: Day, *placements: Placement) -> tuple[Plan, Fill]:
    """Return a plan of these placements alone, and the first fill of it."""
    plan = changed(PLAN, placements=placements)
    return plan, monte_carlo._fills(day, plan)[0]


def with_dish(name: str, **values: object) -> Event:
    dishes = tuple(changed(d, **values) if d.id == name else d for d in EVENT.dishes)
    return changed(EVENT, dishes=dishes)


def ready(
    monkeypatch: pytest.MonkeyPatch,
    placement: Placement,
    event: Event = EVENT,
    *,
    done_min: float = 60.0,
    clock_min: float = 0.0,
) -> tuple[float, dict[str, float]]:
    """Return when a pot is ready whose run is given, and from when until when it was run."""
    ran: dict[str, float] = {}

    def run(state: Ensemble, forcing: Forcing, *, until: np.ndarray, **more: object) -> object:
        ran.update(start=float(state.minute[0]), until=float(until[0]), watts=forcing.watts.sum())
        shape = state.pot_c.shape
        return SimpleNamespace(
            done_min=np.full(shape, done_min), clock_min=np.full(shape, clock_min)
        )

    monkeypatch.setattr(monte_carlo, "run", run)
    plan, fill = fill_of(day(event), placement)
    return float(monte_carlo._ready(day(event), plan, fill, samples(day(event)))[0, 0]), ran


@pytest.mark.parametrize(
    ("values", "clock_min", "comes"),
    [
        ({}, 240.0, True),
        ({}, 240.1, False),
        ({"hazardous": False}, 999.0, True),
    ],
)
def test_what_was_too_long_between_5_and_60_degrees_never_comes(
    monkeypatch: pytest.MonkeyPatch, values: dict[str, object], clock_min: float, comes: bool
) -> None:
    event = with_dish("rice", **values)

    when, _ = ready(monkeypatch, ALONE, event, clock_min=clock_min)

    assert np.isfinite(when) == comes


def test_it_is_ready_its_minutes_after_it_was_really_loaded(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Half past nine, and ten minutes late as one in four."""
    when, ran = ready(monkeypatch, ALONE, done_min=75.0)

    assert ran["start"] == 9 * 60 + 40
    assert when == 9 * 60 + 40 + 75


@pytest.mark.parametrize(
    ("placement", "until"),
    [
        (changed(ALONE, lifted_at=at("11:20")), "11:20"),
        (changed(ALONE, lifted_at=at("13:00")), "12:00"),  # heat after it was served is none
        (TEA, "12:00"),
    ],
    ids=["lifted", "left-in", "on-gas"],
)
def test_what_leaves_its_heat_is_heated_no_longer(
    monkeypatch: pytest.MonkeyPatch, placement: Placement, until: str
) -> None:
    _, ran = ready(monkeypatch, placement)

    assert ran["until"] == (at(until) - at("00:00")).total_seconds() / 60 + 1


# --- in the second cooker


@pytest.mark.parametrize(
    ("placement", "lifted", "until"),
    [
        (STEW, "10:20", "12:30"),  # a hay box goes on cooking, to the last plate
        (changed(MOVED, off_at=at("12:10")), "11:40", "12:10"),  # a ring is off then
        (changed(MOVED, off_at=None), "11:40", "12:30"),
    ],
    ids=["hay", "ring-off", "ring-until-served"],
)
def test_what_was_to_be_done_when_it_is_moved_gets_no_more_sun_where_it_is_not(
    monkeypatch: pytest.MonkeyPatch, placement: Placement, lifted: str, until: str
) -> None:
    """Each second cooker is worth, and loses, what the day has drawn for it."""
    moved: dict[str, list[float]] = {}

    def finish(state: Ensemble, forcing: Forcing, *, until: np.ndarray, **more: object) -> Finish:
        moved.update(start=state.minute.tolist(), until=until.tolist())
        moved.update(strength=state.strength.tolist(), loss=state.loss.tolist())
        return Finish(*np.full((3, RUNS), 90.0))

    monkeypatch.setattr(monte_carlo, "finish", finish)
    plan, fill = fill_of(day(), placement)
    monte_carlo._ready(day(), plan, fill, samples(day()))

    start, end = ((at(c) - at("00:00")).total_seconds() / 60 for c in (lifted, until))
    assert max(moved["start"]) < start + 5 + 3  # five in the open, after steps of three minutes
    assert moved["until"] == [end] * RUNS
    assert (moved["strength"], moved["loss"]) == ([0.9] * RUNS, [1.2] * RUNS)


@pytest.mark.parametrize(
    ("cooker", "values", "coldest_c", "clock_min", "comes"),
    [
        ("hay", {}, 63.0, 240.0, True),
        ("hay", {}, 62.9, 240.0, False),
        ("hay", {"serve_hot": False}, 40.0, 240.0, True),
        ("hay", {}, 63.0, 240.1, False),
        ("hay", {"hazardous": False}, 63.0, 999.0, True),
        ("ring", {}, 20.0, 240.0, True),  # a flame keeps it hot
        ("ring", {}, 63.0, 240.1, False),
    ],
)
def test_a_pot_moved_before_it_is_done_is_done_hot_and_safe_in_its_second_cooker(
    monkeypatch: pytest.MonkeyPatch,
    cooker: str,
    values: dict[str, object],
    coldest_c: float,
    clock_min: float,
    comes: bool,
) -> None:
    moved: dict[str, float] = {}

    def finish(state: Ensemble, forcing: Forcing, *, until: np.ndarray, **more: object) -> Finish:
        moved.update(start=float(state.minute[0]), until=float(until[0]))
        moved["cools"] = float(bool(more["cools"]))
        one = np.ones(RUNS)
        return Finish(700 * one, clock_min * one, coldest_c * one)

    monkeypatch.setattr(monte_carlo, "finish", finish)
    event = with_dish("stew", **values)
    placement = changed(
        STEW, then_cooker_id=cooker, lifted_at=at("09:50"), done_at=at("11:00"), off_at=at("12:10")
    )
    plan, fill = fill_of(day(event), placement)

    found = monte_carlo._ready(day(event), plan, fill, samples(day(event)))

    # Run until the lift in steps of three minutes, then five in the open; to the last plate in
    # hay, on a ring until it is off, or served.
    assert 9 * 60 + 55 <= moved["start"] < 9 * 60 + 59
    assert moved["until"] == 12 * 60 + (30 if cooker == "hay" else 0)
    assert moved["cools"] == (cooker == "hay")  # how cold it gets there is followed
    assert found.tolist() == [[700.0 if comes else np.inf] * RUNS]


# --- what a day gives it


def test_a_pot_has_its_cookers_own_sun_wind_and_aim(monkeypatch: pytest.MonkeyPatch) -> None:
    """0.5 m² at half efficiency under 800 W/m² are 200 W; from 60° up on the sky is free."""
    monkeypatch.setattr(monte_carlo, "_pointing", lambda *given: np.full((RUNS, 1440), 0.5))
    behind = changed(EVENT, site=changed(EVENT.site, skyline=((0.0, 60.0), (180.0, 60.0))))
    here = day(behind)
    half = {**here.availability, "box": np.full(1440, 0.25)}
    plan, fill = fill_of(here, ALONE)

    forcing = monte_carlo._forcing(replace(here, availability=half), plan, fill, samples(here))

    high = here.sky.elevation_deg > 60
    span = slice(9 * 60 + 30, 12 * 60)
    lit = forcing.watts[:, span] > 0
    assert (lit == high[span]).all()
    assert high[span].any()
    assert not high[span].all()
    assert forcing.watts.max() == pytest.approx(200 * 0.5 * 0.25)
    assert forcing.wind_m_s is here.sky.wind_m_s
    assert forcing.air_c is here.sky.air_c


def test_on_a_ring_nothing_is_aimed() -> None:
    plan, fill = fill_of(day(), TEA)

    forcing = monte_carlo._forcing(day(), plan, fill, samples(day()))

    assert forcing.watts[:, 11 * 60 + 30].tolist() == [2500.0 * 0.5] * RUNS


def test_each_day_has_its_cooker_and_each_pot_its_mass_and_start() -> None:
    """Luck here is one standard deviation above each mean: 5 % more to heat, 2 °C warmer."""
    plain = monte_carlo.heat.ensemble(
        EVENT.cooker("box"),
        fill_of(day(), ALONE)[1].load,
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.zeros(1),
        strength=np.ones(1),
        boil_c=100.0,
    )
    forcing = Forcing(np.zeros((RUNS, 1440)), day().sky.air_c, day().sky.wind_m_s)
    again = replanned(EVENT, START, warm_c={"rice-1": 50.0})

    for here, start_c in ((day(), 22.0), (again, 52.0)):
        _, fill = fill_of(here, ALONE)
        state = monte_carlo._loaded(here, fill, forcing, samples(here))

        assert state.strength.tolist() == [0.9] * RUNS
        assert state.loss.tolist() == [1.2] * RUNS
        assert state.pot_j_k == pytest.approx(1.05 * plain.pot_j_k[0, 0])
        assert state.pot_c.tolist() == state.core_c.tolist() == [[start_c] * RUNS]


def test_an_oven_is_as_hot_as_its_own_day_made_it() -> None:
    _, fill = fill_of(day(), BREAD)
    forcing = Forcing(np.full((RUNS, 1440), 300.0), day().sky.air_c, day().sky.wind_m_s)
    weak = samples(day())
    cookers = {**weak.cookers, "oven": CookerDraws(np.asarray([0.0, 0.5, 1.0, 1.5]), np.ones(RUNS))}

    state = monte_carlo._loaded(day(), fill, forcing, replace(weak, cookers=cookers))

    air_c = float(day().sky.air_c[START])
    rises = state.body_c - air_c
    assert rises[0] == pytest.approx(0.0, abs=1e-6)
    assert rises / rises[2] == pytest.approx([0.0, 0.5, 1.0, 1.5])


def test_food_that_was_cooked_before_is_as_hot_as_its_jurisdiction_asks() -> None:
    _, fill = fill_of(day(), ALONE)

    assert fill.load.reheat_c == rules_of(EVENT).reheat_c


# --- loads in progress


def begun(here: Day, stage: str) -> tuple[Plan, Fill]:
    """Return a load in progress, its middle at 40, 50 and 60 °C: weak, expected, strong."""
    plan, fill = fill_of(here, ALONE)
    state = monte_carlo.heat.ensemble(
        fill.cooker,
        fill.load,
        minutes=np.full(3, 660.0),
        row=np.zeros(3, dtype=np.int64),
        body_c=np.full(3, 80.0),
        strength=np.asarray([0.8, 1.0, 1.2]),
        boil_c=here.boil_c,
    )
    state.core_c = np.asarray([[40.0, 50.0, 60.0]])
    ring = SimpleNamespace(query=SimpleNamespace(cooker=EVENT.cooker("ring")))
    load = LoadInProgress((ALONE,), stage, ring, state, (0.0,), ((),))  # type: ignore[arg-type]
    return plan, replace(fill, in_progress=load)


def test_a_load_in_progress_goes_on_from_where_it_is_expected_to_stand() -> None:
    _, fill = begun(day(), "cooking")
    assert fill.in_progress is not None

    state = monte_carlo._as_it_stands(fill, fill.in_progress, samples(day()))

    assert state.core_c.tolist() == [[50.0] * RUNS]
    assert state.strength.tolist() == [0.9] * RUNS
    assert state.loss.tolist() == [1.2] * RUNS
    assert state.row.tolist() == [0, 1, 2, 3]


def test_what_was_lifted_is_done_when_it_was_and_what_is_on_a_ring_has_its_flame(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: list[float] = []

    def run(state: Ensemble, forcing: Forcing, **more: object) -> object:
        seen.append(float(forcing.watts[0, 0]))
        return SimpleNamespace(done_min=np.zeros((1, RUNS)), clock_min=np.zeros((1, RUNS)))

    monkeypatch.setattr(monte_carlo, "run", run)
    here = day()

    lifted = monte_carlo._ready(here, *begun(here, "lifted"), samples(here))
    monte_carlo._ready(here, *begun(here, "on-ring"), samples(here))

    assert lifted.tolist() == [[11 * 60.0] * RUNS]
    assert seen == [1250.0]


def test_only_turns_of_its_own_cooker_and_time_are_its_aims(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    aims: list[list[str]] = []

    def pointing(day: Day, turns: list[object], cooker: object) -> np.ndarray:
        aims.append([t.id for t in turns])  # type: ignore[attr-defined]
        return np.ones(1440)

    monkeypatch.setattr(monte_carlo, "pointing", pointing)

    def aimed(row: Placement, **more: object) -> set[tuple[str, ...]]:
        aims.clear()
        plan, fill = fill_of(day(), row)
        monte_carlo._pointing(day(), plan, replace(fill, **more), samples(day()))  # type: ignore[arg-type]
        return {tuple(a) for a in aims}

    assert aimed(STEW) == {("mirror-09:00", "mirror-09:40")}  # not the next load's
    assert aimed(MOVED) == {("mirror-10:30", "mirror-11:05")}  # nor the last one's
    heated = changed(BREAD, preheat_at=at("09:10"), loaded_at=at("09:40"), lifted_at=at("10:10"))
    assert aimed(heated) == {("oven-09:10", "oven-09:40")}
    late, stands = changed(STEW, loaded_at=at("09:30")), begun(day(), "cooking")[1].in_progress
    assert aimed(late) == {("mirror-09:40",)}
    assert aimed(late, in_progress=stands) == {("mirror-09:00", "mirror-09:40")}


# --- other days


def test_a_chance_is_told_from_other_days_than_those_that_chose_the_plan() -> None:
    """Chosen and told on the same days, a plan would look better than it is."""
    here = day()
    told = monte_carlo._samples(here, 200, monte_carlo.SEED)

    assert monte_carlo.SEED != DRAWS_SEED
    for n, cooker in enumerate(here.event.cookers):
        strength = told.cookers[cooker.id].strength
        assert strength.std() > 0.1  # a band of 25 % is 0.2 of one standard deviation
        assert not np.isin(strength, here.member_strength[:, n]).any()
    known = replace(here, strength_bands={"mirror": 0.0})
    sure = monte_carlo._samples(known, 200, monte_carlo.SEED).cookers["mirror"]
    assert sure.strength.std() < 0.05
    assert sure.loss.std() == 0.0
