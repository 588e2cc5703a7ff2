"""One pot run forward by hand: when it is done, how long it is warm, what an aim and a lift do."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from solver.simulation.day import Day, make_day
from solver.simulation.drawn_load import DrawnDays, drawn_loads
from solver.simulation.replay import PlannedLoad, Track, _watts, pointing, replay
from solver.simulation.run import GUARD_MIN, STEP_S, SimulationResult, run, select
from solver.simulation.transfer import finish
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Ensemble, Forcing, Load
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import EVENT, TURNS, at

DAY = make_day(EVENT)
RING, MIRROR = EVENT.cooker("ring"), EVENT.cooker("mirror")
THICK = edited(EVENT, "dishes", "rice", shape="pieces", thickness_mm=60.0).dish("rice")
START = 600


def load(*dishes: str) -> Load:
    names = dishes or ("rice",)
    dish = [THICK if n == "thick" else EVENT.dish(n) for n in names]
    return Load(tuple(dish), (2.0,) * len(names), (EVENT.pot("small"),) * len(names))


def state(of: Load) -> Ensemble:
    return heat.ensemble(
        RING,
        of,
        minutes=np.asarray([float(START)]),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.asarray([20.0]),
        strength=np.ones(1),
        boil_c=100.0,
    )


def flame(*on: tuple[int, int]) -> Forcing:
    """Return 1250 W between minutes of the day."""
    watts = np.zeros((1, 1440))
    for start, end in on:
        watts[0, start:end] = 1250.0
    return Forcing(watts, DAY.sky.air_c, DAY.sky.wind_m_s)


def ran(of: Load, forcing: Forcing, until: int = 900) -> SimulationResult:
    end = np.asarray([float(until)])
    return run(state(of), forcing, until=end, boil_c=100.0, follow=True)


ALWAYS = flame((0, 1440))


def test_a_pot_is_done_a_guard_after_its_step_and_not_after_its_time() -> None:
    done = float(ran(load(), ALWAYS).done_min[0, 0])

    assert (done - GUARD_MIN) % (STEP_S / 60) == 0
    assert 5 < done < 30
    assert np.isinf(ran(load(), ALWAYS, until=START + 4).done_min[0, 0])


def test_a_pot_is_hot_when_its_middle_is() -> None:
    result = ran(load("thick"), ALWAYS)
    assert result.core_c is not None

    step = int(result.hot_min[0, 0] * 60 / STEP_S)
    assert result.core_c[step, 0, 0] >= 60 > result.core_c[step - 1, 0, 0]


def test_minutes_between_5_and_60_are_counted_until_it_is_done() -> None:
    """The flame goes out when it is done: it cools through 60 °C, and that is no cooking."""
    whole = ran(load(), ALWAYS)
    done = START + int(whole.done_min[0, 0]) + 2

    cooled = ran(load(), flame((0, done)), until=1400)

    assert cooled.core_c is not None
    assert cooled.core_c[-1, 0, 0] < 50
    assert cooled.clock_min[0, 0] == whole.clock_min[0, 0]


def test_the_coldest_of_a_second_cooker_is_between_done_and_the_last_plate() -> None:
    """The ring is out for an hour in between; at the end it is hot again."""
    dipped = finish(
        state(load()),
        flame((0, START + 30), (START + 90, 1440)),
        until=np.asarray([START + 150.0]),
        boil_c=100.0,
    )
    late = finish(state(load()), ALWAYS, until=np.asarray([START + 6.0]), boil_c=100.0)

    assert dipped.coldest_c[0] < 75
    assert dipped.done[0] < START + 30
    assert np.isinf(late.done[0])


def test_in_a_second_cooker_that_cools_minutes_count_to_the_last_plate_and_in_none_after_done() -> (
    None
):
    """A flame for half an hour, then none: it is done, and cold again three hours later."""

    def clock_min(after_min: int, *, cools: bool) -> float:
        end = np.asarray([float(START + after_min)])
        out = flame((0, START + 30))
        return float(finish(state(load()), out, until=end, boil_c=100.0, cools=cools).clock_min[0])

    done_by = clock_min(30, cools=True)
    assert 0 < done_by < 30
    assert clock_min(30, cools=False) == clock_min(300, cools=False) == done_by
    earlier, later = clock_min(240, cools=True), clock_min(300, cools=True)
    assert earlier > done_by
    assert later - earlier == 60
    # Of twenty side by side one is done: it is run on with the others, and its minutes stand.
    beside = select(state(load()), np.zeros(20, dtype=np.int64))
    beside.row = np.minimum(np.arange(20), 1)
    one = flame((0, START + 30))
    both = replace(one, watts=np.concatenate([one.watts, 0 * one.watts]))
    until = np.full(20, START + 300.0)
    many = finish(beside, both, until=until, boil_c=100.0, cools=False)
    assert many.clock_min[0] == done_by
    assert min(many.clock_min[1:]) >= 300


# --- what a plan does


def planned(lifted: datetime, last: datetime, **values: object) -> PlannedLoad:
    plain = PlannedLoad(RING, load(), (), None, at("10:00"), lifted, None, None, last)
    return replace(plain, **values)  # type: ignore[arg-type]


def track(one: PlannedLoad, day: Day = DAY) -> Track:
    return replay(day, [one])[0][0]


def test_a_lifted_pot_cools_until_its_last_plate_and_its_minutes_count() -> None:
    at_once, stood = (track(planned(at("11:00"), at(t))) for t in ("11:00", "13:00"))

    assert at_once.coldest_c >= 75
    assert stood.coldest_c < 50
    assert stood.clock_min > at_once.clock_min + 45


def test_a_pot_leaves_its_second_cooker_when_the_plan_says_so() -> None:
    moved = {"second": RING, "cooker": MIRROR}
    off = track(planned(at("10:05"), at("13:00"), off_at=at("11:00"), **moved))
    stays = track(planned(at("10:05"), at("13:00"), off_at=None, **moved))

    assert off.coldest_c < 50
    assert stays.coldest_c >= 75


def test_a_cooker_has_the_sun_that_its_turns_and_the_day_leave_and_a_ring_its_flame() -> None:
    aimed = replace(planned(at("11:00"), at("11:00")), cooker=MIRROR, turns=TURNS[3:5])
    blind = replace(aimed, turns=())
    half = replace(DAY, availability={**DAY.availability, "mirror": np.full(1440, 0.5)})

    assert _watts(DAY, blind).max() == 0.0
    assert _watts(DAY, planned(at("11:00"), at("11:00")))[600] == 1250.0
    assert _watts(DAY, aimed)[560] > 0
    assert _watts(half, aimed)[560] == _watts(DAY, aimed)[560] / 2


def test_an_aim_that_is_too_low_loses_as_much_as_one_that_is_aside() -> None:
    """The mirror keeps all within 5° and nothing from 40: 20° below the sun are 20 of 35."""
    noon = 720
    sun, height = float(DAY.sky.azimuth_deg[noon]), float(DAY.sky.elevation_deg[noon])
    turn = TURNS[5].model_copy(
        update={"at": at("12:00"), "to_azimuth_deg": sun, "to_elevation_deg": height - 20.0}
    )

    assert pointing(DAY, [turn], MIRROR)[noon] == pytest.approx(20 / 35, abs=0.01)


# --- drawn days


def test_a_drawn_day_gives_a_cooker_what_its_window_and_the_diary_leave() -> None:
    days = DrawnDays.of(DAY, 1)
    early = int(np.flatnonzero(DAY.on_sun["mirror"])[0]) - 20

    watts = days.watts(MIRROR)
    half = {**DAY.availability, "mirror": np.full(1440, 0.5)}
    less = replace(days, day=replace(DAY, availability=half)).watts(MIRROR)

    assert DAY.sky.beam_w_m2[early] > 0
    assert not watts[:, early].any()
    assert (less[:, 720] == watts[:, 720] / 2).all()


def test_of_a_load_the_hottest_pot_shows_and_all_of_it_must_be_done() -> None:
    """Rice and bread: the bread's middle lags far behind."""
    box = EVENT.cooker("box")

    together = drawn_loads(DrawnDays.of(DAY, 1), box, load("rice", "thick"), np.asarray([600]), 180)
    rice = drawn_loads(DrawnDays.of(DAY, 1), box, load("rice", "rice"), np.asarray([600]), 180)

    assert together.done[0, :, -1].mean() < rice.done[0, :, -1].mean()
    assert (together.hottest_c[0, :, 60] >= 20).all()
