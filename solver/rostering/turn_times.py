"""When each cooker is turned and how many walk then, before anybody is named.

The jobs stand still, so for the times of the turns it is enough to count who is free in each slot:
for every set of abilities, those who walk and those who work are at most those who have one of
them (Hall's condition, slot by slot).
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from events.kinds import Ability
from solver.cp_sat import cp_model
from solver.deterministic import deterministic_solver
from solver.plan import Plan
from solver.policy import LONGEST_MIN, SLOT_MIN, TURNS_A_WALK
from solver.rostering.levels import POSSIBLE_LIMIT, solve_levels
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turns import LAST_OVER, may, turner, walk_id
from solver.scheduling.problem import Person

COUNTED_SLOTS = LONGEST_MIN // SLOT_MIN  # an hour: every cooker has a turn in it


@dataclass(frozen=True)
class Round:
    """The walks of one slot: the exposures turned, how many walk, how many of them to mirrors."""

    slot: int
    turned: tuple[int, ...]
    walkers: int
    mirror_walkers: int


class TurnTimes:
    """The model: turns(exposure, slot) and, by slot, walkers to mirrors and walkers to any."""

    def __init__(
        self,
        people: Sequence[Person],
        tasks: Sequence[Task],
        exposures: Sequence[SunExposure],
        before: Plan | None,
    ) -> None:
        self.people, self.exposures, self.before = people, exposures, before
        self.cp = cp_model.CpModel()
        self.turns: dict[tuple[int, int], cp_model.IntVar] = {}
        self.walkers: dict[int, tuple[cp_model.IntVar, cp_model.IntVar]] = {}
        at = every_interval_has_a_turn(self.cp, exposures, self.turns)
        needed = _needed(tasks)
        for s, here in at.items():
            self._enough_walk(s, here)
            self._enough_are_free(s, needed[s])
        self._enough_walk_within_an_hour()

    def _enough_walk(self, s: int, here: list[int]) -> None:
        top = -(-len(here) // TURNS_A_WALK)
        to_mirrors, to_any = self.cp.new_int_var(0, top, ""), self.cp.new_int_var(0, top, "")
        self.walkers[s] = to_mirrors, to_any
        mirrors = [self.turns[(k, s)] for k in here if turner(self.exposures[k])]
        if mirrors:
            self.cp.add(sum(mirrors) <= TURNS_A_WALK * to_mirrors)
        turned = sum(self.turns[(k, s)] for k in here)
        self.cp.add(turned <= TURNS_A_WALK * (to_mirrors + to_any))
        for k in here:  # implied by these two, yet without it the relaxation walks by quarters
            walk = to_mirrors if turner(self.exposures[k]) else to_mirrors + to_any
            self.cp.add(self.turns[(k, s)] <= walk)

    def _enough_walk_within_an_hour(self) -> None:
        """Bound the walks of a stretch of slots by the turns that must fall into it.

        Implied, slot by slot, by whole walkers; without it the relaxation walks by thirds.
        """
        ahead = [one for one in self.exposures if not one.cooker.attended]
        walks: dict[tuple[int, int], int] = {}
        for length in range(1, COUNTED_SLOTS + 1):
            for first in self.walkers:
                last = first + length - 1
                turns = sum(least_turns(one, first, last) for one in ahead)
                needed = walks[first, last] = -(-turns // TURNS_A_WALK)
                if needed > max(walks.get((first + k, last - 1 + k), 0) for k in (0, 1)):
                    here = [self.walkers[s] for s in range(first, last + 1) if s in self.walkers]
                    self.cp.add(cp_model.LinearExpr.sum([*itertools.chain(*here)]) >= needed)

    def _enough_are_free(self, s: int, needed: dict[Ability | None, int]) -> None:
        to_mirrors, to_any = self.walkers[s]
        kinds: list[Ability | None] = sorted({*needed, "mirrors", None}, key=str)
        rows: dict[frozenset[int], set[Ability | None]] = {}
        for size in range(1, len(kinds) + 1):
            for group in itertools.combinations(kinds, size):
                free = frozenset(
                    p
                    for p, who in enumerate(self.people)
                    if who.free[s] and any(may(who, ability) for ability in group)
                )
                rows.setdefault(free, set()).update(group)
        for free, group_of in rows.items():
            walk = (to_mirrors if "mirrors" in group_of else 0) + (
                to_any if None in group_of else 0
            )
            self.cp.add(walk + sum(needed.get(a, 0) for a in group_of) <= len(free))

    def solve(self, limit: float, tie_limit: float) -> list[Round] | None:
        """Return the rounds: fewest walks, fewest turns, each as late as its interval allows."""
        turns = cp_model.LinearExpr.sum(list(self.turns.values()))
        walks = cp_model.LinearExpr.sum(list(itertools.chain(*self.walkers.values())))
        first = walks * (1 + len(self.turns)) + turns
        if self.before is not None:
            first += (
                cp_model.LinearExpr.sum(list(self._new_walks(self.before)))
                * (1 + len(self.turns)) ** 2
            )
        late = sum((self.exposures[k].end - s) * v for (k, s), v in self.turns.items())
        # Nobody trained for mirrors is asked where anybody would do: the same people can go again.
        trained = cp_model.LinearExpr.sum([to_mirrors for to_mirrors, _ in self.walkers.values()])
        late = late * (1 + len(self.exposures) * len(self.walkers)) + trained
        variables = [*self.turns.values(), *itertools.chain(*self.walkers.values())]
        levels, limits = (first, late), (limit, tie_limit)
        solver = solve_levels(self.cp, variables, levels, limits=limits, presolve=False)
        return None if solver is None else list(self._rounds(solver))

    def possible(self) -> bool:
        """Return whether the walks can be counted out at all; what isn't settled in time counts."""
        solver = deterministic_solver(POSSIBLE_LIMIT)
        solver.parameters.cp_model_presolve = False
        return solver.solve(self.cp) != cp_model.INFEASIBLE

    def _new_walks(self, before: Plan) -> Iterator[cp_model.IntVar]:
        """Yield by slot how many more walk than in the plan before."""
        ids = {w.id for w in before.walks}
        for s, (to_mirrors, to_any) in self.walkers.items():
            had = sum(walk_id(s, who.id) in ids for who in self.people)
            more = self.cp.new_int_var(0, len(self.exposures), "")
            self.cp.add(to_mirrors + to_any - had <= more)
            yield more

    def _rounds(self, solver: cp_model.CpSolver) -> Iterator[Round]:
        for s, (to_mirrors, to_any) in sorted(self.walkers.items()):
            turned = tuple(
                k
                for k in range(len(self.exposures))
                if (k, s) in self.turns and solver.boolean_value(self.turns[(k, s)])
            )
            mirror_walkers = int(solver.value(to_mirrors))
            if turned:
                yield Round(s, turned, mirror_walkers + int(solver.value(to_any)), mirror_walkers)


