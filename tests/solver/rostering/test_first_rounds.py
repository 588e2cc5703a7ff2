"""The first answer for the turns' times, against the rule itself and against a whole search."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from events.kinds import Ability
from solver.cp_sat import cp_model
from solver.deterministic import deterministic_solver
from solver.policy import TURNS_A_WALK
from solver.rostering.first_rounds import Round, first_rounds
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turn_times import TurnTimes
from solver.rostering.turns import LAST_OVER
from solver.scheduling.problem import Person
from tests.solver.rostering.test_roster import cooker, task

SLOTS = 40


def free(name: str, *may: Ability) -> Person:
    return Person(name, frozenset(may), True, (True,) * SLOTS)


def crowd(dice: random.Random) -> tuple[list[Person], list[Task], list[SunExposure]]:
    exposures = []
    for k in range(dice.randint(1, 8)):
        start = dice.randint(0, 8)
        end = start + dice.randint(6, 24)
        now = dice.choice([-1, start + 2, start + 7])
        one = cooker(f"c{k}", trained=dice.random() < 0.4)
        exposures.append(SunExposure(one, start, end, dice.randint(2, 6), now))
    people = [free("able", "mirrors"), free("first"), free("second")]
    jobs = [task(f"t{k}", dice.randint(0, 30), (None,)) for k in range(dice.randint(0, 20))]
    return people, jobs, exposures


def walks_and_turns(rounds: Sequence[Round]) -> tuple[int, int]:
    return sum(r.walkers for r in rounds), sum(len(r.turned) for r in rounds)


def best(times: TurnTimes) -> tuple[int, int] | None:
    """Return the fewest walks, then turns, by a search without a limit worth the name."""
    turns = sum(times.turns.values())
    walks = sum(v for both in times.walkers.values() for v in both)
    times.cp.minimize(walks * 1000 + turns)
    solver = deterministic_solver(20.0)
    status = solver.solve(times.cp)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL
    walked, turned = divmod(round(solver.objective_value), 1000)
    return walked, turned


@pytest.mark.parametrize("seed", range(60))
def test_every_interval_has_a_turn_and_nobody_walks_who_is_not_free(seed: int) -> None:
    """By the rule itself; and it is at most a walk over the fewest there are."""
    people, jobs, exposures = crowd(random.Random(seed))
    times = TurnTimes(people, jobs, exposures, None)

    rounds = first_rounds(exposures, times.rooms)

    least = best(times)
    if rounds is None:
        assert least is None
        return
    assert least is not None
    for k, one in enumerate(exposures):
        turned = [one.start, *(r.slot for r in rounds if k in r.turned)]
        assert all(max(one.start + 1, one.now) <= s < one.end for s in turned[1:])
        for a in range(one.start, one.end - one.every - LAST_OVER):
            may = range(max(a + 1, one.now), a + one.every + 1)
            assert not may or any(s in may for s in turned[1:]), (k, a)
    for r in rounds:
        working = sum(j.slot == r.slot for j in jobs)
        trained = sum(exposures[k].cooker.trained for k in r.turned)
        assert r.walkers <= len(people) - working
        assert r.mirror_walkers <= 1
        assert len(r.turned) <= TURNS_A_WALK * r.walkers
        assert trained <= TURNS_A_WALK * r.mirror_walkers
    walked, _ = walks_and_turns(rounds)
    assert least[0] <= walked <= least[0] + 1


def test_a_mirror_is_taken_along_only_by_one_who_may_turn_it() -> None:
    """Three mirrors and a box are due at once, a fourth mirror a slot later: one is trained."""
    mirrors = [cooker(f"m{k}", trained=True) for k in range(4)]
    exposures = [SunExposure(m, 0, 9, 4) for m in mirrors[:3]]
    exposures += [
        SunExposure(mirrors[3], 0, 10, 5),
        SunExposure(cooker("b", trained=False), 0, 9, 4),
    ]
    times = TurnTimes([free("able", "mirrors"), free("other")], [], exposures, None)

    rounds = first_rounds(exposures, times.rooms)

    assert rounds is not None
    assert all(r.mirror_walkers <= 1 for r in rounds)
    assert [(r.slot, 3 in r.turned) for r in rounds] == [(4, False), (5, True)]
