"""When each entry is tasted: all of them, surely, with the least difference in sun, held briefly.

A tasting is a window; at most so many are open at once as there are lanes. The narrowest band of
sun minutes is found by looking at every upper edge: yes-or-no packings, each a small model.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from solver.contest.question import Answer, Choice, Question
from solver.contest_plan import ContestLevel, ContestLevelKey
from solver.cp_sat import cp_model
from solver.deterministic import SOLVED, deterministic_solver
from solver.policy import CHANGE_STEPS

LEFT_OUT = 10_000  # an entry left out weighs more than all that is unsure or moved
LIMIT, PACK_LIMIT = 1.0, 0.3  # deterministic seconds of a level, and of a packing


class _Model:
    """A boolean for each allowed choice; each entry once at most, lanes never overfull."""

    def __init__(self, question: Question, allowed: Sequence[int]) -> None:
        self.question, self.cp = question, cp_model.CpModel()
        self.take = {k: self.cp.new_bool_var("") for k in allowed}
        by_entry: dict[int, list[cp_model.IntVar]] = {}
        open_at: dict[int, list[cp_model.IntVar]] = {}
        for k, var in self.take.items():
            choice = question.choices[k]
            by_entry.setdefault(choice.entry, []).append(var)
            for slot in range(choice.at, choice.at + question.span):
                open_at.setdefault(slot, []).append(var)
        for several in by_entry.values():
            self.cp.add_at_most_one(several)
        for several in open_at.values():
            if len(several) > question.lanes:
                self.cp.add(sum(several) <= question.lanes)

    def first_goal(self) -> cp_model.LinearExprT:
        """Return entries left out, then what is unsure, in one figure."""
        taken = sum(self.take.values())
        unsure = sum(weight(self.question.choices[k]) * v for k, v in self.take.items())
        return LEFT_OUT * (self.question.entries - taken) + unsure

    def solve(self, limit: float) -> cp_model.CpSolver | None:
        """Return a solver with an answer, or None."""
        solver = deterministic_solver(limit)
        return solver if solver.solve(self.cp) in SOLVED else None

    def read(self, solver: cp_model.CpSolver) -> tuple[int, ...]:
        """Return the choices that are taken."""
        return tuple(k for k, v in self.take.items() if solver.boolean_value(v))


def weight(choice: Choice) -> int:
    """Return what a time costs: how unsure it is; on the day a move must make it surer by more."""
    return choice.unsure + CHANGE_STEPS * choice.moved


def solve_tastings(question: Question) -> Answer:
    """Return the best times: all tasted, surely, sun most alike, held briefly."""
    everything = range(len(question.choices))
    model = _Model(question, everything)
    model.cp.minimize(model.first_goal())
    solver = model.solve(LIMIT)
    assert solver is not None, "leaving all out is an answer"
    first, bound = round(solver.objective_value), round(solver.best_objective_bound)
    taken = model.read(solver)
    bands, sure = _narrowest(question, taken, first)
    answers = [_briefly_held(question, band, first) for band in bands]
    chosen, held = min(answers, key=lambda answer: [level.value for level in answer[1]])
    left, proven = first // LEFT_OUT, first == bound
    taken_by = [question.choices[k] for k in chosen]
    levels = [
        ContestLevel(key="left-out", value=left, bound=bound // LEFT_OUT, proven=proven),
        _told("unsure", sum(c.unsure for c in taken_by), proven),
        *([_told("moved", sum(c.moved for c in taken_by), proven)] if question.on_the_day else []),
        _told("difference", _difference(question, chosen), sure),
        *held,
    ]
    return Answer(chosen, tuple(levels))


def _told(key: ContestLevelKey, value: int, sure: bool) -> ContestLevel:
    return ContestLevel(key=key, value=value, bound=value if sure else 0, proven=sure)


def _difference(question: Question, chosen: Sequence[int]) -> int:
    minutes = [question.choices[k].sun for k in chosen]
    return max(minutes, default=0) - min(minutes, default=0)


def _narrowest(
    question: Question, taken: Sequence[int], first: int
) -> tuple[list[list[int]], bool]:
    """Return the choices in each narrowest band of sun in which as much is tasted as surely."""
    if not taken:
        return [[]], True
    band, width, sure = [question.choices[k].sun for k in taken], _difference(question, taken), True
    bands = {max(band)}

    def packs(low: int, top: int) -> bool:
        nonlocal sure
        possible = _packs(question, _between(question, low, top), first)
        sure = sure and possible is not None
        return bool(possible)

    # All edges: looking only under the least of the entries' best misses the narrowest.
    tops = sorted({c.sun for c in question.choices}, reverse=True)
    for top in tops:
        if width == 0 or not packs(top - width + 1, top):
            continue
        low, width = 0, width - 1
        while low < width:
            middle = (low + width) // 2
            if packs(top - middle, top):
                width = middle
            else:
                low = middle + 1
        bands = {top}
    bands |= {top for top in tops if top not in bands and packs(top - width, top)}
    return [_between(question, top - width, top) for top in sorted(bands)], sure


def _between(question: Question, low: int, high: int) -> list[int]:
    return [k for k, c in enumerate(question.choices) if low <= c.sun <= high]


def _packs(question: Question, allowed: Sequence[int], first: int) -> bool | None:
    """Return whether these choices do as well in what comes first; None: not known in time."""
    least = question.entries - first // LEFT_OUT
    if len({question.choices[k].entry for k in allowed}) < least:
        return False
    model = _Model(question, allowed)
    model.cp.add(model.first_goal() <= first)
    solver = deterministic_solver(PACK_LIMIT, linearization=1)
    status = solver.solve(model.cp)
    return True if status in SOLVED else False if status == cp_model.INFEASIBLE else None


def _briefly_held(
    question: Question, allowed: Sequence[int], first: int
) -> tuple[tuple[int, ...], list[ContestLevel]]:
    """Return the choices with the least held: the worst of them first, then all together."""
    model = _Model(question, allowed)
    model.cp.add(model.first_goal() <= first)
    held = {k: question.choices[k].held for k in allowed}
    worst = model.cp.new_int_var(0, max(held.values(), default=0), "")
    for k, var in model.take.items():
        model.cp.add(worst >= held[k] * var)
    total = sum(held[k] * v for k, v in model.take.items())
    goals: list[tuple[ContestLevelKey, cp_model.LinearExprT]]
    goals = [("longest-held", worst), ("held", total)]
    counts: dict[ContestLevelKey, Callable[[list[int]], int]] = {
        "longest-held": lambda minutes: max(minutes, default=0),
        "held": sum,
    }
    chosen: tuple[int, ...] = ()
    bounds: list[tuple[ContestLevelKey, int]] = []
    for key, goal in goals:
        model.cp.minimize(goal)
        solver = model.solve(LIMIT)
        if solver is None:
            break
        chosen = model.read(solver)
        model.cp.add(goal <= round(solver.objective_value))
        bounds.append((key, round(solver.best_objective_bound)))
    levels = []
    for key, bound in bounds:
        value = counts[key]([held[k] for k in chosen])
        levels.append(ContestLevel(key=key, value=value, bound=bound, proven=bound >= value))
    return chosen, levels
