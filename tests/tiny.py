"""Whole tiny events, searched exhaustively: every choice of options for every dish, ruled by hand.

`python -m tests.long tiny` runs 200; eight are in every check. The rules here are the ones of
tests/solver/scheduling/test_timetable.py, written without any of the solver's code.
"""

from __future__ import annotations

import dataclasses
import itertools
from zoneinfo import ZoneInfo

import numpy as np

from events.model import Event
from events.reading.event_file import read_table
from solver.feasibility.duration_table import estimates
from solver.policy import weight
from solver.scheduling.enumeration import enumerate_candidates
from solver.scheduling.formulation import build_problem
from solver.scheduling.lexicographic import solve
from solver.scheduling.problem import Column, Problem
from solver.simulation.day import make_day
from tests.peer import LEVELS

DISHES = ("lentil-soup", "rice", "beetroot", "potatoes", "plum-compote", "polenta", "hard-eggs")
GRAIN = 6  # slots
COOKERS = ("mirror-140cm", "box-large", "mirror-120cm", "panel-deep", "gas-ring")


def tiny_event(seed: int) -> Event:
    """Return a random event of three or four dishes, two cookers and one or two helpers."""
    luck = np.random.default_rng(seed)
    cookers = luck.choice(COOKERS, 2, replace=False)
    helpers = int(luck.integers(1, 3))
    return read_table(
        {
            "format": 1,
            "title": f"Tiny {seed}",
            "date": "2027-06-20",
            "site": {
                "latitude_deg": 40.0,
                "longitude_deg": 0.5,
                "opens": "10:00",
                "closes": "14:00",
            },
            "weather": {
                "hours": [{"start": "08:00", "cloud_pct": int(luck.integers(0, 60)), "air_c": 24}]
            },
            "cooker": [{"id": f"c{k}", "like": str(c)} for k, c in enumerate(cookers)],
            "pot": [{"id": p, "like": p, "count": 2} for p in ("pot-3l", "pot-5l")],
            "meal": [
                {"id": "m", "name": "Meal", "from": "12:30", "until": "13:30", "portions": 20}
            ],
            "dish": [
                {
                    "id": f"d{k}",
                    "like": str(d),
                    "meal": "m",
                    "portions": int(luck.integers(4, 12)),
                    "batches_max": 1,
                    "priority": int(luck.integers(1, 9)),
                }
                for k, d in enumerate(luck.choice(DISHES, int(luck.integers(3, 5)), replace=False))
            ],
            "helper": [
                {
                    "id": f"h{k}",
                    "from": "08:30",
                    "until": "14:00",
                    "may": ["mirrors", "burner", "lift"],
                    "name": f"H{k}",
                }
                for k in range(helpers)
            ],
        },
        source="tiny",
    )


def problem_of(event: Event) -> Problem:
    """Return an event's problem with one split a dish, as the search and the peer want it."""
    day = make_day(event)
    found = enumerate_candidates(day)
    # The search is over starts of the half hour: each dish has some thirty choices then.
    on_grain = tuple(c for c in found.candidates if c.column.load_slot % GRAIN == 0)
    return build_problem(day, dataclasses.replace(found, alternatives={}, candidates=on_grain))


SERVE_MIN = 12 * 60 + 30


