"""Crews: jobs have their people, every interval its turn, and no fewer walks would do."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime

import numpy as np

from events.model import Cooker
from solver.plan import Job
from solver.policy import TURNS_A_WALK
from solver.rostering.model import LAST_OVER, possible, roster
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turn_times import TurnTimes, least_turns
from solver.scheduling.problem import Person

SLOTS = 14


def cooker(name: str, *, trained: bool) -> Cooker:
    return Cooker(
        id=name, name=name, kind="parabolic" if trained else "box", litres=5, trained=trained
    )


def task(name: str, slot: int, abilities: tuple[str | None, ...]) -> Task:
    job = Job(id=name, kind="lift", at=datetime(2026, 1, 1, tzinfo=UTC), minutes=5, helper_ids=())
    return Task(job, slot, abilities)  # type: ignore[arg-type]


def person(name: str, *may: str, away: tuple[int, ...] = ()) -> Person:
    free = tuple(s not in away for s in range(SLOTS))
    return Person(name, frozenset(may), True, free)  # type: ignore[arg-type]


def covered(stretch: SunExposure, turns: list[int]) -> bool:
    marks = [stretch.start, *sorted(turns), stretch.end]
    gaps = [b - a for a, b in itertools.pairwise(marks)]
    return all(g <= stretch.every for g in gaps[:-1]) and gaps[-1] <= stretch.every + LAST_OVER


def fewest_walks(people: list[Person], stretches: list[SunExposure], busy: set[int]) -> int | None:
    """Count by trying every set of slots; one walker (people[0]), jobs in `busy`."""
    slots = [s for s in range(SLOTS) if people[0].free[s] and s not in busy]
    for count in range(SLOTS):
        for pick in itertools.combinations(slots, count):
            if all(covered(k, [s for s in pick if k.start < s < k.end]) for k in stretches) and all(
                sum(k.start < s < k.end for k in stretches) <= TURNS_A_WALK for s in pick
            ):
                return count
    return None


def test_walks_are_as_few_as_exhaustive_search_finds() -> None:
    luck = np.random.default_rng(3)
    none = 0
    for _ in range(40):
        stretches = [
            SunExposure(cooker(f"m{k}", trained=True), start, start + length, every)
            for k in range(3)
            for start, length, every in [
                tuple(int(v) for v in luck.integers((0, 4, 2), (4, 10, 5)))
            ]
        ]
        away = tuple(int(s) for s in luck.choice(SLOTS, 3, replace=False))
        people = [person("a", "mirrors", "lift", away=away)]
        job = task("j", int(luck.integers(SLOTS)), ("lift",))
        if job.slot in away:
            continue

        team = roster(people, [job], stretches)

        best = fewest_walks(people, stretches, {job.slot})
        assert (team is None) == (best is None)
        assert possible(people, [job], stretches) == (best is not None)
        if team is None:
            none += 1
            continue
        assert len(team.trips) == best
        for k, stretch in enumerate(stretches):
            assert covered(stretch, [t.slot for t in team.trips if k in t.exposures])
        assert all(len(t.exposures) <= TURNS_A_WALK for t in team.trips)
    assert 0 < none < 30


def test_only_those_who_may_are_given_a_job_and_nobody_two_at_once() -> None:
    people = [person("a", "mirrors", "lift"), person("b", "lift"), person("c", "lift")]
    tasks = [task("x", 2, ("mirrors", "lift")), task("y", 2, ("lift",))]

    team = roster(people, tasks, [])

    assert team is not None
    assert team.people[0][0] == "a"
    assert {*team.people[0], *team.people[1]} == {"a", "b", "c"}


def test_work_is_shared_fairly() -> None:
    people = [person("a", "lift"), person("b", "lift")]

    team = roster(people, [task(f"t{s}", s, ("lift",)) for s in range(8)], [])

    assert team is not None
    given = [who for (who,) in team.people]
    assert given.count("a") == given.count("b") == 4


def long_task(name: str, slot: int, minutes: int, *abilities: str) -> Task:
    at = datetime(2026, 1, 1, tzinfo=UTC)
    job = Job(id=name, kind="lift", at=at, minutes=minutes, helper_ids=())
    return Task(job, slot, abilities)  # type: ignore[arg-type]


def test_mirrors_are_turned_by_those_who_may_however_many_walk_along() -> None:
    people = [person("able", "mirrors"), person("other")]
    mirrors = [SunExposure(cooker(f"m{k}", trained=True), 0, 5, 3) for k in range(TURNS_A_WALK + 1)]

    team = roster(people, [], mirrors)

    assert team is not None
    assert {t.helper_id for t in team.trips} == {"able"}
    assert sorted(k for t in team.trips for k in t.exposures) == list(range(TURNS_A_WALK + 1))


def test_no_round_is_set_where_all_who_may_are_at_work() -> None:
    people = [person("a", "mirrors", "lift")]
    jobs = [task(f"j{s}", s, ("lift",)) for s in (2, 3)]

    rounds = TurnTimes(people, jobs, [SunExposure(cooker("m", trained=True), 0, 5, 3)], None)

    assert [r.slot for r in rounds.solve(2.0, 0.2) or ()] == [1]


def test_where_long_jobs_clash_with_the_best_rounds_another_crew_is_still_there() -> None:
    """Only A may do the long job and turn mirrors; by counts one walk in slot 1 looks best."""
    people = [person("a", "mirrors", "lift"), person("b", "lift", away=tuple(range(2, SLOTS)))]
    job = long_task("j", 1, 10, "lift")
    mirror = SunExposure(cooker("m", trained=True), 0, 5, 3)
    box = SunExposure(cooker("x", trained=False), 0, 4, 2)
    rounds = TurnTimes(people, [job], [mirror, box], None).solve(2.0, 0.2)
    assert [(r.slot, r.walkers) for r in rounds or ()] == [(1, 1)]

    team = roster(people, [job], [mirror, box])

    assert team is not None
    assert team.people == (("a",),)
    assert [(t.slot, t.helper_id, t.exposures) for t in team.trips] == [
        (1, "b", (1,)),
        (3, "a", (0,)),
    ]


def _stabbed(one: SunExposure, first: int, last: int) -> int:
    """Return the fewest turns from one slot to another, each as late as its interval allows."""
    turned: list[int] = []
    for a in range(one.start, one.end - one.every - LAST_OVER):
        slots = [s for s in range(a + 1, a + one.every + 1) if s >= max(one.start + 1, one.now)]
        if slots and first <= slots[0] and slots[-1] <= last and not set(slots) & set(turned):
            turned.append(slots[-1])
    return len(turned)


def test_the_turns_of_an_hour_are_counted_as_laying_them_by_hand_counts_them() -> None:
    box = cooker("box", trained=False)
    for every, now in ((4, -1), (5, -1), (12, -1), (5, 13), (4, 12)):
        for end in range(16, 40, 3):
            one = SunExposure(box, 10, end, every, now)
            for first in range(9, 40):
                for last in range(first, 42):
                    counted = least_turns(one, first, last)
                    by_hand = _stabbed(one, first, last)
                    assert counted <= by_hand, (one, first, last)
                    assert counted == by_hand or now > 0, (one, first, last)
