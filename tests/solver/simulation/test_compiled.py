"""Compiled steps against those of numpy, which are the model: the same to the last digit."""

from __future__ import annotations

import dataclasses
import itertools
import types
from collections.abc import Iterator

import numpy as np
import pytest

from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.table import changed
from solver.planning.pipeline import make_plan
from solver.simulation import compiled, durations
from solver.simulation import run as plain
from solver.simulation.day import Day, make_day
from solver.simulation.durations import drawn_loads
from solver.simulation.query import DurationQuery
from solver.simulation.run import run, select
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Ensemble, Load
from tests.scale import grown

STARTS = np.arange(480, 1020, 90)


@pytest.fixture(autouse=True)
def numpy_again() -> Iterator[None]:
    yield
    heat.stepped_by()
    plain.run_by()


@pytest.fixture(scope="module")
def day() -> Day:
    """A day with wind and cloud, and every kind of cooker; one dish is frozen, one a small loaf."""
    event = grown(20, 8, 2)
    frozen = changed(event.dishes[0], start_c=-18.0)
    school = read_event(sample_text("school-day"))
    loaf = next(d for d in school.dishes if d.shape == "baked")
    # It waits for a middle that it never has, so that its crust gets as hot as the oven.
    loaf = changed(loaf, meal=frozen.meal, hold_min=600)
    dishes = (frozen, *event.dishes[2:5], loaf, *event.dishes[5:])
    extra = tuple(c for c in school.cookers if c.kind == "insulated")
    weather = changed(
        event.weather,
        hours=tuple(changed(h, wind_m_s=4.0, cloud_pct=35.0) for h in event.weather.hours),
    )
    event = changed(event, dishes=dishes, cookers=(*event.cookers, *extra), weather=weather)
    return make_day(event)


def states(day: Day, pots: int) -> Iterator[Ensemble]:
    """Yield each cooker with each set of neighbouring dishes, at all starts of all drawn days."""
    event = day.event
    sizes = [p for p in event.pots if p.litres >= 3]
    for cooker in event.cookers:
        if pots > 1 and not cooker.is_oven:
            continue
        queries = []
        for first in range(0, 20, 4):
            dishes = tuple(itertools.islice(itertools.cycle(event.dishes), first, first + pots))
            load = Load(
                dishes, (1.5,) * pots, tuple(sizes[k % len(sizes)] for k in range(pots)), 30
            )
            queries.append(DurationQuery(cooker, load, STARTS, 1200))
        yield drawn_loads(day, queries)


def copy(state: Ensemble) -> Ensemble:
    return select(state, np.arange(state.minute.size))


@pytest.mark.parametrize("pots", [1, 2, 3])
@pytest.mark.parametrize("follow", [False, True])
def test_runs_are_the_same_to_the_last_digit(day: Day, pots: int, follow: bool) -> None:
    """Minutes and temperatures are equal, bit by bit: exponentials count only for minutes won."""
    members = finished = 0
    for state in states(day, pots):
        until = np.tile([1200.0, 900.0], state.minute.size // 2)
        asked = {"until": until, "boil_c": day.boil_c, "dt_s": 180.0, "follow": follow}
        expected = run(copy(state), day.members, **asked)  # type: ignore[arg-type]

        compiled.use()
        found = run(state, day.members, **asked)  # type: ignore[arg-type]

        heat.stepped_by()
        plain.run_by()
        for name in ("done_min", "hot_min", "clock_min", "peak_c", "body_peak_c"):
            np.testing.assert_array_equal(getattr(found, name), getattr(expected, name), name)
        members, finished = members + until.size, finished + np.isfinite(found.done_min).sum()
        if follow:
            assert found.core_c is not None
            assert expected.core_c is not None
            steps = min(len(found.core_c), len(expected.core_c))
            np.testing.assert_array_equal(found.core_c[:steps], expected.core_c[:steps])
            assert np.isnan(expected.core_c[steps:]).all()
            assert np.isnan(found.core_c[steps:]).all()
    assert members > 1500
    assert finished > 500


@pytest.mark.parametrize("pots", [1, 3])
def test_a_step_changes_what_numpys_does_and_nothing_else(day: Day, pots: int) -> None:
    for state in states(day, pots):
        other = copy(state)
        for dt_s in [30.0, 180.0, *[60.0] * 90]:
            heat.step(other, day.members, dt_s=dt_s, boil_c=day.boil_c)
            compiled.step(state, day.members, dt_s=dt_s, boil_c=day.boil_c)
        done = heat.is_done(state)
        np.testing.assert_array_equal(done, heat.is_done(other))
        for field in dataclasses.fields(Ensemble):
            found, expected = getattr(state, field.name), getattr(other, field.name)
            if field.name in ("won_min", "lethal_min"):
                np.testing.assert_allclose(found, expected, rtol=1e-12, err_msg=field.name)
            else:
                np.testing.assert_array_equal(found, expected, field.name)


def test_compiled_code_is_kept_for_the_figures_that_it_was_compiled_with() -> None:
    """A cache that knows its own file only would go on with yesterday's clock or lethality."""

    def named(**figures: float) -> str:
        kernel = types.FunctionType(compiled.run.__code__, dict(figures), "kernel")
        return compiled.for_its_figures(kernel).__qualname__

    assert named(to_c=60.0, from_c=5.0) == named(from_c=5.0, to_c=60.0)
    assert named(to_c=60.0) != named(to_c=57.0)
    names = compiled._run.py_func.__globals__
    assert {"CLOCK_TO_C", "LETHALITY_MIN", "STEAM_J_KG"} <= names.keys()


def test_what_a_run_was_given_stays_as_it_is(day: Day) -> None:
    state = next(states(day, 1))
    before = copy(state)

    compiled.run(
        state,
        day.members,
        until=np.full(state.minute.size, 900.0),
        boil_c=day.boil_c,
        dt_s=120.0,
        follow=False,
    )

    for name in ("minute", "pot_c", "body_c", "lethal_min", "clock_min", "steam_kg", "won_min"):
        np.testing.assert_array_equal(getattr(state, name), getattr(before, name), name)


def test_a_plan_is_the_same_byte_for_byte(monkeypatch: pytest.MonkeyPatch) -> None:
    event = read_event(sample_text("winter-refusal"))
    expected = make_plan(event).model_dump_json()
    for kept in ("_EXPECTED", "_DRAWN"):  # nothing of what numpy worked out is used again
        monkeypatch.setattr(durations, kept, type(getattr(durations, kept))(lambda _: 0, 0))

    compiled.use()

    assert make_plan(event).model_dump_json() == expected
