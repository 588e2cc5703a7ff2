"""Every way a batch could be cooked: the columns the timetable chooses from, and why-nots.

Minutes here are minutes of the local civil day (index into the sky); slots are five of them.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from events.model import Cooker, Dish, Event, Pot
from solver import cooker as heat
from solver import food
from solver.cooker import Load
from solver.estimate import (
    LATER_MIN,
    SUN_KINDS,
    Ask,
    Day,
    Told,
    body_start_c,
    estimate,
    preheat_of,
    station_of,
)
from solver.sky import minute_of
from solver.timetable.question import SLOT_MIN, Need, Option, Route

STAND_LOSS_W_M2_K = 8.0  # a lidded pot standing in the open: typical, unmeasured
SPARE_STARTS = 6  # earlier starts kept beside the best, so that helpers' clashes can be avoided
FILL_STEP_MIN = 15
BURNER_WORK_MIN = 60  # a gas ring is a scarce backup: using one costs this much in the last level
LATE_CAP_MIN = 240


@dataclass(frozen=True)
class Batch:
    """The part of a dish that goes into one pot."""

    id: str
    dish: Dish
    number: int
    of: int
    mass_kg: float
    litres: float
    portions: int
    serve_minute: int


@dataclass(frozen=True)
class Way:
    """One option with the estimate behind it."""

    option: Option
    told: Told
    index: int
    batches: tuple[Batch, ...]

    def done_minutes(self) -> tuple[int, ...]:
        """Return each batch's expected done minute, rounded up to a slot."""
        start = int(self.told.ask.starts[self.index])
        return tuple(_up(start + m) for m in self.told.expected_min[:, self.index])


@dataclass
class Ways:
    """All options, and for each dish and cooker the reason there is none."""

    ways: list[Way] = field(default_factory=list)
    batches: dict[str, tuple[Batch, ...]] = field(default_factory=dict)
    reasons: dict[str, dict[str, str]] = field(default_factory=dict)


def _up(minute: float) -> int:
    return int(math.ceil(minute / SLOT_MIN - 1e-9)) * SLOT_MIN


def minute_at(day: Day, local: time) -> int:
    """Return the minute of the day of a local clock time."""
    zone = ZoneInfo(day.event.site.timezone)
    return minute_of(day.sky, datetime.combine(day.event.date, local, tzinfo=zone))


def clock(day: Day, minute: int) -> str:
    """Return a minute of the day as local HH:MM."""
    at = day.sky.start_at + timedelta(minutes=minute)
    return at.astimezone(ZoneInfo(day.event.site.timezone)).strftime("%H:%M")


def hours(day: Day, cooker: Cooker) -> tuple[int, int]:
    """Return the minutes between which a cooker may be used."""
    site = day.event.site
    opens = max([site.opens] + ([cooker.opens] if cooker.opens else []))
    closes = min([site.closes] + ([cooker.closes] if cooker.closes else []))
    return _up(minute_at(day, opens)), minute_at(day, closes)


def pots_for(event: Event, cooker: Cooker, litres: float) -> list[Pot]:
    """Return the pots that hold a batch and fit the cooker, smallest first."""
    fit = [
        p
        for p in event.pots
        if cooker.kind in p.fits and litres <= p.litres + 1e-9 and litres <= cooker.litres + 1e-9
    ]
    return sorted(fit, key=lambda p: (p.litres, p.id))


def may_cook(cooker: Cooker, dish: Dish) -> str | None:
    """Return why this kind of cooker is never right for the dish, or None."""
    if cooker.kind == "insulated":
        return "keeps heat, makes none"
    if cooker.kind not in dish.kinds:
        return "not for this dish"
    if dish.needs_body_c is not None and cooker.kind != "box":
        return f"heats the pot only; this needs an oven at {dish.needs_body_c:.0f} °C"
    if dish.stir_every_min and cooker.kind == "box":
        return f"is kept shut; this needs stirring every {dish.stir_every_min} min"
    return None


def split(day: Day, dish: Dish, number: int) -> tuple[Batch, ...]:
    """Return the dish cut into `number` equal batches, each with the wave it is served in."""
    meal = next(m for m in day.event.meals if m.id == dish.meal)
    start, end = minute_at(day, meal.start), minute_at(day, meal.end)
    out = []
    for k in range(number):
        wave = k * meal.waves // number
        serve = start + wave * (end - start) // meal.waves // SLOT_MIN * SLOT_MIN
        portions = dish.portions * (k + 1) // number - dish.portions * k // number
        mass = dish.mass_kg / number
        out.append(
            Batch(
                f"{dish.id}-{k + 1}",
                dish,
                k + 1,
                number,
                mass,
                mass * dish.litres_per_kg,
                portions,
                serve,
            )
        )
    return tuple(out)


