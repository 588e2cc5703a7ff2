"""How many minutes each load takes in each cooker from each start, and how sure that is.

Expected minutes come from the forecast sky. Fast and cautious are quantiles of *minutes to done*
(20 %, and the event's chosen chance, 80 %) over paired draws of the forecast's error, the day's
haze and each cooker's strength; cautious allows for late hands too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from events.model import Cooker
from solver.simulation.day import DRAWS, Day, each_loaded, loaded
from solver.simulation.kept import Kept, query_keys
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.simulation.run import SimulationResult, join, part_of, run
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Bools, Ensemble, Ints, Load

LATE_HANDS_MIN = 5.0  # cautious minutes allow for loading and turning late by so much
DRAW_STEP_S = 180.0  # what differs between draws is far more than what a step does
COARSE_START_MIN = 30  # draws are run on these starts and interpolated between
LATER_MIN = 60  # how far past the meal an estimate looks, so that a refusal has a figure

# Across edits, re-plans and trials: what depends on nothing that changed is not run again.
_EXPECTED = Kept[SimulationResult](lambda result: result.size_bytes)
_DRAWN = Kept[Array](lambda done_min: done_min.nbytes)

Useful = Callable[[Array, Array], Bools]  # expected and clock minutes → which starts are of use


def expected_done(day: Day, cooker: Cooker, load: Load, starts: Ints, *, until: int) -> Array:
    """Return minutes to done from each start under the expected sky alone; inf where never."""
    last = np.full(len(starts), float(until))
    state = loaded(day, cooker, load, starts)
    done: Array = run(state, day.forcing, until=last, boil_c=day.boil_c).done_min.max(axis=0)
    return done


def estimate(
    day: Day,
    queries: Sequence[DurationQuery],
    useful: Callable[[int, Array, Array], Bools] | None = None,
) -> list[DurationEstimate]:
    """Return minutes to done for every query at every start: expected, fast and cautious.

    `useful` says, by the number of a query, its expected minutes and its minutes between 5 and
    60 °C, which starts can be of use: only these are run under drawn skies.
    """
    estimates: dict[int, DurationEstimate] = {}
    by_pots: dict[int, list[int]] = {}
    for k, query in enumerate(queries):
        if len(query.starts):
            by_pots.setdefault(len(query.load.pots), []).append(k)
        else:
            estimates[k] = _no_starts(query)
    for numbers in by_pots.values():
        group = [queries[k] for k in numbers]
        tests = None if useful is None else [partial(useful, k) for k in numbers]
        estimates.update(zip(numbers, _estimate_group(day, group, tests), strict=True))
    return [estimates[k] for k in range(len(queries))]


def _no_starts(query: DurationQuery) -> DurationEstimate:
    none = np.zeros((len(query.load.pots), 0))
    return DurationEstimate(query, none, none, none, none, none, none, none[0])


def _estimate_group(
    day: Day, group: Sequence[DurationQuery], tests: Sequence[Useful] | None
) -> list[DurationEstimate]:
    """Estimate queries whose loads have the same number of pots, side by side."""
    keys = query_keys(day, group)
    sure = _EXPECTED.fill(keys, lambda some: _run_expected(day, [group[k] for k in some]))
    coarse = [_coarse(q.starts) for q in group]
    if tests is not None:
        coarse = [
            _beside(some, q.starts[test(one.done_min, one.clock_min)])
            for q, some, test, one in zip(group, coarse, tests, sure, strict=True)
        ]
    drawn = _DRAWN.fill(
        [(key, some.tobytes()) for key, some in zip(keys, coarse, strict=True)],
        lambda some: _run_drawn(day, [group[k] for k in some], [coarse[k] for k in some]),
    )
    return [
        _of_query(day, q, one, some, done)
        for q, one, some, done in zip(group, sure, coarse, drawn, strict=True)
    ]


def _spans(sizes: Sequence[int]) -> list[slice]:
    """Return where parts of these sizes lie when they are put side by side."""
    ends = np.cumsum(sizes)
    return [slice(int(end) - size, int(end)) for end, size in zip(ends, sizes, strict=True)]


def drawn_loads(day: Day, queries: Sequence[DurationQuery]) -> Ensemble:
    """Return every start of the queries as it is loaded on each drawn day, draw by draw."""
    once = each_loaded(day, [(q.cooker, q.load) for q in queries], [q.starts for q in queries])
    state = join([once] * DRAWS)
    state.strength = day.member_strength[:, once.row].ravel()
    state.loss = day.member_loss[:, once.row].ravel()
    state.row = (np.arange(DRAWS)[:, None] * len(day.event.cookers) + once.row).ravel()
    owner = np.tile(np.repeat(np.arange(len(queries)), [q.starts.size for q in queries]), DRAWS)
    for k, query in enumerate(queries):
        if query.load.preheat_min:
            _preheat(day, state, query, np.flatnonzero(owner == k))
    return state


def _preheat(day: Day, state: Ensemble, query: DurationQuery, members: Ints) -> None:
    """Give a cooker's members the body that their own day has heated; a loaf meets it at once."""
    body_c = heat.preheated_c(
        query.cooker,
        day.members,
        state.row[members],
        minutes=state.minute[members].astype(np.int64),
        for_min=query.load.preheat_min,
        strength=state.strength[members],
    )
    warmer_c = body_c - state.body_c[members]
    state.body_c[members] = body_c
    state.lag_c[:, :, members] += np.where(state.baked[:, members], warmer_c, 0.0)


