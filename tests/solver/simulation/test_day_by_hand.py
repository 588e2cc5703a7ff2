"""The hand-laid day made ready for physics: hours, draws, pools, watts, minutes, what is moved."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.model import Event
from events.table import changed
from solver.simulation import clock
from solver.simulation.cooker_draws import drawn_cooker
from solver.simulation.day import DRAWS, make_day, scaled
from solver.simulation.day_state import PlannedUse
from solver.simulation.durations import _between, _of_query, drawn_loads
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.simulation.replay import Track, _dry_min, disagreements
from solver.simulation.run import SimulationResult
from solver.simulation.transfer import transfer
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Load
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import EVENT, PLACEMENTS
from tests.solver.scheduling.test_formulation import replanned

DAY = make_day(EVENT)
NOON = 720


def query(cooker: str = "box", preheat_min: int = 0, dish: str = "rice") -> DurationQuery:
    load = Load((EVENT.dish(dish),), (2.0,), (EVENT.pot("small"),), preheat_min)
    return DurationQuery(EVENT.cooker(cooker), load, np.asarray([600]), NOON)


# --- hours


def test_a_cooker_is_used_in_the_sites_hours_and_its_own_and_not_before_now() -> None:
    event = edited(EVENT, "cookers", "box", opens=time(9), closes=time(15))
    late = edited(EVENT, "cookers", "box", opens=time(7), closes=time(17))

    assert clock.usable_hours(make_day(event), event.cooker("box")) == (540, 900)
    assert clock.usable_hours(make_day(late), late.cooker("box")) == (480, 960)
    assert clock.usable_hours(replanned(EVENT, 600), EVENT.cooker("box")) == (605, 960)
    assert clock.usable_hours(replanned(EVENT, 599), EVENT.cooker("box")) == (600, 960)
    assert clock.next_slot_min(replanned(EVENT, 600)) == 605
    assert clock.next_slot_min(replanned(EVENT, 599)) == 600
    assert clock.next_slot_min(DAY) == 0


def test_minutes_are_rounded_up_to_slots() -> None:
    minutes = [600.0, 600.1, 604.9, 605.0, np.inf]

    assert [clock.ceil_to_slot(m) for m in minutes] == [600, 605, 605, 605, clock.NEVER_MIN]
    assert clock.ceil_to_slots(np.asarray(minutes)).tolist() == [600, 605, 605, 605, 10**6]


# --- luck


@pytest.mark.parametrize(
    ("luck", "glazed", "strength", "loss"),
    [
        (1.0, False, 1.2 * 0.95, 1.1),
        (1.0, True, 1.2 * 0.88, 1.1),
        (-1.0, False, 0.8 * 0.95, 0.9),  # slips only take away
        (-9.0, True, 0.3, 0.3),
    ],
)
def test_a_band_is_eight_of_ten_cookers_and_slips_only_take_away(
    luck: float, glazed: bool, strength: float, loss: float
) -> None:
    """A band of 25.6 % is a standard deviation of a fifth; losses are off by half as much."""
    drawn = drawn_cooker(0.256, lambda: np.asarray([luck]), glazed=glazed)

    assert drawn.strength[0] == pytest.approx(strength)
    assert drawn.loss[0] == pytest.approx(loss)


def twins() -> Event:
    box = EVENT.cooker("box")
    return changed(EVENT, cookers=(*EVENT.cookers, changed(box, id="twin", name="Twin")))


def test_cookers_that_are_alike_are_pooled_unless_a_dish_wishes_one_or_one_is_weaker() -> None:
    day = make_day(twins())

    assert day.pools["box"] == ("box", "twin")
    wished = edited(twins(), "dishes", "rice", not_in=("twin",))
    assert make_day(wished).pools["box"] == ("box",)
    weaker = {**day.availability, "twin": np.full(1440, 0.5)}
    assert replace(day, availability=weaker).pools["box"] == ("box",)
    rings = changed(
        EVENT, cookers=(*EVENT.cookers, changed(EVENT.cooker("ring"), id="ring-2", name="R"))
    )
    assert make_day(rings).pools["ring"] == ("ring",)  # burners count pots


# --- the sun on each cooker


def test_a_cooker_has_what_the_end_of_an_aim_leaves_in_its_own_heights_alone() -> None:
    """Acceptance half a degree: five minutes of sun at midsummer are 1.15°, so 0.57° off."""
    event = edited(
        EVENT,
        *("cookers", "mirror"),
        acceptance_deg=0.5,
        lost_deg=1.0,
        sun_low_deg=30.0,
        sun_high_deg=70.0,
    )
    day = make_day(event)
    watts, height = day.forcing.watts[day.rows["mirror"]], day.sky.elevation_deg

    lit = (height >= 30) & (height <= 70)
    full = day.sky.beam_w_m2 * 1.5 * 0.5
    assert watts[lit] == pytest.approx(0.853 * full[lit], rel=0.01)
    assert not watts[~lit].any()
    assert full[NOON] > 500
    assert height[NOON] > 70


def test_what_is_left_of_a_cooker_is_its_power_and_where_nothing_is_it_has_no_sun() -> None:
    left = {c.id: np.ones(1440) for c in EVENT.cookers}
    left["box"] = np.where(np.arange(1440) < NOON, 0.5, 0.0)

    day = scaled(DAY, left)

    row, cookers = day.rows["box"], len(EVENT.cookers)
    assert day.forcing.watts[row, 700] == DAY.forcing.watts[row, 700] / 2
    assert (day.members.watts[row::cookers, 700] == DAY.members.watts[row::cookers, 700] / 2).all()
    assert (day.on_sun["box"][700], day.on_sun["box"][730]) == (True, False)
    assert day.on_sun["mirror"][730]


def test_the_coolest_air_is_of_the_whole_stretch() -> None:
    """20 °C until noon, 25 until two, 22 after."""
    assert DAY.coolest_air_c(700, 730) == 20.0
    assert DAY.coolest_air_c(730, 830) == 25.0
    assert DAY.coolest_air_c(830, 860) == 22.0
    assert DAY.coolest_air_c(730, 730) == 25.0


def test_a_pot_is_changed_where_it_goes_elsewhere_or_is_lifted_ten_minutes_off() -> None:
    use = {"rice-1": PlannedUse("box", 570, 780)}
    day = replanned(EVENT, 500, planned_uses=use)

    def changes(cooker: str = "box", load: int = 570, lift: int = 780) -> int:
        return day.changes("rice", "rice-1", cooker, load, lift)

    assert [changes(), changes(lift=789), changes(lift=790), changes(lift=770)] == [0, 0, 1, 1]
    assert [changes(cooker="oven"), changes(load=575)] == [1, 1]
    assert DAY.changes("rice", "rice-1", "box", 0, 0) == 0


# --- minutes


def told(expected: float, drawn: np.ndarray) -> DurationEstimate:
    one = np.asarray([[expected]])
    sure = SimulationResult(one, one, one, one, one[0])
    return _of_query(DAY, query(), sure, np.asarray([600]), drawn)


def test_fast_and_cautious_are_what_so_many_draws_keep_and_hands_come_late() -> None:
    """Twenty draws of one to twenty minutes: four of twenty, and sixteen for 80 of 100."""
    drawn = np.arange(1.0, DRAWS + 1)[None, :, None]

    some = told(10.0, drawn)
    assert (some.fast_min[0, 0], some.cautious_min[0, 0]) == (4.0, 16.0 + 5.0)
    assert told(3.0, drawn).fast_min[0, 0] == 3.0
    assert told(50.0, drawn).cautious_min[0, 0] == 50.0


def test_between_starts_minutes_run_straight_and_beside_never_it_is_never() -> None:
    starts, coarse = np.asarray([0, 15, 30, 45, 60]), np.asarray([0, 30, 60])

    found = _between(starts, coarse, np.asarray([[10.0, 20.0, np.inf]]))

    assert found.tolist() == [[10.0, 15.0, 20.0, np.inf, np.inf]]


def test_every_draw_has_its_cookers_own_strength_loss_and_preheated_body() -> None:
    row = DAY.rows["oven"]

    state = drawn_loads(DAY, [query("oven", preheat_min=60)])

    assert state.strength.tolist() == DAY.member_strength[:, row].tolist()
    assert state.loss.tolist() == DAY.member_loss[:, row].tolist()
    assert state.row.tolist() == [k * len(EVENT.cookers) + row for k in range(DRAWS)]
    assert np.ptp(state.body_c) > 5  # each day heats it by itself
    assert np.corrcoef(state.body_c, state.strength)[0, 1] > 0.5


def test_the_coldest_middle_is_of_the_stretch_that_is_asked() -> None:
    """A point every two minutes."""
    none = np.zeros((1, 1))
    cores = np.asarray([90.0, 60.0, 80.0, 70.0], dtype=np.float32)[:, None, None]
    one = DurationEstimate(query(), none, none, none, none, none, none, none[0], core_c=cores)

    assert one.coldest_c(0, 0, since_min=0, until_min=6) == 60
    assert one.coldest_c(0, 0, since_min=4, until_min=4) == 80
    assert one.coldest_c(0, 0, since_min=4, until_min=5) == 70
    assert one.coldest_c(0, 0, since_min=4, until_min=60) == 70


def test_without_draws_they_follow_from_expected_and_cautious_minutes() -> None:
    usual, slow = np.asarray([[60.0, 60.0]]), np.asarray([[90.0, np.inf]])
    none = np.zeros((1, 2))
    one = DurationEstimate(query(), usual, usual, slow, none, none, none, none[0])

    drawn = one.drawn_min(0)

    assert np.median(drawn, axis=0) == pytest.approx([60, 60], rel=0.02)
    assert np.quantile(drawn[:, 0], 0.8) == pytest.approx(90, rel=0.06)  # so many are in time
    assert drawn[-1, 1] > drawn[0, 1]


# --- moved on, and replayed


def test_a_pot_that_is_moved_is_five_minutes_later_and_colder_with_all_its_minutes() -> None:
    """Two kilograms in a pot of four litres lose 1.1 W/K for five minutes in still air."""
    load = query("mirror").load
    state = heat.ensemble(
        EVENT.cooker("mirror"),
        load,
        minutes=np.asarray([600.0]),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.asarray([20.0]),
        strength=np.ones(1),
        boil_c=100.0,
    )
    state.pot_c = state.core_c = np.asarray([[90.0]])
    state.clock_min, state.lethal_min = np.asarray([[33.0]]), np.asarray([[4.0]])

    after = transfer(
        DAY,
        state,
        load,
        EVENT.cooker("hay"),
        members=np.zeros(1, dtype=np.int64),
        lifted=np.asarray([601.0]),
    )

    area_m2 = 1.5 * np.pi * (4 * 0.004 / np.pi) ** (2 / 3)
    fell = 70.0 * (1 - np.exp(-8.0 * area_m2 * 300 / after.pot_j_k[0, 0]))
    assert after.minute.tolist() == [606.0]
    assert after.core_c[0, 0] == pytest.approx(90.0 - fell)
    assert 2 < fell < 5
    assert (after.clock_min[0, 0], after.lethal_min[0, 0]) == (33.0, 4.0)


@pytest.mark.parametrize(
    ("values", "faults"),
    [
        ({}, 0),
        ({"done_minute": 665.0}, 0),  # a slot beyond what the plan says
        ({"done_minute": 665.5}, 1),
        ({"clock_min": 240.0}, 0),
        ({"clock_min": 240.1}, 1),
        ({"coldest_c": 62.9}, 1),
    ],
)
def test_a_replay_objects_beyond_each_limit(values: dict[str, float], faults: int) -> None:
    rice = PLACEMENTS[2]  # done at eleven by the plan
    track = Track(660.0, 100.0, 95.0, 63.0, 0.1, None, ())

    assert len(disagreements(DAY, rice, replace(track, **values))) == faults  # type: ignore[arg-type]


def test_a_pot_boils_dry_when_its_water_is_gone_not_its_food() -> None:
    """Two kilograms of rice are 1.6 of water; 0.1 is gone, ten grams go each minute."""
    load = query().load

    assert _dry_min(load, 0, 0.1, 0.01) == 149 or _dry_min(load, 0, 0.1, 0.01) == 150
    assert _dry_min(load, 0, 0.1, 0.0) is None
    assert _dry_min(load, 0, 2.0, 0.01) == 0
