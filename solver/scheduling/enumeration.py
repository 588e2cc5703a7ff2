"""Every way a batch could be cooked: the columns the timetable chooses from, and why-nots."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np

from events.model import Cooker, Dish, Pot
from solver.policy import CLOCK_LIMIT_MIN, PREHEAT_LONGEST_MIN, SLOT_MIN
from solver.scheduling.batches import (
    Batch,
    ceil_to_slot,
    clock,
    hours,
    may_cook,
    minute_at,
    pools,
    pots_for,
    split,
    together,
    unwanted,
    usable_members,
)
from solver.scheduling.columns import CandidateSet, add_columns, add_two_stage, in_time
from solver.scheduling.in_progress import add_in_progress
from solver.scheduling.two_stage import two_stage_loads
from solver.simulation.day_state import Preheating
from solver.simulation.durations import LATER_MIN, Day, body_start_c, estimate
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Load

FILL_STEP_MIN = 15
PREHEAT_STEP_MIN = 15
WARM_MIN = 20  # a pot out of a broken cooker goes into another this soon, or is cold again
NO_POT = "no pot for"
Single = tuple[
    tuple[Batch, ...], DurationEstimate
]  # lone pots of a kind, and what is told of one of them


def enumerate_candidates(day: Day) -> CandidateSet:
    """Return every way to cook every dish; a dish is cut smaller until it can be cooked."""
    found = CandidateSet()
    step = _start_step(day)
    singles: list[Single] = []
    waiting = list(day.event.dishes)
    if day.replan is not None:
        asked, waiting = add_in_progress(day, day.replan, found)
        singles += add_singles(day, asked, found, step)
        with_ways = {b.dish.id for w in found.ways for b in w.batches}
        begun = {
            p.dish_id for b in day.replan.in_progress for p in b.placements
        } | day.replan.finished_ids
        # A dish that can't be cooked as it was cut, and has not begun, is cut anew.
        waiting += [d for d, _ in asked if d.id not in with_ways | begun]
    number = 0
    tried: dict[str, list[tuple[dict[str, str], tuple[Batch, ...]]]] = {}
    while waiting:
        number += 1
        for dish in waiting:
            found.batches[dish.id] = split(day, dish, number)
            found.reasons[dish.id] = {}
        singles += add_singles(day, [(d, found.batches[d.id]) for d in waiting], found, step)
        placed = {w.batches[0].dish.id for w in found.ways}
        for dish in waiting:
            tried.setdefault(dish.id, []).append((found.reasons[dish.id], found.batches[dish.id]))
        waiting = [
            d
            for d in waiting
            if d.id not in placed
            and number < min(d.batches_max, d.portions)
            and _smaller_helps(found, d)
        ]
    for dish_id in tried.keys() - {w.batches[0].dish.id for w in found.ways}:
        # A refusal speaks of the largest batch that some pot holds.
        found.reasons[dish_id], found.batches[dish_id] = min(
            tried[dish_id], key=lambda t: sum(NO_POT in why for why in t[0].values())
        )
    sure = {w.batches[0].dish.id for w in found.ways if not w.column.late_min + w.column.gas_min}
    unsure = frozenset(d.id for d in day.event.dishes) - sure
    singles += _cut_smaller(day, found, unsure, step)
    by_told = {id(told): batches for batches, told in singles}
    for moved, told in two_stage_loads(day, [t for _, t in singles], unsure=unsure):
        for batch in by_told[id(told)]:
            add_two_stage(day, (batch,), moved, found)
    _add_fills(day, found)
    for head, members in pools(day).items():
        for why in found.reasons.values():
            why.update({m: why[head] for m in members if head in why})
    return found


def add_singles(
    day: Day, asked: list[tuple[Dish, tuple[Batch, ...]]], found: CandidateSet, step: int
) -> list[Single]:
    """Add the columns of lone pots for dishes cut into batches; return what was told of each."""
    asks: list[tuple[tuple[Batch, ...], DurationQuery]] = []
    for dish, batches in asked:
        asks += [(batches, a) for a in _asks(day, dish, batches, found, step)]
    told = estimate(day, [a for _, a in asks])
    out = [(batches, t) for (batches, _), t in zip(asks, told, strict=True)]
    for batches, one in out:
        _add_single(day, batches, one, found)
    return out


def _cut_smaller(day: Day, found: CandidateSet, unsure: frozenset[str], step: int) -> list[Single]:
    """Offer a finer cut of dishes that no whole cut surely gets done, or whose pots are scarce."""
    asked = []
    rivals = _rivals(day, found)
    known = {p.dish_id for p in day.replan.plan.placements} if day.replan is not None else set()
    with_ways = {w.batches[0].dish.id for w in found.ways}
    for dish in day.event.dishes:
        placed = dish.id in with_ways
        batches = found.batches.get(dish.id, ())
        if dish.id in known or not placed or not batches:
            continue
        pot = _best_pot(day, batches)
        number = len(batches) + 1
        if dish.id not in unsure:
            if pot is None or rivals[pot.id] <= pot.count:
                continue
            number = _into_other_pots(day, dish, number, pot)
        if number <= min(dish.batches_max, dish.portions):
            found.also[dish.id] = split(day, dish, number, other=True)
            asked.append((dish, found.also[dish.id]))
    reasons = {d.id: dict(found.reasons[d.id]) for d, _ in asked}
    out = add_singles(day, asked, found, step)
    found.reasons |= reasons  # a refusal speaks of the larger batch
    return out


def _into_other_pots(day: Day, dish: Dish, number: int, pot: Pot) -> int:
    """Return the first finer cut that best goes into another kind of pot."""
    while number <= min(dish.batches_max, dish.portions):
        other = _best_pot(day, split(day, dish, number))
        if other is not None and other.id != pot.id:
            break
        number += 1
    return number


def _smaller_helps(found: CandidateSet, dish: Dish) -> bool:
    """Return whether any refusal is of a kind that a smaller batch could lift."""
    return any(
        why.startswith((NO_POT, "not done", "loaded at")) or "between 5 and 60" in why
        for why in found.reasons[dish.id].values()
    )


def _start_step(day: Day) -> int:
    size = len(day.event.dishes) * len(day.event.cookers)
    return SLOT_MIN if size <= 60 else 2 * SLOT_MIN if size <= 200 else 3 * SLOT_MIN


def _asks(
    day: Day, dish: Dish, batches: tuple[Batch, ...], found: CandidateSet, step: int
) -> list[DurationQuery]:
    litres = batches[0].litres
    rivals = _rivals(day, found)
    out = []
    heads = pools(day)
    for cooker in (c for c in day.event.cookers if c.id in heads):
        why = may_cook(cooker, dish) if usable_members(day, cooker.id) else "out of action"
        why = why or unwanted(day, cooker, dish)
        pots = pots_for(day.event, cooker, dish, litres)
        if why is None and not pots:
            why = f"{NO_POT} {litres:.1f} litres fits it (it takes {cooker.litres:.0f} at most)"
        if why is not None:
            found.reasons[dish.id][cooker.id] = why
            continue
        scarce = rivals[pots[0].id] > pots[0].count
        for pot in pots[: 2 if scarce else 1]:
            last = max(b.serve_minute for b in batches)
            load = Load((batches[0].dish,), (batches[0].mass_kg,), (pot,), dish.preheat_min)
            if dish.needs_body_c is None:
                starts = _starts(day, cooker, load, last, step)
                if day.replan is not None and batches[0].id in day.replan.warm_c:
                    starts = starts[starts <= day.replan.minute + WARM_MIN]  # it cools meanwhile
                ask = DurationQuery(cooker, load, starts, last + LATER_MIN)
                if not len(ask.starts):
                    found.reasons[dish.id][cooker.id] = "no usable sun before the meal"
            else:
                ask = _hot_enough(day, cooker, load, last, step, found)
            if len(ask.starts):
                out.append(ask)
    return out


def _best_pot(day: Day, batches: tuple[Batch, ...]) -> Pot | None:
    """Return the smallest kind of pot that holds a batch."""
    fit = [
        p
        for p in day.event.pots
        if p.litres >= batches[0].litres - 1e-9 and batches[0].dish.shape in p.holds
    ]
    return min(fit, key=lambda p: (p.litres, p.id), default=None)


def _rivals(day: Day, found: CandidateSet) -> dict[str, int]:
    """Return how many batches would best go into each kind of pot."""
    out = {p.id: 0 for p in day.event.pots}
    for batches in (b for b in found.batches.values() if b):
        best = _best_pot(day, batches)
        if best is not None:
            out[best.id] += len(batches)
    return out


def _hot_enough(
    day: Day, cooker: Cooker, load: Load, last: int, step: int, found: CandidateSet
) -> DurationQuery:
    """Return the ask with the shortest preheat that gets the oven as hot as the dish needs."""
    dish = load.dishes[0]
    need, best = dish.needs_body_c or 0.0, -np.inf
    tries = list(range(ceil_to_slot(dish.preheat_min), PREHEAT_LONGEST_MIN + 1, PREHEAT_STEP_MIN))
    heating = _heating(day, cooker)
    for minutes in tries if heating is None else [heating.for_min, *tries]:
        longer = dataclasses.replace(load, preheat_min=minutes)
        starts = _starts(day, cooker, longer, last, step)
        if not len(starts):
            continue
        body = body_start_c(day, cooker, longer, starts)
        best = max(best, float(body.max()))
        # The hour before the meal is left to the baking: a start later than that is no use.
        if (body[starts <= last - LATER_MIN] >= need).any():
            return DurationQuery(cooker, longer, starts[body >= need], last + LATER_MIN)
    found.reasons[dish.id][cooker.id] = (
        f"its oven gets to {best:.0f} °C after {PREHEAT_LONGEST_MIN} min empty; "
        f"this needs {need:.0f} °C"
        if np.isfinite(best)
        else "no usable sun before the meal"
    )
    return DurationQuery(cooker, load, np.asarray([], dtype=np.int64), last)


def _starts(day: Day, cooker: Cooker, load: Load, last: int, step: int) -> heat.Ints:
    opens, closes = hours(day, cooker)
    before = ceil_to_slot(load.preheat_min) if cooker.on_sun else 0
    starts = np.arange(ceil_to_slot(opens + before), min(last, closes), SLOT_MIN, dtype=np.int64)
    starts = starts[starts % step == 0] if step > SLOT_MIN else starts
    if cooker.on_sun and len(starts):
        lit = day.on_sun[cooker.id]
        starts = starts[lit[starts] & lit[starts - before]]
    held = load.dishes[0].load_at
    if held is not None and len(load.dishes) == 1:
        starts = starts[starts == minute_at(day, held)]
    heating = _heating(day, cooker)
    if heating is not None and heating.for_min == before and heating.end > opens:
        starts = np.union1d(starts, [heating.end])  # it stands empty on the sun already
    return starts


def _heating(day: Day, cooker: Cooker) -> Preheating | None:
    """Return since when, and for how long, a cooker is being heated empty, or None."""
    return day.replan.preheating.get(cooker.id) if day.replan else None


def _add_single(
    day: Day, batches: tuple[Batch, ...], told: DurationEstimate, found: CandidateSet
) -> None:
    dish = batches[0].dish
    made = sum(add_columns(day, (batch,), told, found) for batch in batches)
    if made:
        found.reasons[dish.id].pop(told.ask.cooker.id, None)
    elif not any(
        w.column.cooker_id == told.ask.cooker.id and w.batches[0].dish.id == dish.id
        for w in found.ways
    ):
        found.reasons[dish.id].setdefault(told.ask.cooker.id, _why_late(day, dish, told))


def _why_late(day: Day, dish: Dish, told: DurationEstimate) -> str:
    ready = told.ask.starts + told.expected_min[0]
    serve = told.ask.until - LATER_MIN
    if not np.isfinite(ready).any():
        peak, until = told.peak_c.max(), clock(day, told.ask.until)
        return f"not done by {until}: the middle reaches {peak:.0f} °C at most"
    best = int(np.argmin(ready))
    if ready[best] + dish.rest_min > serve:
        rest = f" and rest {dish.rest_min} min" if dish.rest_min else ""
        return (
            f"loaded at {clock(day, int(told.ask.starts[best]))} it would be done at "
            f"{clock(day, ceil_to_slot(ready[best]))}{rest}; the meal is at {clock(day, serve)}"
        )
    if dish.hazardous and told.clock_min[0].min() > CLOCK_LIMIT_MIN:
        return (
            f"{told.clock_min[0].min():.0f} min between 5 and 60 °C; the limit is "
            f"{CLOCK_LIMIT_MIN}. Smaller pots, or start in a mirror"
        )
    if told.ask.cooker.wind_limit_m_s is not None:
        return f"the wind is over {told.ask.cooker.wind_limit_m_s:g} m/s when it would have to cook"
    return f"could not be kept until the meal: {dish.holding_max_min} min at most"


def _add_fills(day: Day, found: CandidateSet) -> None:
    """Add joint loads of two or three batches for boxes, estimated together and kept shut."""
    asks: list[tuple[tuple[Batch, ...], DurationQuery]] = []
    heads = pools(day)
    finer = {b.id for cut in found.also.values() for b in cut}  # else there are far too many
    for box in day.event.cookers:
        if not box.is_oven or box.pots_max < 2 or box.id not in heads:
            continue
        able = {
            b.id: (b, w.told.ask.load.pots[0])
            for w in found.ways
            if w.column.cooker_id == box.id and not w.in_progress and w.column.route == "sun"
            for b in w.batches
            if b.id not in finer
        }
        for size in range(2, min(box.pots_max, 3) + 1):
            for names in itertools.combinations(sorted(able), size):
                batches = tuple(able[n][0] for n in names)
                pots = tuple(able[n][1] for n in names)
                if not together(box, batches, pots):
                    continue
                load = Load(tuple(b.dish for b in batches), tuple(b.mass_kg for b in batches), pots)
                last = batches[0].serve_minute
                step = FILL_STEP_MIN * (size - 1) * (1 if _start_step(day) == SLOT_MIN else 2)
                asks.append(
                    (batches, DurationQuery(box, load, _starts(day, box, load, last, step), last))
                )

    def wanted(k: int, expected: heat.Array, clock: heat.Array) -> heat.Bools:
        return in_time(day, asks[k][0], asks[k][1].starts, expected, clock)

    for (batches, _), told in zip(asks, estimate(day, [a for _, a in asks], wanted), strict=True):
        add_columns(day, batches, told, found)