def every_interval_has_a_turn(
    cp: cp_model.CpModel,
    exposures: Sequence[SunExposure],
    turns: dict[tuple[int, int], cp_model.IntVar],
) -> dict[int, list[int]]:
    """Add a variable for each turn that may be; return by slot which exposures may be turned."""
    at = defaultdict[int, list[int]](list)
    for k, one in enumerate(exposures):
        if one.cooker.attended:
            continue  # who stays at it turns it
        for s in range(max(one.start + 1, one.now), one.end):
            turns[(k, s)] = cp.new_bool_var("")
            at[s].append(k)
        for a in range(one.start, one.end - one.every - LAST_OVER):
            ahead = [turns[(k, s)] for s in range(a + 1, a + one.every + 1) if (k, s) in turns]
            if ahead:
                cp.add_bool_or(ahead)
    return at


def least_turns(one: SunExposure, first: int, last: int) -> int:
    """Return how many turns of an exposure fall from one slot to another, however late they are."""
    begins = max(one.start, one.now - one.every, first - 1)
    ends = min(one.end - one.every - LAST_OVER - 1, last - one.every)
    return max(0, (ends - begins) // one.every + 1)


def _needed(tasks: Sequence[Task]) -> dict[int, dict[Ability | None, int]]:
    """Return how many people the jobs need by slot and ability."""
    needed: dict[int, dict[Ability | None, int]] = defaultdict(lambda: defaultdict(int))
    for task in tasks:
        for s in task.slots():
            for ability in task.abilities:
                needed[s][ability] += 1
    return needed