def _run_expected(day: Day, group: Sequence[DurationQuery]) -> list[SimulationResult]:
    """Run queries under the expected sky; return the results of each."""
    state = each_loaded(day, [(q.cooker, q.load) for q in group], [q.starts for q in group])
    until = np.concatenate(
        [np.full(len(q.starts), float(max(q.until, q.last_plate))) for q in group]
    )
    sure = run(state, day.forcing, until=until, boil_c=day.boil_c, follow=True)
    return [part_of(sure, at) for at in _spans([len(q.starts) for q in group])]


def _run_drawn(day: Day, group: Sequence[DurationQuery], coarse: Sequence[Ints]) -> list[Array]:
    """Run queries under every drawn sky; return minutes to done by (pot, draw, coarse start)."""
    thinned = [replace(q, starts=some) for q, some in zip(group, coarse, strict=True)]
    last = np.concatenate([np.full(len(q.starts), float(q.until)) for q in thinned])
    done = run(
        drawn_loads(day, thinned),
        day.members,
        until=np.tile(last, DRAWS),
        boil_c=day.boil_c,
        dt_s=DRAW_STEP_S,
    ).done_min
    by_draw = done.reshape(done.shape[0], DRAWS, -1)
    return [by_draw[:, :, few].copy() for few in _spans([len(some) for some in coarse])]


def _of_query(
    day: Day, query: DurationQuery, sure: SimulationResult, coarse: Ints, drawn: Array
) -> DurationEstimate:
    expected = sure.done_min
    nth = -(-DRAWS * day.event.chance_pct // 100) - 1
    ordered = np.sort(drawn, axis=1)
    fast = _between(query.starts, coarse, ordered[:, DRAWS // 5 - 1])
    slow = _between(query.starts, coarse, ordered[:, nth]) + LATE_HANDS_MIN
    return DurationEstimate(
        query,
        expected,
        np.minimum(fast, expected),
        np.maximum(slow, expected),
        sure.hot_min,
        sure.clock_min,
        sure.peak_c,
        sure.body_peak_c,
        np.asarray([_between(query.starts, coarse, of_pot) for of_pot in drawn]),
        sure.core_c,
    )


def _coarse(starts: Ints) -> Ints:
    """Return a thinned set of starts that keeps the first and the last.

    The grain is the clock's, not the first start's: the same start is as sure in every plan.
    """
    kept = starts[starts % COARSE_START_MIN == 0]
    return np.unique(np.concatenate([kept, starts[[0, -1]]]))


def _beside(coarse: Ints, used: Ints) -> Ints:
    """Return the thinned starts between which those in use lie."""
    above = np.searchsorted(coarse, used)
    kept: Ints = coarse[np.unique(np.concatenate([above, above[coarse[above] != used] - 1]))]
    return kept


def _between(starts: Ints, coarse: Ints, values: Array) -> Array:
    """Interpolate over starts; one next to a start that never finishes, or outside, never does."""
    if not coarse.size:
        return np.full((values.shape[0], starts.size), np.inf)
    big = np.where(np.isfinite(values), values, 1e7)
    filled = np.asarray([np.interp(starts, coarse, row, 1e7, 1e7) for row in big])
    return np.where(filled > 1e4, np.inf, filled)
