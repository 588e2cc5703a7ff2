"""What is kept across edits is what would be worked out anew."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from events.model import Event
from events.table import changed
from solver.planning.pipeline import make_plan
from solver.simulation import durations
from solver.simulation.day import loaded, make_day
from solver.simulation.kept import Kept, query_keys
from solver.simulation.query import DurationQuery
from solver.simulation.run import run
from solver.thermal.energy_balance import Forcing, Load
from tests.conftest import sample_event

pytestmark = pytest.mark.slow


def _school_day() -> Event:
    return sample_event("school-day")


def _short_day() -> Event:
    """Return the school day with two dishes, a mirror and a box, and no talk: soon planned."""
    event = _school_day()
    kept = tuple(d for d in event.dishes if d.id in ("soup", "eggs"))
    return changed(event, dishes=kept, cookers=event.cookers[:2], talks=())


def _edited(kind: str) -> Event:
    event = _short_day()
    dish, *dishes = event.dishes
    cooker, *cookers = event.cookers
    pot, *pots = event.pots
    hour, *hours = event.weather.hours
    match kind:
        case "priority":
            return changed(event, dishes=(changed(dish, priority=1 + dish.priority % 9), *dishes))
        case "portions":
            return changed(event, dishes=(changed(dish, portions=dish.portions - 1), *dishes))
        case "start_c":
            return changed(event, dishes=(changed(dish, start_c=8.0), *dishes))
        case "hazardous":
            return changed(event, dishes=(changed(dish, hazardous=not dish.hazardous), *dishes))
        case "cloud":
            return changed(
                event, weather=changed(event.weather, hours=(changed(hour, cloud_pct=70.0), *hours))
            )
        case "wind":
            return changed(
                event, weather=changed(event.weather, hours=(changed(hour, wind_m_s=7.0), *hours))
            )
        case "pot":
            return changed(event, pots=(changed(pot, mass_kg=pot.mass_kg + 1.0), *pots))
        case "altitude":
            return changed(event, site=changed(event.site, altitude_m=2500.0))
        case "band":
            return changed(event, cookers=(changed(cooker, strength_band_fraction=0.05), *cookers))
    raise AssertionError(kind)


@pytest.fixture(scope="module")
def before_edits() -> None:
    make_plan(_short_day())  # now its answers are kept


@pytest.mark.parametrize(
    "kind",
    ["priority", "portions", "start_c", "hazardous", "cloud", "wind", "pot", "altitude", "band"],
)
def test_an_edit_is_planned_as_if_nothing_were_kept(
    kind: str, before_edits: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_kept = make_plan(_edited(kind))
    monkeypatch.setattr(durations, "_EXPECTED", Kept(lambda result: result.size_bytes))
    monkeypatch.setattr(durations, "_DRAWN", Kept(lambda done_min: done_min.nbytes))
    assert with_kept == make_plan(_edited(kind))


def _query(event: Event, starts: list[int]) -> DurationQuery:
    dish, pot = event.dishes[0], event.pots[0]
    load = Load((dish,), (1.0,), (pot,))
    return DurationQuery(event.cookers[0], load, np.asarray(starts), 15 * 60)


def test_a_loads_minutes_do_not_hang_on_what_is_run_beside_it() -> None:
    event = _school_day()
    day = make_day(event)
    early, late = _query(event, [480, 500, 520, 540]), _query(event, [800, 840, 880])
    alone = [durations._run_expected(day, [q])[0] for q in (early, late)]
    beside = durations._run_expected(day, [early, late])
    for one, other in zip(alone, beside, strict=True):
        assert np.array_equal(one.done_min, other.done_min)
        assert np.array_equal(one.peak_c, other.peak_c)
        assert np.array_equal(one.clock_min, other.clock_min)


def test_names_make_no_new_question_and_a_start_does() -> None:
    event = _school_day()
    day = make_day(event)
    renamed = changed(event, dishes=(changed(event.dishes[0], name="Other"), *event.dishes[1:]))
    keys = query_keys(day, [_query(event, [600]), _query(renamed, [600]), _query(event, [605])])
    assert keys[0] == keys[1] != keys[2]


@pytest.mark.parametrize("values", [{"hazardous": False}, {"start_c": 9.0}, {"serve_hot": False}])
def test_what_is_cooked_makes_another_question(values: dict[str, object]) -> None:
    event = _school_day()
    other = changed(event, dishes=(changed(event.dishes[0], **values), *event.dishes[1:]))
    one, two = query_keys(make_day(event), [_query(e, [600]) for e in (event, other)])
    assert one != two


def test_the_oldest_give_way_when_the_memory_is_full() -> None:
    kept = Kept[bytes](len, most_bytes=25)
    asked: list[list[int]] = []

    def ten_bytes(numbers: list[int]) -> list[bytes]:
        asked.append(numbers)
        return [bytes(10) for _ in numbers]

    kept.fill(["a", "b"], ten_bytes)
    kept.fill(["a", "c"], ten_bytes)  # b is now the oldest, and too much
    kept.fill(["a", "c", "b"], ten_bytes)
    assert asked == [[0, 1], [1], [2]]


def test_a_member_is_followed_to_its_own_end_and_no_further() -> None:
    """Of twenty side by side one ends early; the nineteen others keep it in the ensemble."""
    event = _school_day()
    day = make_day(event)
    query = _query(event, [480] * 20)
    state = loaded(day, query.cooker, query.load, query.starts)
    whole = run(state, day.forcing, until=np.full(20, 900.0), boil_c=day.boil_c)
    done_min = float(whole.done_min[0, 0])
    until = np.full(20, 900.0)
    until[0] = 480 + done_min - 10

    result = run(
        loaded(day, query.cooker, query.load, query.starts),
        day.forcing,
        until=until,
        boil_c=day.boil_c,
    )

    assert np.isinf(result.done_min[0, 0])
    assert (result.done_min[0, 1:] == done_min).all()


@pytest.mark.parametrize("part", ["forcing", "members", "member_strength", "member_loss", "boil_c"])
def test_each_part_of_a_cookers_day_makes_another_question(part: str) -> None:
    event = _school_day()
    day = make_day(event)
    old = getattr(day, part)
    new = dataclasses.replace(old, watts=old.watts * 0.9) if isinstance(old, Forcing) else old * 0.9
    other = dataclasses.replace(day, **{part: new})

    query = _query(event, [600])
    assert query_keys(day, [query]) != query_keys(other, [query])