def by_hand(event: Event) -> dict[tuple[str, str, int], tuple[int, int]]:
    """Return (short, stale) minutes by dish, cooker and start, from the table of minutes."""
    dishes = {d.id: d for d in event.dishes}
    out = {}
    for row in estimates(event):
        at = row.loaded_at.astimezone(ZoneInfo(event.site.timezone))
        start = at.hour * 60 + at.minute
        if row.expected_min is None or start % (5 * GRAIN):
            continue
        dish = dishes[row.dish_id]
        done = -(-(start + row.expected_min) // 5) * 5
        spare = SERVE_MIN - done - dish.rest_min
        if spare < 0 or SERVE_MIN - done > dish.holding_max_min:
            continue
        costs = (max(0, event.wanted_margin_min - spare), max(0, spare - dish.fresh_min))
        out[row.dish_id, row.cooker_id, start] = costs
    return out


def same_as_by_hand(event: Event) -> None:
    """Raise where a column of one pot is none, or costs other than, by hand."""
    hand = by_hand(event)
    by_size = sorted(event.pots, key=lambda p: p.litres)
    for way in enumerate_candidates(make_day(event)).candidates:
        o = way.column
        if len(o.batch_ids) > 1 or o.route not in ("sun", "burner"):
            continue
        dish = way.batches[0].dish.id
        smallest = next(p.id for p in by_size if p.litres >= way.batches[0].litres)
        if o.pot_ids[0] != smallest:  # the table shows the smallest
            continue
        if o.load_slot % GRAIN == 0:
            key, costs = (
                (dish, o.cooker_id, o.load_slot * 5),
                (o.short_min, o.stale_min),
            )
            assert hand.get(key) == costs, (event.title, key, hand.get(key), costs)


def allowed(q: Problem, chosen: list[Column]) -> bool:
    """Say whether a choice keeps the rules, slot by slot, people matched one by one."""
    for o in chosen:
        watch = [p for p in q.people if p.adult and "mirrors" in p.abilities]
        if o.watched and not all(any(p.free[s] for p in watch) for s in range(*o.occupies)):
            return False
    busy: dict[int, list[str | None]] = {}
    for slot in range(q.slots):
        use: dict[str, int] = {}
        pots: dict[str, int] = {}
        jobs: list[str | None] = []
        for o in chosen:
            if o.occupies[0] <= slot < o.occupies[1]:
                use[o.cooker_id] = use.get(o.cooker_id, 0) + 1
            if o.then_occupies and o.then_occupies[0] <= slot < o.then_occupies[1]:
                use[o.then_cooker_id or ""] = use.get(o.then_cooker_id or "", 0) + 1
            if o.pots_busy[0] <= slot < o.pots_busy[1]:
                for p in o.pot_ids:
                    pots[p] = pots.get(p, 0) + 1
            jobs += [n.ability for n in o.needs if n.slot == slot for _ in range(n.people)]
        if any(n > q.cooker_capacity[c] for c, n in use.items()):
            return False
        if any(n > q.pot_count[p] for p, n in pots.items()):
            return False
        free = [p for p in q.people if p.free[slot]]
        if jobs and not any(
            all(a is None or a in p.abilities for a, p in zip(jobs, team, strict=True))
            for team in itertools.permutations(free, len(jobs))
        ):
            return False
        busy[slot] = jobs
    return all(_walkable(q, busy, s) for o in chosen if o.watched for s in range(*o.occupies))


def _walkable(q: Problem, busy: dict[int, list[str | None]], first: int) -> bool:
    """Say whether in the window that begins here somebody trained has a slot for the walk."""
    window = range(first, min(first + q.walk_window_slots, q.slots))
    able = [sum("mirrors" in p.abilities and p.free[s] for p in q.people) for s in window]
    every = [sum(p.free[s] for p in q.people) for s in window]
    if not able[0]:
        return True
    asked = [busy.get(s, []) for s in window]
    return sum(map(len, asked)) < sum(every) and sum(
        a == "mirrors" for jobs in asked for a in jobs
    ) < sum(able)


Score = tuple[int, ...]


def score(q: Problem, chosen: list[Column]) -> Score:
    """Return worth left out, then each level's cost."""
    there = {b for o in chosen for b in o.batch_ids}
    worth = sum(weight(d.priority) for d in q.dishes if there.issuperset(d.batch_ids))
    return (-worth, *(sum(getattr(o, c) for o in chosen) for c in LEVELS))


def exhaustive(q: Problem) -> Score:
    """Return the best score over every choice of one option or none for every dish."""
    loads: list[list[Column | None]] = [[None] for _ in q.dishes]
    joint: list[Column] = []
    place = {d.batch_ids[0]: k for k, d in enumerate(q.dishes)}
    for o in q.columns:
        if len(o.batch_ids) == 1:
            loads[place[o.batch_ids[0]]].append(o)
        else:
            joint.append(o)
    best = score(q, [])
    for first in (None, *joint):
        rest = [
            [None] if first and q.dishes[k].batch_ids[0] in first.batch_ids else columns
            for k, columns in enumerate(loads)
        ]
        best = min(best, _search(q, rest, [first] if first else [], best))
    return best


def _search(
    q: Problem, rest: list[list[Column | None]], chosen: list[Column], best: Score
) -> Score:
    worth, *costs = score(q, chosen)
    ahead = sum(weight(d.priority) for d in q.dishes[len(q.dishes) - len(rest) :])
    if (worth - ahead, *costs) >= best:
        return best  # no more could be placed, and every cost only grows
    if not rest:
        return (worth, *costs)
    for o in rest[0]:
        more = chosen + ([o] if o else [])
        if o is None or allowed(q, more):
            best = _search(q, rest[1:], more, best)
    return best


def greedy(q: Problem) -> Score:
    """Return what taking the best option of each dish in turn gives, most important first."""
    chosen: list[Column] = []
    for d in sorted(q.dishes, key=lambda d: (-d.priority, d.id)):
        mine = [o for o in q.columns if o.batch_ids == d.batch_ids]
        for o in sorted(mine, key=lambda o: [getattr(o, c) for c in LEVELS]):
            if allowed(q, [*chosen, o]):
                chosen.append(o)
                break
    return score(q, chosen)


def compare(seeds: range) -> tuple[int, int]:
    """Return (events, how many greedy does not solve); an optimum or a cost that differs raises."""
    worse = 0
    for seed in seeds:
        event = tiny_event(seed)
        q = problem_of(event)
        same_as_by_hand(event)
        answer = solve(q)
        ours = score(q, [q.columns[k] for k in answer.chosen])
        best = exhaustive(q)
        assert ours == best, (seed, ours, best)
        worse += greedy(q) != best
    return len(seeds), worse
