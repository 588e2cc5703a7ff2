"""The rota's CP-SAT model: a boolean for each group, stop and start, packed without overlap.

Levels: visits changed (on the day), visits with nothing to see, the last group's end, waiting.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from solver.cp_sat import cp_model
from solver.deterministic import SOLVED, deterministic_solver
from solver.policy import SLOT_MIN
from solver.programme import RotaLevel, RotaLevelKey
from solver.rounds.problem import RotaProblem, RotaSolution

# Deterministic seconds: what is seen is worth proving, that nobody waits is not.
BELL_LIMIT, CAN_LIMIT, QUICK_LIMIT = 0.3, 2.0, 0.5
SEEN_LIMIT, END_LIMIT, WAIT_LIMIT = 5.0, 0.5, 0.5


@dataclass(frozen=True)
class _Goal:
    key: RotaLevelKey
    expression: cp_model.LinearExprT
    limit: float


class _Model:
    """visit(group, stop, start) and pause(group, start), with the rules on them."""

    def __init__(self, problem: RotaProblem) -> None:
        self.problem, self.cp = problem, cp_model.CpModel()
        self.visit: dict[tuple[int, int, int], cp_model.IntVar] = {}
        self.pause: dict[tuple[int, int], cp_model.IntVar] = {}
        self._each_stop_once()
        self._each_its_pause()
        self._a_group_is_in_one_place()
        self._far_stops_need_their_walk()
        self._one_group_at_a_stop()
        self._alike_groups_in_order()
        if problem.bell:
            self._all_change_together()

    def _starts(self, g: int, s: int) -> Iterator[int]:
        """Yield the slots in which a visit may begin."""
        problem, group = self.problem, self.problem.groups[g]
        if (g, s) in problem.fixed:
            yield problem.fixed[(g, s)]
            return
        length = problem.stops[s].slots
        for t in range(group.start, group.end - length + 1):
            if problem.closed.isdisjoint(range(t, t + length)):
                yield t

    def _each_stop_once(self) -> None:
        for g, group in enumerate(self.problem.groups):
            for s in group.stops:
                for t in self._starts(g, s):
                    self.visit[(g, s, t)] = self.cp.new_bool_var("")
                self.cp.add_exactly_one(self._of(g, s).values())

    def _of(self, g: int, s: int) -> dict[int, cp_model.IntVar]:
        """Return a visit's variables by start."""
        return {t: self.visit[(g, s, t)] for t in self._starts(g, s)}

    def _each_its_pause(self) -> None:
        problem = self.problem
        if problem.pause == 0:
            return
        for g, group in enumerate(problem.groups):
            for t in range(max(group.start, problem.pause_starts[0]), problem.pause_starts[1] + 1):
                span = range(t, t + problem.pause)
                if t + problem.pause <= group.end and problem.closed.isdisjoint(span):
                    self.pause[(g, t)] = self.cp.new_bool_var("")
            self.cp.add_exactly_one(v for (of, _), v in self.pause.items() if of == g)

    def _a_group_is_in_one_place(self) -> None:
        covering: dict[tuple[int, int], list[cp_model.IntVar]] = defaultdict(list)
        for (g, s, t), var in self.visit.items():
            for slot in range(t, t + self.problem.stops[s].slots + self.problem.walk_least):
                covering[(g, slot)].append(var)
        for (g, t), var in self.pause.items():
            for slot in range(t, t + self.problem.pause):
                covering[(g, slot)].append(var)
        for several in covering.values():
            if len(several) > 1:
                self.cp.add_at_most_one(several)

    def _far_stops_need_their_walk(self) -> None:
        """Between stops that are far apart there is their walk, the pause not counted."""
        problem = self.problem
        for (g, s, t), var in self.visit.items():
            group, left = problem.groups[g], t + problem.stops[s].slots
            walks = problem.walks[group.pace][s]
            for gap in range(problem.walk_least, max(walks)):
                far = [o for o in group.stops if o != s and walks[o] > gap]
                soon = [self.visit[k] for o in far if (k := (g, o, left + gap)) in self.visit]
                if soon:
                    self.cp.add_at_most_one([var, *soon])
                after = left + gap + problem.pause
                rested = [self.visit[k] for o in far if (k := (g, o, after)) in self.visit]
                if rested and problem.pause:
                    rest = [
                        self.pause[p] for u in range(left, after) if (p := (g, u)) in self.pause
                    ]
                    self.cp.add(var + sum(rested) + sum(rest) <= 2)

    def _one_group_at_a_stop(self) -> None:
        covering: dict[tuple[int, int], list[cp_model.IntVar]] = defaultdict(list)
        for (_, s, t), var in self.visit.items():
            for slot in range(t, t + self.problem.stops[s].slots + self.problem.stops[s].ready):
                covering[(s, slot)].append(var)
        for several in covering.values():
            if len(several) > 1:
                self.cp.add_at_most_one(several)

    def _alike_groups_in_order(self) -> None:
        """Groups that are alike come to their first stop in order: without it, proofs take long."""
        if self.problem.fixed or self.problem.before:
            return
        last: dict[tuple[object, ...], int] = {}
        for g, group in enumerate(self.problem.groups):
            key = (group.start, group.end, group.stops, group.pace)
            before = last.get(key)
            last[key] = g
            if before is None or not group.stops:
                continue
            s = group.stops[0]
            earlier = sum(t * v for t, v in self._of(before, s).items())
            later = sum(t * v for t, v in self._of(g, s).items())
            self.cp.add(earlier + self.problem.stops[s].slots <= later)

    def _all_change_together(self) -> None:
        bell: dict[int, cp_model.IntVar] = {}
        for (_, _, t), var in self.visit.items():
            rings = bell.setdefault(t, self.cp.new_bool_var(""))
            self.cp.add_implication(var, rings)
        longest = max(s.slots for s in self.problem.stops)
        for t in bell:
            several = [bell[u] for u in range(t, t + longest) if u in bell]
            if len(several) > 1:
                self.cp.add_at_most_one(several)

    def goals(self) -> Iterator[_Goal]:
        """Yield the levels, first to last; those that can't be other than zero are left out."""
        problem = self.problem
        if problem.before:
            stays = [
                self.visit[k] for gs, t in problem.before.items() if (k := (*gs, t)) in self.visit
            ]
            yield _Goal("moved", len(problem.before) - sum(stays), SEEN_LIMIT)
        unseen = [v for (_, s, t), v in self.visit.items() if t in problem.stops[s].unseen]
        yield _Goal("unseen", sum(unseen), SEEN_LIMIT)
        end = self.cp.new_int_var(0, max(g.end for g in problem.groups), "")
        waiting: list[cp_model.LinearExprT] = []
        for g, group in enumerate(problem.groups):
            first, last = (self.cp.new_int_var(group.start, group.end, "") for _ in range(2))
            for s in group.stops:
                at = sum(t * v for t, v in self._of(g, s).items())
                self.cp.add(first <= at)
                self.cp.add(last >= at + problem.stops[s].slots)
            self.cp.add(end >= last)
            self.cp.add(last - first >= _busy(problem, g))
            waiting.append(last - first)
        yield _Goal("end", end, END_LIMIT)
        yield _Goal("waiting", sum(waiting), WAIT_LIMIT)

    def read(self, solver: cp_model.CpSolver) -> RotaSolution:
        """Return what a solver found, without levels."""
        chosen = (k for k, v in self.visit.items() if solver.boolean_value(v))
        pauses = {g: t for (g, t), v in self.pause.items() if solver.boolean_value(v)}
        return RotaSolution({(g, s): t for g, s, t in chosen}, pauses, ())


