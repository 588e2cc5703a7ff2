"""The chances that are told, from minutes laid by hand on the hand-laid day: no pot is run.

Two stews, rice and lentils in one box, bread that rests for fifteen minutes, tea: of 100 days.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from events.model import Event
from events.table import changed
from solver.plan import Placement, Plan, Risk, Turn
from solver.risk import monte_carlo
from solver.risk.monte_carlo import Fill, simulate
from solver.simulation.day import Day
from solver.simulation.run import SimulationResult
from solver.solar.irradiance import minute_of
from tests.solver.checking.damage import edited, place
from tests.solver.checking.hand_laid import PLACEMENTS, PLAN, TURNS, at, minutes
from tests.solver.risk.test_one_pot import RUNS as FEW
from tests.solver.risk.test_one_pot import begun, fill_of, samples
from tests.solver.scheduling.test_formulation import in_progress, replanned
from tests.solver.scheduling.test_timed_load import EVENT, day

RUNS, EARLY = 100, -300.0
Late = dict[str, np.ndarray]


def late_in(first: int, last: int, by_min: float = 1.0) -> np.ndarray:
    """Return the minutes after its serving at which a pot is ready: late on some days only."""
    runs = np.arange(RUNS)
    return np.where((runs >= first) & (runs < last), by_min, EARLY)


def told(
    monkeypatch: pytest.MonkeyPatch, late: Late, plan: Plan = PLAN, event: Event = EVENT
) -> Risk:
    def ready(day: Day, plan: Plan, fill: Fill, samples: object) -> np.ndarray:
        return np.asarray(
            [
                minute_of(day.sky, p.served_at) + late.get(p.id, np.full(RUNS, EARLY))
                for p in fill.placements
            ]
        )

    monkeypatch.setattr(monte_carlo, "_ready", ready)
    return simulate(day(event), plan, runs=RUNS)


def of_dishes(risk: Risk) -> dict[str, int]:
    return {c.dish_id: c.of_100 for c in risk.dishes}


def test_a_dish_comes_when_each_of_its_batches_does(monkeypatch: pytest.MonkeyPatch) -> None:
    found = told(monkeypatch, {"stew-1": late_in(0, 30), "stew-2": late_in(20, 60)})

    assert of_dishes(found) == {"stew": 40, "rice": 95, "lentils": 95, "bread": 95, "tea": 95}
    assert found.dishes_on_time == pytest.approx(4.4)


@pytest.mark.parametrize(("by_min", "of_100"), [(-15.0, 95), (-14.0, 0)])
def test_it_has_rested_when_it_is_served(
    monkeypatch: pytest.MonkeyPatch, by_min: float, of_100: int
) -> None:
    found = told(monkeypatch, {"bread-1": late_in(0, RUNS, by_min)})

    assert of_dishes(found)["bread"] == of_100


@pytest.mark.parametrize(("by_min", "of_100"), [(0.0, 95), (1.0, 0)])
def test_it_counts_when_it_is_served_and_not_what_was_promised_or_the_last_plate(
    monkeypatch: pytest.MonkeyPatch, by_min: float, of_100: int
) -> None:
    later = place("rice-1", served_at=at("12:10"))

    found = told(monkeypatch, {"rice-1": late_in(0, RUNS, by_min)}, later)

    assert of_dishes(found)["rice"] == of_100


@pytest.mark.parametrize(
    ("missed", "of_100"), [(0, 95), (7, 95), (8, 90), (12, 90), (13, 85), (97, 5), (98, 0)]
)
def test_chances_are_told_to_the_nearest_five_and_nothing_is_certain(
    monkeypatch: pytest.MonkeyPatch, missed: int, of_100: int
) -> None:
    assert of_dishes(told(monkeypatch, {"rice-1": late_in(0, missed)}))["rice"] == of_100


def test_a_chance_is_told_from_enough_days_to_tell_five_points() -> None:
    """A chance of eighty is off by less in nearly all draws (binomial: 1.75 of its deviations)."""
    assert 1.75 * 100 * np.sqrt(0.8 * 0.2 / monte_carlo.RUNS) < monte_carlo.SHOWN


def test_a_meal_and_all_of_it_need_every_dish(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing of the late meal is placed: it has no chance of its own."""
    late = {"rice-1": late_in(0, 40), "lentils-1": late_in(30, 50)}

    found = told(monkeypatch, late)
    assert found.all_of_100 == 50
    assert [(m.meal_id, m.of_100) for m in found.meals] == [("lunch", 50)]
    apart = edited(EVENT, "dishes", "lentils", meal="late")
    meals = told(monkeypatch, late, event=apart).meals
    assert [(m.meal_id, m.of_100) for m in meals] == [("lunch", 60), ("late", 80)]


