"""Which talk is given when and by whom: a small CP-SAT model over the times that suit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

LIMIT = 1.0  # deterministic seconds
CHANGED = 10**4  # on the day, a giving at another time than before


@dataclass(frozen=True)
class Slot:
    """A talk given from a slot on by a speaker (-1: nobody), and how short its chance falls."""

    talk: int
    start: int
    speaker: int
    missed: int  # of a hundred
    changed: bool = False


@dataclass(frozen=True)
class Asked:
    """A talk: slots it lasts, how often it is asked for, slots between two."""

    slots: int
    times: int
    apart: int


def choose(talks: Sequence[Asked], options: Sequence[Slot]) -> tuple[int, ...]:
    """Return the options that are taken: most givings, then unchanged, surest, earliest."""
    from solver.cp_sat import cp_model  # noqa: PLC0415  ortools takes 0.8 s to import
    from solver.deterministic import SOLVED, deterministic_solver  # noqa: PLC0415  as above

    cp = cp_model.CpModel()
    take = [cp.new_bool_var("") for _ in options]
    at_once: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    apart: dict[tuple[int, int], list[cp_model.IntVar]] = defaultdict(list)
    by_talk: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    for option, var in zip(options, take, strict=True):
        asked = talks[option.talk]
        by_talk[option.talk].append(var)
        for slot in range(option.start, option.start + asked.slots):
            at_once[slot].append(var)  # visitors are at one talk at a time
        for slot in range(option.start, option.start + asked.slots + asked.apart):
            apart[option.talk, slot].append(var)
    for rows in (at_once.values(), apart.values()):
        for several in rows:
            if len(several) > 1:
                cp.add_at_most_one(several)
    worth: list[cp_model.IntVar] = []
    for talk, several in by_talk.items():
        cp.add(sum(several) <= talks[talk].times)
        given = cp.new_bool_var("")
        cp.add(sum(several) >= given)
        worth += [*several, given]  # a talk's first giving counts twice
    latest = max((o.start for o in options), default=0) + 1
    costs = [(o.changed * CHANGED + o.missed) * latest * 10 + o.start for o in options]
    most = 1 + sum(max(costs, default=0) for t in talks for _ in range(t.times))
    terms: list[cp_model.LinearExprT]
    terms = [cost * var for cost, var in zip(costs, take, strict=True)]
    cp.minimize(sum([*terms, *(-most * var for var in worth)]))
    solver = deterministic_solver(LIMIT, linearization=1)
    if solver.solve(cp) not in SOLVED:
        return ()
    return tuple(k for k, var in enumerate(take) if solver.boolean_value(var))