def solve_rota(problem: RotaProblem) -> RotaSolution | None:
    """Return the best rota found, how sure each level is; None where none was found.

    All changing at a bell is solved first: it is quick, and a first answer for free starts.
    """
    best = None if problem.bell else _first(replace(problem, bell=True), BELL_LIMIT)
    model, bounds = _Model(problem), dict[RotaLevelKey, int]()
    for goal in model.goals():
        _hint(model, best)
        model.cp.minimize(goal.expression)
        solver = _solved(model, goal.limit, best)
        if solver is None:
            if not bounds:
                return None
            break
        best = model.read(solver)
        model.cp.add(goal.expression <= round(solver.objective_value))
        bounds[goal.key] = round(solver.best_objective_bound)
    return replace(best, levels=tuple(_levels(problem, best, bounds))) if best else None


def _solved(model: _Model, limit: float, best: RotaSolution | None) -> cp_model.CpSolver | None:
    """Return a solver with the best answer found; None where it found none.

    With a small relaxation it is quick where all can be seen; a proof of less takes the full one.
    """
    quick = deterministic_solver(min(limit, QUICK_LIMIT), linearization=1)
    status = quick.solve(model.cp)
    if status not in (cp_model.FEASIBLE, cp_model.UNKNOWN) or limit <= QUICK_LIMIT:
        return quick if status in SOLVED else None
    _hint(model, model.read(quick) if status in SOLVED else best)
    slow = deterministic_solver(limit - QUICK_LIMIT)
    if slow.solve(model.cp) in SOLVED:
        return slow
    return quick if status in SOLVED else None