def find_ways(day: Day) -> Ways:
    """Return every way to cook every dish; a dish is cut smaller until it can be cooked."""
    found = Ways()
    open_dishes = list(day.event.dishes)
    step = _start_step(day.event)
    for number in range(1, 13):
        trying = [d for d in open_dishes if number <= d.batches_max]
        asked: list[tuple[Dish, Ask]] = []
        for dish in trying:
            found.batches[dish.id] = split(day, dish, number)
            found.reasons[dish.id] = {}
            asked += [(dish, a) for a in _asks(day, dish, found, step)]
        for (dish, ask), told in zip(asked, estimate(day, [a for _, a in asked]), strict=True):
            _add_single(day, dish, told, found)
        placed = {b.dish.id for w in found.ways for b in w.batches}
        open_dishes = [d for d in open_dishes if d.id not in placed]
        if not open_dishes:
            break
    _add_fills(day, found)
    return found


def _start_step(event: Event) -> int:
    size = len(event.dishes) * len(event.cookers)
    return SLOT_MIN if size <= 60 else 2 * SLOT_MIN if size <= 200 else 3 * SLOT_MIN


def _asks(day: Day, dish: Dish, found: Ways, step: int) -> list[Ask]:
    batch = found.batches[dish.id][0]
    out = []
    for cooker in day.event.cookers:
        why = may_cook(cooker, dish)
        pots = pots_for(day.event, cooker, batch.litres)
        if why is None and not pots:
            why = f"no pot for {batch.litres:.1f} litres fits it ({cooker.litres:.0f} l at most)"
        if why is not None:
            found.reasons[dish.id][cooker.id] = why
            continue
        wanted = 1 + (pots[0].count < len(found.batches[dish.id]) or len(day.event.dishes) > 4)
        for pot in pots[:wanted]:
            load = Load((dish,), (batch.mass_kg,), (pot,))
            last = max(b.serve_minute for b in found.batches[dish.id])
            starts = _starts(day, cooker, load, last, step)
            if dish.needs_body_c is not None and len(starts):
                body = body_start_c(day, cooker, load, starts)
                if body.max() < dish.needs_body_c:
                    found.reasons[dish.id][cooker.id] = (
                        f"its oven gets to {body.max():.0f} °C after {preheat_of(load)} min empty; "
                        f"this needs {dish.needs_body_c:.0f} °C"
                    )
                starts = starts[body >= dish.needs_body_c]
            elif not len(starts):
                found.reasons[dish.id][cooker.id] = "no usable sun before the meal"
            if len(starts):
                out.append(Ask(cooker, load, starts, last + LATER_MIN))
    return out


def _starts(day: Day, cooker: Cooker, load: Load, last: int, step: int) -> heat.Ints:
    opens, closes = hours(day, cooker)
    before = _up(preheat_of(load)) if cooker.kind in SUN_KINDS else 0
    starts = np.arange(_up(opens + before), min(last, closes), SLOT_MIN, dtype=np.int64)
    starts = starts[starts % step == 0] if step > SLOT_MIN else starts
    if cooker.kind in SUN_KINDS and len(starts):
        lit = day.on_sun[cooker.id]
        starts = starts[lit[starts] & lit[starts - before]]
    return starts


def _add_single(day: Day, dish: Dish, told: Told, found: Ways) -> None:
    made = 0
    for batch in found.batches[dish.id]:
        made += _add(day, (batch,), told, found)
    if made == 0 and told.ask.cooker.id not in found.reasons[dish.id]:
        found.reasons[dish.id][told.ask.cooker.id] = _why_late(day, dish, told)
    elif made:
        found.reasons[dish.id].pop(told.ask.cooker.id, None)


def _why_late(day: Day, dish: Dish, told: Told) -> str:
    ready = told.ask.starts + told.expected_min[0]
    peak = f"the middle reaches {told.peak_c.max():.0f} °C at most"
    if not np.isfinite(ready).any():
        return f"not done by {clock(day, told.ask.until)}: {peak}"
    best = int(np.argmin(ready))
    serve = min(told.ask.until - LATER_MIN, int(1e6))
    if ready[best] + dish.rest_min > serve:
        return (
            f"loaded at {clock(day, int(told.ask.starts[best]))} it would be done at "
            f"{clock(day, _up(ready[best]))}"
            + (f" and rest {dish.rest_min} min" if dish.rest_min else "")
            + f"; the meal is at {clock(day, serve)}"
        )
    if dish.hazardous and told.clock_min.min() > food.CLOCK_LIMIT_MIN:
        return (
            f"{told.clock_min.min():.0f} min between 5 and 60 °C; the limit is "
            f"{food.CLOCK_LIMIT_MIN}. Smaller pots, or start in a mirror"
        )
    return "could not be held until the meal, or the wind is over the cooker's limit"


