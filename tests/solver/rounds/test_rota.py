"""Rotas against exhaustive search, by their bell, after an earlier rota, and at their largest."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest

from solver.rounds.model import can_be, solve_rota
from solver.rounds.problem import GroupRound, RotaProblem, StopVisits

Timetable = dict[int, int]  # of one group: the start of each stop; its pause under -1


def small(seed: int, *, bell: bool = False) -> RotaProblem:
    rng = random.Random(seed)
    count = 2 if seed % 3 == 0 else 3
    stops = tuple(
        StopVisits(
            id=f"s{n}",
            slots=rng.choice((1, 2)),
            ready=rng.choice((0, 0, 1)),
            unseen=frozenset(t for t in range(14) if rng.random() < 0.6),
        )
        for n in range(count)
    )
    walks = [[rng.choice((1, 1, 2)) for _ in stops] for _ in stops]
    even = tuple(tuple(walks[min(a, b)][max(a, b)] for b in range(count)) for a in range(count))
    end = rng.choice((8, 9, 10))
    groups = tuple(
        GroupRound(f"g{n}", 0, end, tuple(range(count)), pace=0) for n in range(5 - count)
    )
    closed = frozenset({rng.randrange(end)}) if rng.random() < 0.3 else frozenset[int]()
    return RotaProblem(
        groups=groups,
        stops=stops,
        walks=(even,),
        walk_least=1,
        closed=closed,
        pause=rng.choice((0, 1)),
        pause_starts=(2, 5),
        bell=bell,
        fixed={},
        before={},
    )


def timetables(problem: RotaProblem, group: GroupRound) -> Iterator[Timetable]:
    """Yield every way in which a group can go round, with its pause."""
    pauses: list[int | None] = [None]
    if problem.pause:
        pauses = list(range(problem.pause_starts[0], problem.pause_starts[1] + 1))
    for pause in pauses:
        rest = set(range(pause, pause + problem.pause)) if pause is not None else set[int]()
        if rest & problem.closed or max(rest, default=0) >= group.end:
            continue
        for order in itertools.permutations(group.stops):
            for starts in itertools.combinations(range(group.end), len(order)):
                visits = list(zip(order, starts, strict=True))
                if goes(problem, group, visits, rest):
                    own = dict(visits)
                    yield own | ({-1: pause} if pause is not None else {})


def goes(
    problem: RotaProblem, group: GroupRound, visits: list[tuple[int, int]], rest: set[int]
) -> bool:
    for stop, start in visits:
        span = set(range(start, start + problem.stops[stop].slots))
        if span & (problem.closed | rest) or max(span) >= group.end:
            return False
    for (a, at), (b, then) in itertools.pairwise(visits):
        left = at + problem.stops[a].slots
        resting = len(rest & set(range(left, then)))
        if then - left - resting < problem.walks[0][a][b]:
            return False
        if resting and min(rest) < left + problem.walk_least and min(rest) >= left:
            return False  # the walk from a stop comes before the pause
    if rest and visits:
        before = [(s, t) for s, t in visits if t < min(rest)]
        if before:
            stop, start = before[-1]
            return start + problem.stops[stop].slots + problem.walk_least <= min(rest)
    return True


@dataclass(frozen=True)
class Way:
    """One way of a group to go round: where it is when, as bits, and what it scores."""

    places: int
    unseen: int
    end: int
    waits: int


def ways_of(problem: RotaProblem, group: GroupRound) -> list[Way]:
    """Return every way in which a group can go round; when it pauses is all one."""
    ways = set[Way]()
    for visits in timetables(problem, group):
        visits.pop(-1, None)
        places = 0
        for s, t in visits.items():
            for slot in range(t, t + problem.stops[s].slots + problem.stops[s].ready):
                places |= 1 << (20 * s + slot)
        end = max(t + problem.stops[s].slots for s, t in visits.items())
        busy = sum(problem.stops[s].slots for s in visits) + problem.walk_least * (len(visits) - 1)
        unseen = sum(t in problem.stops[s].unseen for s, t in visits.items())
        ways.add(Way(places, unseen, end, end - min(visits.values()) - busy))
    return sorted(ways, key=lambda way: way.places)


def best(problem: RotaProblem) -> tuple[int, int, int] | None:
    """Return the least unseen, last end and waiting of all rounds in which no two groups meet."""
    ways = ways_of(problem, problem.groups[0])  # the groups are alike: their order is all one
    partial = [(way.places, (way.unseen, way.end, way.waits), n) for n, way in enumerate(ways)]
    for _ in problem.groups[1:]:
        partial = [
            (
                places | way.places,
                (score[0] + way.unseen, max(score[1], way.end), score[2] + way.waits),
                n,
            )
            for places, score, last in partial
            for n, way in enumerate(ways[:last])
            if not places & way.places
        ]
    scores = [score for _, score, _ in partial]
    unseen, end, waits = min(scores, default=(-1, 0, 0))
    return (unseen, end * 5, waits * 5) if scores else None


@pytest.mark.parametrize("block", [0, pytest.param(1, marks=pytest.mark.slow)])
def test_small_rotas_are_as_good_as_the_best_of_all(block: int) -> None:
    solved = 0
    for seed in range(block * 30, block * 30 + 30):
        problem = small(seed)

        solution = solve_rota(problem)

        wanted = best(problem)
        if wanted is None:
            assert solution is None, seed
            continue
        assert solution is not None, seed
        assert tuple(level.value for level in solution.levels) == wanted, seed
        assert all(level.proven for level in solution.levels), seed
        solved += 1
    assert solved >= 10, "most of these can be solved"


def large(count: int = 8, *, slots: int = 41) -> RotaProblem:
    rng = random.Random(8)
    stops = tuple(
        StopVisits(f"s{n}", 3, 0, frozenset(t for t in range(60) if n < 6 and rng.random() < 0.4))
        for n in range(count)
    )
    groups = tuple(GroupRound(f"g{n}", 0, slots, tuple(range(count)), pace=0) for n in range(count))
    walks = (tuple(tuple(1 for _ in stops) for _ in stops),)
    return RotaProblem(groups, stops, walks, 1, frozenset(), 2, (10, 20), False, {}, {})


@pytest.mark.slow
def test_eight_groups_go_round_eight_stops_and_what_they_see_is_proven() -> None:
    solution = solve_rota(large())

    assert solution is not None
    assert solution.levels[0].key == "unseen"
    assert solution.levels[0].proven


def test_at_a_bell_all_visits_of_a_round_begin_together() -> None:
    problem = replace(large(4, slots=26), bell=True)

    assert can_be(problem)
    solution = solve_rota(
        replace(problem, stops=tuple(replace(s, unseen=frozenset()) for s in problem.stops))
    )

    assert solution is not None
    bells = sorted(set(solution.visits.values()))
    assert all(two - one >= 3 for one, two in itertools.pairwise(bells))


def test_after_an_earlier_rota_only_what_must_move_moves() -> None:
    problem = replace(small(1), closed=frozenset(), bell=False)
    first = solve_rota(problem)
    assert first is not None

    again = solve_rota(replace(problem, before=first.visits))

    assert again is not None
    assert again.visits == first.visits
    assert again.levels[0].key == "moved"
    assert again.levels[0].value == 0


def test_a_visit_that_has_begun_stays() -> None:
    problem = replace(small(1), closed=frozenset())
    first = solve_rota(problem)
    assert first is not None
    begun = min(first.visits.items(), key=lambda visit: visit[1])
    others = {k: t for k, t in first.visits.items() if k != begun[0]}

    again = solve_rota(replace(problem, fixed=dict([begun]), before=others))

    assert again is not None
    assert again.visits == first.visits
