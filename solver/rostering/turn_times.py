"""When each cooker is turned and how many walk then, before anybody is named.

The jobs stand still, so for the times of the turns it is enough to count who is free in each slot:
for every set of abilities, those who walk and those who work are at most those who have one of
them (Hall's condition, slot by slot).
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np

from events.kinds import Ability
from solver.cp_sat import cp_model
from solver.deterministic import deterministic_solver
from solver.plan import Plan
from solver.policy import LONGEST_MIN, SLOT_MIN, TURNS_A_WALK
from solver.rostering.first_rounds import Room, Round, first_rounds
from solver.rostering.levels import POSSIBLE_LIMIT, solve_levels
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turns import LAST_OVER, may, turner, walk_id
from solver.scheduling.problem import Person
from solver.thermal.energy_balance import Ints

FOUND_LIMIT = 0.1  # deterministic seconds: from a found answer, five times as many find none better
COUNTED_SLOTS = LONGEST_MIN // SLOT_MIN  # an hour: every cooker has a turn in it


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
        self.rooms = {s: [*self._rooms(s, needed[s])] for s in at}
        for s, here in at.items():
            self._enough_walk(s, here)
            self._enough_are_free(s)
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
        firsts = np.asarray(sorted(self.walkers), dtype=np.int64)
        walks: dict[tuple[int, int], int] = {}
        for length in range(1, COUNTED_SLOTS + 1):
            turns = np.zeros_like(firsts)
            for one in ahead:
                turns += least_turns(one, firsts, firsts + length - 1)
            for first, needed in zip(
                firsts.tolist(), (-(-turns // TURNS_A_WALK)).tolist(), strict=True
            ):
                last = first + length - 1
                walks[first, last] = needed
                if needed > max(walks.get((first + k, last - 1 + k), 0) for k in (0, 1)):
                    here = [self.walkers[s] for s in range(first, last + 1) if s in self.walkers]
                    self.cp.add(cp_model.LinearExpr.sum([*itertools.chain(*here)]) >= needed)

    def _enough_are_free(self, s: int) -> None:
        to_mirrors, to_any = self.walkers[s]
        for room in self.rooms[s]:
            self.cp.add(to_mirrors * room.to_mirrors + to_any * room.to_any <= room.most)

    def _rooms(self, s: int, needed: dict[Ability | None, int]) -> Iterator[Room]:
        """Yield what the jobs of a slot leave free of every set of people."""
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
            most = len(free) - sum(needed.get(a, 0) for a in group_of)
            yield Room("mirrors" in group_of, None in group_of, most)

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
        # After an earlier plan, what is new comes first: its own walks are the better beginning.
        found = first_rounds(self.exposures, self.rooms) if self.before is None else None
        if found is not None:
            self._begin_at(found)
            limit = min(limit, FOUND_LIMIT)
        solver = solve_levels(
            self.cp,
            variables,
            (first, late),
            limits=(limit, tie_limit),
            presolve=False,
            begun=found is not None,
        )
        return None if solver is None else list(self._rounds(solver))

    def _begin_at(self, rounds: Sequence[Round]) -> None:
        """Have the first solve begin at rounds."""
        at = {r.slot: r for r in rounds}
        for (k, s), turn in self.turns.items():
            self.cp.add_hint(turn, s in at and k in at[s].turned)
        for s, (to_mirrors, to_any) in self.walkers.items():
            mirror_walkers = at[s].mirror_walkers if s in at else 0
            self.cp.add_hint(to_mirrors, mirror_walkers)
            self.cp.add_hint(to_any, at[s].walkers - mirror_walkers if s in at else 0)

    def possible(self) -> bool:
        """Return whether the walks can be counted out at all; what isn't settled in time counts."""
        if first_rounds(self.exposures, self.rooms, tries=1) is not None:
            return True
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


def least_turns(one: SunExposure, first: Ints, last: Ints) -> Ints:
    """Return how many turns of an exposure fall from slots to others, however late they are."""
    begins = np.maximum(first - 1, max(one.start, one.now - one.every))
    ends = np.minimum(last - one.every, one.end - one.every - LAST_OVER - 1)
    least: Ints = np.maximum((ends - begins) // one.every + 1, 0)
    return least


def _needed(tasks: Sequence[Task]) -> dict[int, dict[Ability | None, int]]:
    """Return how many people the jobs need by slot and ability."""
    needed: dict[int, dict[Ability | None, int]] = defaultdict(lambda: defaultdict(int))
    for task in tasks:
        for s in task.slots():
            for ability in task.abilities:
                needed[s][ability] += 1
    return needed