def test_those_are_left_out_first_whose_loss_helps_the_others_most(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of equals the one that counts least, by its priority; one dish is left."""
    late = {"rice-1": late_in(0, 40), "lentils-1": late_in(30, 50)}
    found = told(monkeypatch, late)
    assert [(w.dish_id, w.of_100) for w in found.without] == [
        ("rice", 80),
        ("lentils", 95),
        ("bread", 95),
        ("tea", 95),
    ]
    alike = {"rice-1": late_in(0, 40), "lentils-1": late_in(40, 80)}
    for least in ("rice", "lentils"):
        event = edited(EVENT, "dishes", least, priority=2)
        assert told(monkeypatch, alike, event=event).without[0].dish_id == least


def test_the_weakest_cooker_has_the_unlikeliest_dish_then_the_least_margin(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert told(monkeypatch, {"bread-1": late_in(0, 20)}).weakest_cooker_id == "oven"
    assert told(monkeypatch, {}).weakest_cooker_id == "ring"  # tea has five minutes
    none = changed(PLAN, placements=())
    empty = told(monkeypatch, {}, none)
    assert (empty.weakest_cooker_id, empty.all_of_100, empty.dishes) == (None, 95, ())


# --- what is loaded together


def test_what_is_loaded_together_is_run_together_and_what_has_begun_apart() -> None:
    fills = monte_carlo._fills(day(), PLAN)
    together = [[p.id for p in f.placements] for f in fills]
    assert ["rice-1", "lentils-1"] in together
    assert len(together) == 5

    rice = in_progress(PLACEMENTS[2], "cooking")
    begun = monte_carlo._fills(replanned(EVENT, 600, in_progress=(rice,)), PLAN)
    assert {f.first.id: f.in_progress for f in begun if f.in_progress} == {"rice-1": rice}
    assert [[p.id for p in f.placements] for f in begun if f.first.id == "lentils-1"] == [
        ["lentils-1"]
    ]


# --- what stands in its cooker


def followed(*core_c: float, done_min: float) -> SimulationResult:
    """Return a run whose middle is told every three minutes."""
    one = np.asarray([[done_min]])
    cores = np.asarray(core_c, dtype=np.float32)[:, None, None]
    return SimulationResult(one, one, one, one, one[0], cores)


def test_what_is_done_counts_while_it_is_under_60_degrees_in_its_cooker() -> None:
    """Cold until it is done it is counted by its cooking; after its last minute not at all."""
    result = followed(20.0, 50.0, 80.0, 60.0, 59.9, 59.0, np.nan, done_min=6.0)

    assert monte_carlo._cooled_min(result).tolist() == [[6.0]]
    assert monte_carlo._last_c(result).tolist() == [[59.0]]


@pytest.mark.parametrize(("serve_hot", "clock_min"), [(False, 6.0 + 6.0), (True, 6.0)])
def test_what_is_served_cold_counts_what_it_cools_before_it_is_lifted(
    monkeypatch: pytest.MonkeyPatch, serve_hot: bool, clock_min: float
) -> None:
    """Six minutes to be done, and six under 60 °C since."""
    result = followed(20.0, 50.0, 80.0, 60.0, 59.9, 59.0, np.nan, done_min=6.0)
    seen: list[float] = []

    def safe(day: Day, fill: Fill, done: np.ndarray, clock: np.ndarray, last: object) -> np.ndarray:
        seen.append(float(clock[0, 0]))
        return done

    monkeypatch.setattr(monte_carlo, "run", lambda *given, **more: result)
    monkeypatch.setattr(monte_carlo, "_safe", safe)
    event = edited(EVENT, "dishes", "rice", serve_hot=serve_hot)
    plan, fill = fill_of(day(event), changed(PLACEMENTS[2], fill="alone"))

    monte_carlo._ready(day(event), plan, fill, samples(day(event)))

    assert seen == [clock_min]


def test_a_dish_that_is_served_cold_counts_what_it_cools_and_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """In its cooker until it is lifted at half past eleven, from then on to its last plate."""
    asked: dict[str, object] = {}

    def to_plate(day: Day, dish: object, kg: float, pot: object, **given: object) -> np.ndarray:
        asked.update({k: np.array(v).tolist() for k, v in given.items()})
        return np.asarray([240.0] * FEW)

    monkeypatch.setattr(monte_carlo, "clock_to_plate_min", to_plate)
    cold = edited(EVENT, "dishes", "rice", serve_hot=False)
    row = changed(PLACEMENTS[2], fill="alone", lifted_at=at("11:30"), spent_min=7)
    _, fill = fill_of(day(cold), row)
    done, cooking = np.full((1, FEW), 660.0), np.full((1, FEW), 33.0)

    safe = monte_carlo._safe(day(cold), fill, done.copy(), cooking, np.full((1, FEW), 71.0))

    assert safe.tolist() == done.tolist()
    assert (asked["before_min"], asked["from_c"]) == ([40.0] * FEW, [71.0] * FEW)
    assert (asked["lift"], asked["last_plate"]) == (690, 780)
    hay = changed(row, off_at=at("12:30"))
    monte_carlo._safe(day(cold), replace(fill, placements=(hay,)), done, cooking, done)
    assert asked["lift"] == 750
    asked.clear()
    _, hot = fill_of(day(), row)
    monte_carlo._safe(day(), hot, done, cooking, done)
    assert asked == {}  # other rules hold what is served hot


def test_of_two_pots_in_a_box_the_one_that_is_served_cold_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The run is followed for it, and it stands from its own middle."""
    asked: dict[str, object] = {}
    of_two = np.asarray([[71.0] * FEW, [44.0] * FEW])

    def run(state: object, forcing: object, **more: object) -> SimulationResult:
        asked["follow"] = more["follow"]
        cores = np.full((3, 2, FEW), of_two, dtype=np.float32)
        return SimulationResult(of_two, of_two, 0 * of_two, of_two, of_two[0], cores)

    def to_plate(*args: object, from_c: np.ndarray, **more: object) -> np.ndarray:
        asked["from_c"] = from_c.tolist()
        return np.zeros(FEW)

    monkeypatch.setattr(monte_carlo, "run", run)
    monkeypatch.setattr(monte_carlo, "clock_to_plate_min", to_plate)
    event = edited(EVENT, "dishes", "lentils", serve_hot=False)
    plan, fill = fill_of(day(event), *PLACEMENTS[2:4])

    monte_carlo._ready(day(event), plan, fill, samples(day(event)))

    assert asked == {"follow": True, "from_c": [44.0] * FEW}


def test_pots_that_leave_a_box_together_are_run_in_it_to_their_lift(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: list[float] = []

    def run(state: object, forcing: object, *, until: np.ndarray, **more: object) -> object:
        seen.append(float(until[0]))
        both = np.full((2, FEW), 60.0)
        return SimulationResult(both, both, 0 * both, both, both[0], None)

    monkeypatch.setattr(monte_carlo, "run", run)
    moved = [changed(p, then_cooker_id="hay") for p in PLACEMENTS[2:4]]
    plan, fill = fill_of(day(), *moved)

    monte_carlo._ready(day(), plan, fill, samples(day()))

    assert seen == [720 + 1]


def test_what_was_lifted_has_its_minutes_so_far_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """40 in all; seven of them in a cooker that it had to leave, which are added later."""
    seen: list[object] = []

    def safe(day: Day, fill: Fill, done: np.ndarray, clock: np.ndarray, last: object) -> np.ndarray:
        seen.extend([clock.tolist(), np.asarray(last).tolist()])
        return done

    monkeypatch.setattr(monte_carlo, "_safe", safe)
    plan, fill = begun(day(), "lifted")
    assert fill.in_progress is not None
    row = changed(fill.first, spent_min=7)
    load = replace(fill.in_progress, placements=(row,), clock_min=(40.0,))
    fill = replace(fill, placements=(row,), in_progress=load)

    monte_carlo._ready(day(), plan, fill, samples(day()))

    assert seen == [[[33.0]], [[50.0] * FEW]]


def test_a_cooker_gathers_its_share_of_the_skys_own_light(monkeypatch: pytest.MonkeyPatch) -> None:
    """A box of half a square metre, at half efficiency: 800 W/m² of beam, half of 100 besides."""
    monkeypatch.setattr(monte_carlo, "_pointing", lambda *given: np.ones((FEW, 1440)))
    event = edited(EVENT, "cookers", "box", diffuse_fraction=0.5)
    plan, fill = fill_of(day(event), changed(PLACEMENTS[2], fill="alone"))

    forcing = monte_carlo._forcing(day(event), plan, fill, samples(day(event)))

    assert forcing.watts.max() == pytest.approx(0.25 * (800 + 50))


def test_planned_again_a_cooker_has_its_sun_from_now_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """What stands in it since may be loaded later by the plan: the sun counts from now."""
    monkeypatch.setattr(monte_carlo, "_pointing", lambda *given: np.ones((FEW, 1440)))
    on = replanned(EVENT, 540)
    plan, fill = fill_of(on, changed(PLACEMENTS[2], fill="alone", loaded_at=at("11:00")))

    forcing = monte_carlo._forcing(on, plan, fill, samples(on))

    assert (forcing.watts[:, 540] > 0).all()


# --- hands that come late


def test_each_days_turns_are_as_late_as_its_hands(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every day here has the latest of hands: fifteen minutes."""

    def pointing(day: Day, turns: list[Turn], cooker: object) -> np.ndarray:
        late = max((t.at - at("09:40")).total_seconds() / 60 for t in turns if not t.first)
        return np.full(1440, late)

    monkeypatch.setattr(monte_carlo, "pointing", pointing)
    plan, fill = fill_of(day(), PLACEMENTS[0])

    share = monte_carlo._pointing(day(), plan, fill, samples(day()))

    assert share.shape == (FEW, 1440)
    assert (share == 15.0).all()


def test_a_late_turn_goes_where_the_shadow_is_and_a_first_one_is_never_late() -> None:
    first, second = TURNS[3:5]
    second = changed(second, to_elevation_deg=30.0)

    aimed, late = monte_carlo._delayed([first, second], 5)

    assert aimed == first
    assert (late.at, late.to_elevation_deg) == (second.at + minutes(5), None)


def heat_ends(row: Placement) -> str:
    return f"{monte_carlo._heat_ends(day(), row):%H:%M}"


def test_a_pots_heat_ends_when_it_is_lifted_or_its_ring_is_off_and_in_hay_when_it_is_eaten() -> (
    None
):
    rice, (stew, moved) = PLACEMENTS[2], PLACEMENTS[:2]

    assert heat_ends(changed(rice, lifted_at=at("11:20"))) == "11:20"
    assert heat_ends(rice) == "12:00"
    assert heat_ends(stew) == "12:00"
    assert heat_ends(changed(moved, off_at=at("12:10"))) == "12:10"
    assert heat_ends(changed(moved, off_at=None)) == "12:30"
    assert heat_ends(changed(moved, off_at=at("12:45"))) == "12:30"
