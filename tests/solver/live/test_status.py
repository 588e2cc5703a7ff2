"""Where the day stands: haze and strength from readings, and the limits on what one may say."""

from __future__ import annotations

import pytest

from solver.live.status import DayStatus, day_status
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

NAME = "harvest-lunch"


def at(clock: str, *presses: tuple[str, str, dict[str, object]]) -> DayStatus:
    event = sample_event(NAME)
    return day_status(event, sample_plan(NAME), pressed(event, *presses), local(event, clock))


def expected_c(clock: str, placement_id: str) -> float:
    load = next(load for load in at(clock).loads if placement_id in {p.id for p in load.placements})
    return float(load.in_progress.state.core_c[0, 1])


def worth(day: DayStatus, cooker_id: str) -> float:
    return next(s.strength for s in day.strengths if s.cooker_id == cooker_id)


def reading(placement_id: str, clock: str, off_c: float) -> tuple[str, str, dict[str, object]]:
    core_c = round(expected_c(clock, placement_id) + off_c, 1)
    return ("probed", clock, {"placement_id": placement_id, "core_c": core_c})


def test_readings_as_expected_change_nothing() -> None:
    day = at("10:30", reading("bean-stew-1", "10:20", 0), reading("beetroot-1", "09:40", 0))

    assert day.haze == pytest.approx(1, abs=0.03)
    assert worth(day, "mirror-1") == pytest.approx(1, abs=0.04)


def test_all_low_is_the_sky() -> None:
    day = at(
        "10:30",
        reading("bean-stew-1", "10:20", -9),
        reading("beetroot-1", "09:40", -9),
    )
    alone = at("10:30", reading("bean-stew-1", "10:20", -9))

    assert day.haze < alone.haze < 1


def test_one_low_among_sound_ones_is_that_cooker() -> None:
    day = at(
        "10:30",
        reading("bean-stew-1", "10:20", -12),
        reading("beetroot-1", "09:40", 0),
    )

    assert worth(day, "mirror-1") < 0.95
    assert worth(day, "mirror-1") < worth(day, "mirror-2") - 0.03


def test_one_reading_moves_a_strength_half_its_band_at_most() -> None:
    band = next(c for c in sample_event(NAME).cookers if c.id == "mirror-1").strength_band_fraction

    day = at("10:00", ("probed", "09:50", {"placement_id": "bean-stew-1", "core_c": 22.0}))

    assert worth(day, "mirror-1") >= 1 - band / 2 - 1e-9


def test_a_reading_at_the_boil_never_makes_a_cooker_weaker() -> None:
    day = at("11:30", ("probed", "11:20", {"placement_id": "bean-stew-1", "core_c": 98.5}))

    assert worth(day, "mirror-1") >= 1


def test_ten_minutes_of_shade_that_nobody_wrote_down_leave_a_sound_cooker_sound() -> None:
    band = next(c for c in sample_event(NAME).cookers if c.id == "mirror-1").strength_band_fraction
    dim = at("10:30", ("cloud", "10:10", {}), ("sun", "10:20", {}))
    load = next(x for x in dim.loads if "bean-stew-1" in {p.id for p in x.placements})
    seen_c = round(float(load.in_progress.state.core_c[0, 1]), 1)

    day = at("10:30", ("probed", "10:30", {"placement_id": "bean-stew-1", "core_c": seen_c}))

    assert worth(day, "mirror-1") > 1 - band / 2


def test_a_cloud_that_was_seen_makes_pots_colder_not_cookers_weaker() -> None:
    day = at("10:30", ("cloud", "09:50", {}))

    load = next(x for x in day.loads if "bean-stew-1" in {p.id for p in x.placements})
    assert float(load.in_progress.state.core_c[0, 1]) < expected_c("10:30", "bean-stew-1") - 3
    assert worth(day, "mirror-1") == 1
    assert not day.cloudy  # thirty minutes without a word: it has passed


def test_a_pot_that_nobody_pressed_is_taken_to_be_loaded_as_planned() -> None:
    day = at("10:00")

    assert {load.assumed for load in day.loads} == {True}


def test_a_helper_who_is_late_has_not_loaded_yet() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)
    job = next(j for j in plan.jobs if j.kind == "load" and "bean-stew-1" in j.placement_ids)
    presses = [("late", "08:10", {"helper_id": job.helper_ids[0], "minutes": 20})]

    day = day_status(event, plan, pressed(event, *presses), local(event, "08:25"))

    assert "bean-stew-1" not in {p.id for load in day.loads for p in load.placements}
