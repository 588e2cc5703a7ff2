"""Crews: jobs have their people, every interval its turn, and no fewer walks would do."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime

import numpy as np
import pytest

from events.model import Cooker
from events.table import changed
from solver.plan import Job, Plan, Walk
from solver.policy import TURNS_A_WALK
from solver.rostering import levels
from solver.rostering.assignment import Assignment, shared_evenly
from solver.rostering.model import LAST_OVER, possible, roster
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turn_times import TurnTimes, least_turns
from solver.rostering.turns import walk_id
from solver.scheduling.problem import Person
from tests.solver.checking import hand_laid

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


def test_a_crew_is_found_where_the_best_is_not_found_in_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Nobody is told that the people can't do it because a search for the fewest walks ended.

    Seven jobs and a walk for each of two: nobody does more than one slot over an even share.
    """
    people = [person(name, "mirrors", "lift") for name in "abcd"]
    jobs = [task(f"t{s}-{k}", s, ("lift",)) for s in range(1, 8) for k in range(2)]
    mirrors = [SunExposure(cooker(f"m{k}", trained=True), 0, 12, 3) for k in range(8)]
    monkeypatch.setattr(levels, "LONGER", 10**7)

    team = roster(people, jobs, mirrors, limit=1e-7)

    assert team is not None
    for k, mirror in enumerate(mirrors):
        assert covered(mirror, [t.slot for t in team.trips if k in t.exposures])
    best = roster(people, jobs, mirrors)
    assert best is not None
    assert len(team.trips) == len(best.trips)
    done = [*(who for (who,) in team.people), *(t.helper_id for t in team.trips)]
    even = -(-len(done) // 4)
    assert max(done.count(p.id) for p in people) <= even + 1
    alone = [person("a", "mirrors", "lift", away=(1, 2, 3))]
    assert roster(alone, jobs, mirrors, limit=1e-7) is None


def test_shares_are_as_even_as_asked_or_else_any() -> None:
    people = [person(name, "lift") for name in "abcd"]
    jobs = [task(f"t{s}-{k}", s, ("lift",)) for s in range(1, 12) for k in range(2)]
    for even, most in ((5, 22), (6, 6)):  # twenty-two jobs
        crew = Assignment(people, jobs)
        crew.nobody_is_in_two_places()

        shared = shared_evenly(crew, crew.most(), even)

        assert shared is not None
        done = [who for (who,) in crew.helpers_of(shared)]
        assert max(done.count(p.id) for p in people) <= most


def test_after_a_plan_a_crew_that_is_found_in_a_hurry_keeps_its_jobs() -> None:
    people = [person(name, "mirrors", "lift") for name in "abcd"]
    jobs = [task(f"t{s}-{k}", s, ("lift",)) for s in range(1, 8) for k in range(2)]
    whose = {j.job.id: "ca"[n % 2] for n, j in enumerate(jobs)}

    team = roster(people, jobs, [], before=before(whose, {}), limit=1e-7)

    assert team is not None
    assert [who for (who,) in team.people] == [*whose.values()]


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


# --- who gets what


def test_a_job_goes_to_one_who_may_and_of_them_to_one_who_may_little_else() -> None:
    people = [person("first"), person("able", "mirrors", "lift"), person("lifter", "lift")]

    team = roster(people, [task("x", 2, ("mirrors",)), task("y", 5, ("lift",))], [])

    assert team is not None
    assert team.people == (("able",), ("lifter",))
    spared = roster(people[1:], [task("y", 5, ("lift",))], [])
    assert spared is not None
    assert spared.people == (("lifter",),)


def test_a_long_job_and_a_walk_count_as_their_slots() -> None:
    """A's quarter of an hour is as much as three jobs; a walk is as much as a job."""
    both = [person("a", "lift", "mirrors"), person("b", "lift", "burner")]
    short = [task(f"t{s}", s, ("lift",)) for s in (4, 5, 6)]

    shared = roster(both, [long_task("j", 0, 15, "mirrors"), *short], [])
    walked = roster(
        both, [task("t", 8, ("lift",))], [SunExposure(cooker("m", trained=True), 0, 5, 3)]
    )

    assert shared is not None
    assert shared.people == (("a",), ("b",), ("b",), ("b",))
    assert walked is not None
    assert [t.helper_id for t in walked.trips] == ["a"]
    assert walked.people == (("b",),)


def test_nobody_walks_who_is_not_there() -> None:
    people = [person("a", "mirrors", away=(1, 2, 3)), person("b", "mirrors")]

    team = roster(people, [], [SunExposure(cooker("m", trained=True), 0, 5, 3)])

    assert team is not None
    assert [t.helper_id for t in team.trips] == ["b"]


def before(jobs: dict[str, str], walks: dict[int, str]) -> Plan:
    """Return a plan in which these had these jobs, and walked in these slots."""
    done = tuple(changed(task(n, 0, ()).job, helper_ids=(who,)) for n, who in jobs.items())
    at = hand_laid.at("12:00")
    trips = (
        Walk(id=walk_id(s, who), at=at, minutes=5, helper_id=who, turn_ids=())
        for s, who in walks.items()
    )
    return changed(hand_laid.PLAN, jobs=done, walks=tuple(trips))


def test_planning_again_leaves_jobs_and_walks_with_those_who_had_them() -> None:
    """Alike, A would have the job and the walk, and it would be in slot 3, as late as it may."""
    people = [person("a", "mirrors"), person("b", "mirrors")]
    mirror = SunExposure(cooker("m", trained=True), 0, 5, 3)
    job = task("j", 9, ("mirrors",))
    fresh = roster(people, [job], [mirror])
    assert fresh is not None
    assert [t.slot for t in fresh.trips] == [3]

    for jobs, walks in (({"j": "b"}, {2: "a"}), ({"j": "a"}, {2: "b"}), ({"j": "b"}, {2: "b"})):
        team = roster(people, [job], [mirror], before=before(jobs, walks))

        assert team is not None
        assert team.people == ((jobs["j"],),)
        assert [(t.slot, t.helper_id) for t in team.trips] == [(2, walks[2])]


def test_where_all_is_sought_at_once_what_was_is_kept_too() -> None:
    people = [person("a", "mirrors", "lift"), person("b", "lift", away=tuple(range(2, SLOTS)))]
    job = long_task("j", 1, 10, "lift")
    mirror = SunExposure(cooker("m", trained=True), 0, 6, 4)
    box = SunExposure(cooker("x", trained=False), 0, 4, 2)

    for slot in (3, 4):
        walks = {1: "b", slot: "a"}
        team = roster(people, [job], [mirror, box], before=before({"j": "a"}, walks))
        assert team is not None
        assert {t.slot: t.helper_id for t in team.trips} == walks


# --- turns


def test_a_turn_is_as_late_as_its_interval_allows() -> None:
    mirror = SunExposure(cooker("m", trained=True), 0, 5, 3)

    rounds = TurnTimes([person("a", "mirrors")], [], [mirror], None).solve(2.0, 0.2)

    assert [(r.slot, r.walkers, r.mirror_walkers) for r in rounds or ()] == [(3, 1, 1)]


def test_one_walker_turns_three_boxes_and_nobody_trained_is_asked_for_them() -> None:
    people = [person("able", "mirrors"), person("other")]
    boxes = [SunExposure(cooker(f"x{k}", trained=False), 0, 5, 3) for k in range(4)]

    three = TurnTimes(people, [], boxes[:3], None).solve(2.0, 0.2)
    four = TurnTimes(people, [], boxes, None).solve(2.0, 0.2)

    assert [(r.walkers, r.mirror_walkers) for r in three or ()] == [(1, 0)]
    assert sum(r.walkers for r in four or ()) == 2
    assert not sum(r.mirror_walkers for r in four or ())


def test_what_is_overdue_is_turned_from_now_on() -> None:
    overdue = SunExposure(cooker("m", trained=True), 0, 9, 2, now=4)

    rounds = TurnTimes([person("a", "mirrors")], [], [overdue], None).solve(2.0, 0.2)

    assert [r.slot for r in rounds or ()] == [4, 6]


def test_of_two_who_walk_the_one_who_may_less_has_the_boxes() -> None:
    away = tuple(s for s in range(SLOTS) if s != 3)
    people = [person("able", "mirrors", away=away), person("other", away=away)]
    mirror = SunExposure(cooker("m", trained=True), 0, 5, 3)
    boxes = [SunExposure(cooker(f"x{k}", trained=False), 0, 5, 3) for k in range(3)]

    team = roster(people, [], [mirror, *boxes])

    assert team is not None
    assert {t.helper_id: t.exposures for t in team.trips} == {"able": (0,), "other": (1, 2, 3)}


@pytest.mark.parametrize(
    ("end", "now", "slots"),
    [
        (4, -1, []),  # the last aim may run over by five minutes
        (5, -1, [3]),
        (10, -1, [3, 6]),
        (11, -1, [3, 6, 9]),
        (11, 5, [5, 8]),
    ],
)
def test_who_stays_at_a_cooker_turns_it_as_late_as_each_aim_holds(
    end: int, now: int, slots: list[int]
) -> None:
    stall = changed(cooker("m", trained=True), attended=True)
    tasks = [stays("x", max(now, 0), 12, stall), stays("y", 12, 14, stall)]
    people = [person("a", "mirrors", away=(12, 13)), person("b", "mirrors", away=(0, 1))]

    team = roster(people, tasks, [SunExposure(stall, 0, end, 3, now)])

    assert team is not None
    assert [(t.slot, t.helper_id) for t in team.trips] == [(s, "a") for s in slots]


def stays(name: str, start: int, end: int, at: Cooker) -> Task:
    one = long_task(name, start, 5 * (end - start), "mirrors")
    job = changed(one.job, kind="attend", cooker_id=at.id)
    return Task(job, start, one.abilities)


def test_each_load_of_an_attended_cooker_is_turned_by_the_one_who_stays_then() -> None:
    stall = changed(cooker("m", trained=True), attended=True)
    tasks = [stays("x", 0, 6, stall), stays("y", 7, 13, stall)]
    people = [
        person("a", "mirrors", away=tuple(range(7, SLOTS))),
        person("b", "mirrors", away=tuple(range(7))),
    ]

    team = roster(people, tasks, [SunExposure(stall, 0, 5, 3), SunExposure(stall, 7, 12, 3)])

    assert team is not None
    assert [(t.slot, t.helper_id) for t in team.trips] == [(3, "a"), (10, "b")]