def _add(day: Day, batches: tuple[Batch, ...], told: Told, found: Ways) -> int:
    """Add every option of one load in one cooker; return how many there are."""
    made = 0
    talked = {t.dish for t in day.event.talks}
    spare = 0
    serve = batches[0].serve_minute
    for k in reversed(range(len(told.ask.starts))):
        start = int(told.ask.starts[k])
        dones = [_up(start + m) if np.isfinite(m) else None for m in told.expected_min[:, k]]
        if any(d is None or d + _up(b.dish.rest_min) > serve for d, b in zip(dones, batches, strict=True)):
            continue
        done = [d for d in dones if d is not None]
        if any(
            serve - d > b.dish.holding_max_min
            or (b.dish.hazardous and told.clock_min[p, k] > food.CLOCK_LIMIT_MIN)
            for p, (d, b) in enumerate(zip(done, batches, strict=True))
        ):
            continue
        keep = serve - max(_up(b.dish.rest_min) for b in batches)
        costs = _costs(day, batches, told, k, done)
        if spare <= SPARE_STARTS or any(b.dish.id in talked for b in batches):
            made += _put(day, batches, told, k, lift=keep, then=None, costs=costs, found=found)
        if costs[0] == 0 and costs[1] == 0:
            spare += 1
        sure = [start + m for m in told.cautious_min[:, k]]
        lift = _up(max(sure)) if max(sure) <= keep else max(done)
        if lift >= keep:
            continue
        if all(_stands(day, b, pot, serve - lift) for b, pot in zip(batches, told.ask.load.pots, strict=True)):
            made += _put(day, batches, told, k, lift=lift, then=None, costs=costs, found=found)
        elif told.ask.cooker.kind in SUN_KINDS:
            for hay in day.event.cookers:
                if hay.kind == "insulated" and all(
                    "insulated" in p.fits for p in told.ask.load.pots
                ):
                    made += _put(
                        day, batches, told, k, lift=lift, then=hay, costs=costs, found=found
                    )
    return made


def _costs(
    day: Day, batches: tuple[Batch, ...], told: Told, k: int, done: list[int]
) -> tuple[int, int, int]:
    """Return (late, short, stale) minutes summed over the load's batches."""
    start = int(told.ask.starts[k])
    late = short = stale = 0
    for p, b in enumerate(batches):
        slow = start + told.cautious_min[p, k] + b.dish.rest_min
        over = slow - b.serve_minute if np.isfinite(slow) else LATE_CAP_MIN
        late += int(min(max(0, math.ceil(over)), LATE_CAP_MIN))
        ready = done[p] + b.dish.rest_min
        short += max(0, day.event.wanted_margin_min - (b.serve_minute - ready))
        stale += max(0, b.serve_minute - ready - b.dish.fresh_min)
    return late, short, stale


def _stands(day: Day, batch: Batch, pot: Pot, minutes: int) -> bool:
    """Return whether a lidded pot, off the sun, is still hot enough when it is served."""
    if not batch.dish.serve_hot:
        return True
    air_c = float(day.sky.air_c[min(batch.serve_minute, day.sky.air_c.size - 1)])
    loss = STAND_LOSS_W_M2_K * heat.pot_area_m2(pot.litres)
    left = math.exp(-loss * minutes * 60 / (1000 * food.heat_kj_k(batch.dish, batch.mass_kg)))
    core_c = batch.dish.core_c if batch.dish.done in ("core", "melt") else None
    from_c = min(day.boil_c - 2.0, core_c or 95.0)
    return air_c + (from_c - air_c) * left >= food.HOT_HOLDING_C[day.event.site.food_rules]


