"""The sun of a contest's places: counted under a sky made by hand, and which of them are alike."""

from __future__ import annotations

import numpy as np
import pytest

from events.site import Station
from events.table import changed
from solver.contest import sunshine
from solver.contest.sunshine import most_unlike, sun_totals, water_minutes
from solver.simulation.day import Day
from solver.solar.irradiance import Sky, expected_sky
from solver.thermal.energy_balance import Load
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid_contest import COOK_OFF

WALLED = ((0.0, 89.0), (180.0, 89.0))


def steady(monkeypatch: pytest.MonkeyPatch, elevation_deg: float = 40.0) -> None:
    """Let the sun stand still all day: 700 W/m² straight from it, 350 W/m² from the sky."""
    sky = expected_sky(COOK_OFF)
    every = np.ones_like(sky.beam_w_m2)
    still = Sky(
        start_at=sky.start_at,
        elevation_deg=elevation_deg * every,
        azimuth_deg=180 * every,
        beam_w_m2=700 * every,
        diffuse_w_m2=350 * every,
        clear_beam_w_m2=700 * every,
        air_c=sky.air_c,
        wind_m_s=sky.wind_m_s,
    )
    monkeypatch.setattr(sunshine, "expected_sky", lambda event: still)


def test_a_minute_of_sun_is_one_of_700_watts_and_the_skys_own_counts_a_tenth(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    steady(monkeypatch)
    stations = (*COOK_OFF.stations, Station(id="nook", name="Nook", x_m=0, y_m=20, skyline=WALLED))
    event = changed(COOK_OFF, stations=stations)

    totals = sun_totals(edited(event, "entries", "one", station="nook"))

    assert set(totals) == {"north", "south", "nook"}  # drawn, or an entry's own
    assert totals["north"][:3].tolist() == pytest.approx([0.0, 1.05, 2.10])
    assert totals["north"][-1] == pytest.approx(1.05 * (totals["north"].size - 1))
    assert totals["nook"][:3].tolist() == pytest.approx([0.0, 0.05, 0.10])


def test_those_are_left_out_whose_sun_is_least_like_the_others() -> None:
    """Only the hours that are asked count: all have had as much before."""

    def place(minutes: float) -> np.ndarray:
        return np.asarray([0.0, 500.0 - minutes, 500.0])

    suns = {n: place(m) for n, m in zip("abcde", (100, 140, 150, 151, 160), strict=True)}
    hours = slice(1, 2)

    assert most_unlike(suns, [*"abcde"], 5, hours) == ()
    assert most_unlike(suns, [*"abc"], 0, hours) == ("a", "b", "c")  # nobody seeks a place
    assert most_unlike(suns, [], 0, hours) == ()
    assert most_unlike(suns, [*"abcde"], 4, hours) == ("a",)
    assert most_unlike(suns, [*"abcde"], 3, hours) == ("a", "b")
    assert most_unlike(suns, [*"abcde"], 2, hours) == ("a", "b", "e")
    assert most_unlike(suns, [*"ecdba"], 2, hours) == ("e", "b", "a")  # in the order of the list
    low = {n: place(m) for n, m in zip("abc", (100, 101, 160), strict=True)}
    assert most_unlike(low, [*"abc"], 2, hours) == ("c",)
    alike = {n: place(100) for n in "abc"}
    assert most_unlike(alike, [*"bca"], 2, hours) == ("a",)


def test_water_is_two_kilograms_from_20_to_90_degrees_in_the_same_cooker_at_each_place(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[tuple[str | None, Load, int]] = []

    def done(day: Day, cooker: object, load: Load, starts: np.ndarray, until: int) -> np.ndarray:
        asked.append((cooker.station, load, int(starts[0])))  # type: ignore[attr-defined]
        return np.asarray([61.6 if cooker.station == "north" else np.inf])  # type: ignore[attr-defined]

    monkeypatch.setattr(sunshine, "expected_done", done)

    assert water_minutes(COOK_OFF, [("north", 600), ("south", 630)]) == [62, None]
    assert [(place, start) for place, _, start in asked] == [("north", 600), ("south", 630)]
    for _, load, _ in asked:
        (dish,) = load.dishes
        assert load.masses_kg == (2.0,)
        assert (dish.start_c, dish.core_c, dish.hold_min) == (20.0, 90.0, 0)
        assert dish.composition.water == 1.0


def test_water_behind_a_wall_is_never_hot() -> None:
    event = edited(COOK_OFF, "stations", "south", skyline=WALLED)

    open_min, walled_min = water_minutes(event, [("north", 600), ("south", 600)])

    assert open_min is not None
    assert 60 <= open_min <= 240
    assert walled_min is None
    assert water_minutes(event, []) == []