def can_be(problem: RotaProblem) -> bool:
    """Return whether there is surely a rota."""
    return _first(problem, CAN_LIMIT) is not None


def _first(problem: RotaProblem, limit: float) -> RotaSolution | None:
    model, solver = _Model(problem), deterministic_solver(limit, linearization=1)
    return model.read(solver) if solver.solve(model.cp) in SOLVED else None


def _levels(
    problem: RotaProblem, best: RotaSolution, bounds: Mapping[RotaLevelKey, int]
) -> Iterator[RotaLevel]:
    """Yield the levels as they are told: waiting is what is neither a visit nor a shortest walk."""
    visits = best.visits
    ends = {(g, s): t + problem.stops[s].slots for (g, s), t in visits.items()}
    there = [
        max(end for (of, _), end in ends.items() if of == g)
        - min(t for (of, _), t in visits.items() if of == g)
        for g, group in enumerate(problem.groups)
        if group.stops
    ]
    busy = sum(_busy(problem, g) for g in range(len(problem.groups)))
    slots = {"end": max(ends.values()), "waiting": sum(there) - busy}
    counts = {
        "moved": sum(visits.get(k) != t for k, t in problem.before.items()),
        "unseen": sum(t in problem.stops[s].unseen for (_, s), t in visits.items()),
    }
    for key, lowest in bounds.items():
        value, bound = counts.get(key, 0), lowest
        if key in slots:
            value, bound = slots[key] * SLOT_MIN, (lowest - busy * (key == "waiting")) * SLOT_MIN
        yield RotaLevel(key=key, value=value, bound=min(bound, value), proven=bound >= value)


def _busy(problem: RotaProblem, g: int) -> int:
    """Return the slots of a group's visits with the shortest walks between."""
    stops = problem.groups[g].stops
    visits = sum(problem.stops[s].slots for s in stops)
    return visits + problem.walk_least * max(0, len(stops) - 1)


def _hint(model: _Model, best: RotaSolution | None) -> None:
    model.cp.clear_hints()  # type: ignore[no-untyped-call]  # ortools has no types here
    if best is None:
        return
    for (g, s, t), var in model.visit.items():
        model.cp.add_hint(var, best.visits.get((g, s)) == t)
    for (g, t), var in model.pause.items():
        model.cp.add_hint(var, best.pauses.get(g) == t)