def _put(
    day: Day,
    batches: tuple[Batch, ...],
    told: Told,
    k: int,
    *,
    lift: int,
    then: Cooker | None,
    costs: tuple[int, int, int],
    found: Ways,
) -> int:
    cooker, start = told.ask.cooker, int(told.ask.starts[k])
    before = _up(preheat_of(told.ask.load)) if cooker.kind in SUN_KINDS else 0
    _, closes = hours(day, cooker)
    windy = (
        cooker.wind_limit_m_s is not None
        and (day.sky.wind_m_s[start - before : lift] > cooker.wind_limit_m_s).any()
    )
    if lift > closes or lift <= start or windy:
        return 0
    serve = batches[0].serve_minute
    needs, work = _needs(cooker, batches, start=start, before=before, lift=lift, told=told, k=k)
    station = station_of(day.event, cooker)
    watched = None
    if cooker.kind == "parabolic":
        watched = station.sight if station else "yard"
    route: Route = "burner" if cooker.kind == "burner" else "sun+insulated" if then else "sun"
    wash = max(p.wash_min for p in told.ask.load.pots)
    option = Option(
        batch_ids=tuple(b.id for b in batches),
        pot_ids=tuple(p.id for p in told.ask.load.pots),
        cooker_id=cooker.id,
        route=route,
        then_cooker_id=then.id if then else None,
        load_slot=start // SLOT_MIN,
        occupies=((start - before) // SLOT_MIN, lift // SLOT_MIN),
        then_occupies=(lift // SLOT_MIN, serve // SLOT_MIN) if then else None,
        pots_busy=(start // SLOT_MIN, _up(serve + wash) // SLOT_MIN),
        needs=needs,
        watched=watched,
        late_min=costs[0],
        short_min=costs[1],
        stale_min=costs[2],
        work_min=work + (BURNER_WORK_MIN if route == "burner" else 0),
        done_slot=_up(start + float(told.expected_min[:, k].max())) // SLOT_MIN,
        lift_slot=lift // SLOT_MIN,
        serve_slot=serve // SLOT_MIN,
    )
    found.ways.append(Way(option, told, k, batches))
    return 1


def ability_of(cooker: Cooker) -> str | None:
    """Return what a helper must be allowed to do to work this cooker."""
    if not cooker.trained:
        return None
    return "mirrors" if cooker.kind == "parabolic" else "burner" if cooker.kind == "burner" else None


def stir_minutes(batches: tuple[Batch, ...], start: int, done: int) -> list[int]:
    """Return when a load is stirred: every so many minutes between loading and done."""
    every = [b.dish.stir_every_min for b in batches if b.dish.stir_every_min]
    if not every:
        return []
    gap = max(SLOT_MIN, min(every) // SLOT_MIN * SLOT_MIN)
    return list(range(start + gap, done, gap))


def load_minutes(batches: tuple[Batch, ...]) -> int:
    """Return how long putting a load in takes."""
    return min(30, _up(sum(b.dish.load_min for b in batches)))


def _needs(
    cooker: Cooker,
    batches: tuple[Batch, ...],
    *,
    start: int,
    before: int,
    lift: int,
    told: Told,
    k: int,
) -> tuple[tuple[Need, ...], int]:
    ability = ability_of(cooker)
    people = max(b.dish.lift_helpers for b in batches)
    out = []
    if before:
        out.append(Need((start - before) // SLOT_MIN, ability, 1))
    for m in range(start, start + load_minutes(batches), SLOT_MIN):
        out.append(Need(m // SLOT_MIN, ability, 1))
    done = _up(start + float(told.expected_min[:, k].max()))
    for m in stir_minutes(batches, start, min(done, lift)):
        if m >= start + load_minutes(batches):
            out.append(Need(m // SLOT_MIN, ability, 1))
    out.append(Need(lift // SLOT_MIN, ability or "lift", people))
    return tuple(out), SLOT_MIN * sum(n.people for n in out)


def _add_fills(day: Day, found: Ways) -> None:
    """Add joint loads of two or three batches for boxes, estimated together and kept shut."""
    boxes = [c for c in day.event.cookers if c.kind == "box" and c.pots_max > 1]
    asks: list[tuple[tuple[Batch, ...], Ask]] = []
    for box in boxes:
        able = {
            b.id: (b, w.told.ask.load.pots[0])
            for w in found.ways
            if w.option.cooker_id == box.id
            for b in w.batches
        }
        for size in range(2, min(box.pots_max, 3) + 1):
            for names in itertools.combinations(sorted(able), size):
                batches = tuple(able[n][0] for n in names)
                pots = tuple(able[n][1] for n in names)
                if not _together(box, batches, pots):
                    continue
                load = Load(
                    tuple(b.dish for b in batches), tuple(b.mass_kg for b in batches), pots
                )
                last = batches[0].serve_minute
                step = FILL_STEP_MIN if size == 2 else 2 * FILL_STEP_MIN
                starts = _starts(day, box, load, last, step)
                ask = Ask(box, load, starts, last)
                asks.append((batches, ask))
    for (batches, _), told in zip(asks, estimate(day, [a for _, a in asks]), strict=True):
        _add(day, batches, told, found)


def _together(box: Cooker, batches: tuple[Batch, ...], pots: tuple[Pot, ...]) -> bool:
    """Return whether batches may share a box: room, one meal, no oven dish, no raw meat beside."""
    wanted = {p.id: sum(q.id == p.id for q in pots) for p in pots}
    return (
        sum(b.litres for b in batches) <= box.litres + 1e-9
        and len({b.serve_minute for b in batches}) == 1
        and all(b.dish.needs_body_c is None for b in batches)
        and len({b.dish.raw_meat for b in batches}) == 1
        and all(p.count >= wanted[p.id] for p in pots)
    )
