"""From columns to the timetable's question, and from the chosen ones to the crew's work."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from events.model import Ability, Dish, Helper
from solver import batches as pots
from solver.batches import minute_at, pools, up, usable_members
from solver.columns import Way, Ways
from solver.estimate import SUN_KINDS, Day
from solver.plan import Job, JobKind, Turn, Walk
from solver.pointing import declination_deg, interval_min
from solver.policy import SLOT_MIN
from solver.since import Since
from solver.sky import at_minute, minute_of
from solver.timetable.question import DishAsk, Person, Question, TalkAsk

if TYPE_CHECKING:
    from solver.walks import OnSun, Task


BEGUN_PRIORITY = 12  # what has begun outweighs all that has not


def ask(day: Day, found: Ways) -> Question:
    """Return the timetable's question: columns, stocks, people, talks."""
    event, alike = day.event, pools(day)
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    with_ways = {b.dish.id for w in found.ways for b in w.batches}
    mirrors = [c for c in event.cookers if c.kind == "parabolic"]
    dec = declination_deg(event.date)
    shortest = min((interval_min(c, declination_deg=dec) for c in mirrors), default=60)
    return Question(
        slots=slots,
        dishes=tuple(
            a for d in event.dishes if d.id in with_ways for a in _dish_asks(day, d, found)
        ),
        options=tuple(w.option for w in found.ways),
        cooker_capacity={
            c.id: c.pots_max * (c.id in usable_members(day, c.id))
            if c.kind in ("burner", "insulated")
            else _room(day, found, c.id)
            if c.id in alike
            else 0
            for c in event.cookers
        },
        pot_count={p.id: p.count for p in event.pots},
        people=tuple(_person(day, h, slots) for h in event.helpers),
        talks=_talks(day, found),
        walk_window_slots=max(1, shortest // SLOT_MIN),
    )


def _room(day: Day, found: Ways, head: str) -> int:
    """Return how many loads a pool takes: its cookers in use, and those that hold what began."""
    broken = {
        b.placements[0].cooker_id
        for b in (day.since.begun if day.since else ())
        if b.stage == "cooking" and b.placements[0].cooker_id in day.since.out  # type: ignore[union-attr]
    }
    members = pools(day).get(head, (head,))
    return len(usable_members(day, head)) + len(broken & set(members))


def _dish_asks(day: Day, dish: Dish, found: Ways) -> list[DishAsk]:
    """Return what is asked of a dish: all of it or nothing; where part has begun, by the pot."""
    batches = found.batches[dish.id]
    begun = {p.id for b in (day.since.begun if day.since else ()) for p in b.placements}
    if not begun & {b.id for b in batches}:
        also = found.also.get(dish.id)
        cuts = (tuple(b.id for b in also),) if also else ()
        return [DishAsk(dish.id, dish.priority, tuple(b.id for b in batches), cuts)]
    has = {b.id for w in found.ways for b in w.batches}
    return [
        DishAsk(b.id, BEGUN_PRIORITY if b.id in begun else dish.priority, (b.id,))
        for b in batches
        if b.id in has
    ]


def _person(day: Day, helper: Helper, slots: int) -> Person:
    free = np.zeros(slots, dtype=bool)
    free[minute_at(day, helper.start) // SLOT_MIN : minute_at(day, helper.end) // SLOT_MIN] = True
    for rest in helper.breaks:
        at = minute_at(day, rest.at)
        free[at // SLOT_MIN : -(-(at + rest.minutes) // SLOT_MIN)] = False
    if day.since is not None:
        free[: up(day.since.minute + 1) // SLOT_MIN] = False
        for away in day.since.away:
            if away.helper_id == helper.id:
                free[away.start // SLOT_MIN : -(-away.end // SLOT_MIN)] = False
    for talk in day.event.talks:
        if talk.speaker == helper.id:
            at = minute_at(day, talk.at)
            free[at // SLOT_MIN : -(-(at + talk.minutes) // SLOT_MIN)] = False
    return Person(helper.id, helper.works, helper.adult, tuple(bool(f) for f in free))


def _talks(day: Day, found: Ways) -> tuple[TalkAsk, ...]:
    out = []
    for talk in day.event.talks:
        if talk.dish is None or talk.stage is None:
            continue
        start = minute_at(day, talk.at)
        if day.since is not None and (
            start < day.since.minute
            or any(p.dish_id == talk.dish for b in day.since.begun for p in b.placements)
        ):
            continue  # it is over, or its pot stands as it stands
        fit = frozenset(
            k
            for k, w in enumerate(found.ways)
            if any(b.dish.id == talk.dish for b in w.batches)
            and _shows(w, talk.dish, talk.stage, start, start + talk.minutes)
        )
        out.append(TalkAsk(talk.id, talk.dish, fit))
    return tuple(out)


def _shows(way: Way, dish_id: str, stage: str, start: int, end: int) -> bool:
    load, lift = way.option.load_slot * SLOT_MIN, way.option.lift_slot * SLOT_MIN
    if stage == "loaded":
        return start <= load <= end
    if stage == "lifted":
        return start <= lift <= end
    pots = [p for p, b in enumerate(way.batches) if b.dish.id == dish_id]
    hot = load + min(float(way.told.hot_min[p, way.index]) for p in pots)
    return hot <= start and lift >= end


def deal_out(day: Day, chosen: list[Way]) -> list[Way]:
    """Return the chosen ways with pooled cookers' loads given to the cookers, first free first."""
    alike = pools(day)
    cookers = {c.id: c for c in day.event.cookers}
    free_from: dict[str, int] = {}
    out = []
    for way in sorted(chosen, key=lambda w: (w.begun is None, w.option.occupies)):
        if way.begun is not None:
            mine = way.told.ask.cooker.id
            if way.begun.stage == "cooking":
                free_from[mine] = way.option.occupies[1]
            out.append(replace(way, option=replace(way.option, cooker_id=mine)))
            continue
        members = alike.get(way.option.cooker_id, (way.option.cooker_id,))
        members = tuple(m for m in members if m in usable_members(day, way.option.cooker_id))
        if len(members) == 1 and members[0] == way.option.cooker_id:
            out.append(way)
            continue
        free = [m for m in members if free_from.get(m, 0) <= way.option.occupies[0]]
        if day.since is not None and way.option.occupies[0] * SLOT_MIN <= day.since.minute:
            free.sort(key=lambda m: m not in day.since.heating)  # type: ignore[union-attr]
        mine = free[0]
        free_from[mine] = way.option.occupies[1]
        told = replace(way.told, ask=replace(way.told.ask, cooker=cookers[mine]))
        out.append(replace(way, option=replace(way.option, cooker_id=mine), told=told))
    return out


def work_of(day: Day, chosen: list[Way]) -> tuple[list[Task], list[OnSun]]:
    """Return the chosen ways' jobs, before they have people, and their stretches on the sun."""
    from solver.walks import OnSun, Task  # noqa: PLC0415  ortools takes 0.8 s to import

    tasks: list[Task] = []
    for way in chosen:
        stays = _stays(day, way)
        if stays is not None:
            tasks.append(Task(stays, minute_of(day.sky, stays.at) // SLOT_MIN, (_who(way),)))
        for kind, minute, minutes, abilities in _hands(way):
            o = way.option
            at_cooker = (
                o.then_cooker_id
                if kind == "lift" and minute > o.lift_slot * SLOT_MIN
                else o.cooker_id
            )
            if day.since is not None and minute <= day.since.minute:
                continue
            job = Job(
                id=f"{kind}-{at_cooker}-{minute // 60:02d}{minute % 60:02d}-{o.batch_ids[0]}",
                kind=kind,
                at=at_minute(day.sky, minute),
                minutes=minutes,
                helper_ids=(),
                cooker_id=at_cooker,
                placement_ids=o.batch_ids,
            )
            if stays is not None and at_cooker == o.cooker_id:
                tasks.append(Task(job, minute // SLOT_MIN, abilities[1:], stays.id))
            else:
                tasks.append(Task(job, minute // SLOT_MIN, abilities))
    dec = declination_deg(day.event.date)
    stretches = []
    for w in chosen:
        cooker, o = w.told.ask.cooker, w.option
        if cooker.kind not in SUN_KINDS or (w.begun is not None and w.begun.stage != "cooking"):
            continue
        every = interval_min(cooker, declination_deg=dec) // SLOT_MIN
        start, now = o.occupies[0], -1
        if (
            day.since is not None
            and start * SLOT_MIN <= up(day.since.minute + 1)
            and (w.begun is not None or start * SLOT_MIN <= day.since.minute)
        ):
            if cooker.id in day.since.out:
                continue
            now = up(day.since.minute + 1) // SLOT_MIN
            if o.lift_slot <= now and w.begun is not None:
                continue  # it leaves at once
            aimed = day.since.aimed.get(cooker.id, 0) // SLOT_MIN
            start = max(aimed, now - every)  # overdue: it is turned at once
        stretches.append(OnSun(cooker, start, o.lift_slot, every, now))
    return tasks, sorted(stretches, key=lambda s: (s.start, s.cooker.id))


def _who(way: Way) -> Ability | None:
    return pots.ability_of(way.told.ask.cooker)


def _stays(day: Day, way: Way) -> Job | None:
    """Return the job of staying at a cooker that is attended, as far as it is still to come."""
    cooker, o = way.told.ask.cooker, way.option
    if not cooker.attended or (way.begun is not None and way.begun.stage != "cooking"):
        return None
    start, end = o.occupies[0] * SLOT_MIN, o.lift_slot * SLOT_MIN + SLOT_MIN
    if day.since is not None:
        start = max(start, up(day.since.minute + 1))
    return Job(
        id=f"attend-{cooker.id}-{start // 60:02d}{start % 60:02d}-{o.batch_ids[0]}",
        kind="attend",
        at=at_minute(day.sky, start),
        minutes=end - start,
        helper_ids=(),
        cooker_id=cooker.id,
        placement_ids=o.batch_ids,
    )


def _hands(way: Way) -> list[tuple[JobKind, int, int, tuple[Ability | None, ...]]]:
    """Return the work of a load: kind, minute of the day, minutes, who may (one each)."""
    o, ability = way.option, pots.ability_of(way.told.ask.cooker)
    load, lift = o.load_slot * SLOT_MIN, o.lift_slot * SLOT_MIN
    out: list[tuple[JobKind, int, int, tuple[Ability | None, ...]]] = []
    if way.begun is not None and way.begun.stage == "lifted":
        return out
    if o.occupies[0] < o.load_slot:
        out.append(("preheat", o.occupies[0] * SLOT_MIN, SLOT_MIN, (ability,)))
    out.append(("load", load, pots.load_minutes(way.batches), (ability,)))
    for minute in pots.stir_minutes(way.batches, load, min(max(way.done_minutes()), lift)):
        out.append(("stir", minute, SLOT_MIN, (ability,)))
    probe = pots.probe_minute(way.batches, max(way.done_minutes()), lift)
    if probe is not None:
        out.append(("probe", probe, SLOT_MIN, (ability,)))
    people = max(b.dish.lift_helpers for b in way.batches)
    kind: JobKind = "insulate" if o.then_cooker_id else "lift"
    kind = "move" if o.route == "sun+burner" else kind
    hands: list[Ability | None] = [ability or "lift"]
    hands += ["lift"] * (people - 1)  # one who may work the cooker lifts; the others lend a hand
    out.append((kind, lift, SLOT_MIN, tuple(hands)))
    if o.route == "sun+burner" and o.then_occupies is not None:
        ring = way.then
        off: list[Ability | None] = [pots.ability_of(ring) or "lift" if ring else "lift"]
        off += ["lift"] * (people - 1)
        out.append(("lift", o.then_occupies[1] * SLOT_MIN, SLOT_MIN, tuple(off)))
    return out


SET_UP_MIN, COOLS_MIN, PACK_MIN = 30, 30, 30  # common practice, no published source


def around(day: Day, chosen: list[Way]) -> list[Job]:
    """Return setting up before the first load, and packing down when the last cooker is cool."""
    opens = minute_at(day, day.event.site.opens)
    used = [w.option for w in chosen]
    if not used:
        return []
    first = min(o.load_slot if o.occupies[0] > o.load_slot else o.occupies[0] for o in used)
    last = max(max(o.lift_slot, (o.then_occupies or (0, 0))[1]) for o in used) * SLOT_MIN
    begins = first * SLOT_MIN
    start = max(opens, begins - SET_UP_MIN)
    jobs: list[tuple[JobKind, int, int]] = [
        ("set-up", start, begins - start),
        ("pack-down", last + COOLS_MIN, PACK_MIN),
    ]
    return [
        Job(id=kind, kind=kind, at=at_minute(day.sky, at), minutes=minutes, helper_ids=())
        for kind, at, minutes in jobs
        if minutes >= SLOT_MIN
    ]


def programme(day: Day) -> list[Job]:
    """Return the talks and the meals as jobs: what everybody must know the time of."""
    jobs = [
        Job(
            id=f"talk-{t.id}",
            kind="talk",
            at=at_minute(day.sky, minute_at(day, t.at)),
            minutes=t.minutes,
            helper_ids=(t.speaker,) if t.speaker else (),
            talk_id=t.id,
        )
        for t in day.event.talks
    ]
    jobs += [
        Job(
            id=f"serve-{m.id}",
            kind="serve",
            at=at_minute(day.sky, minute_at(day, m.start)),
            minutes=minute_at(day, m.end) - minute_at(day, m.start),
            helper_ids=(),
            meal_id=m.id,
        )
        for m in day.event.meals
    ]
    return jobs


def with_past(
    day: Day, since: Since, turns: tuple[Turn, ...], walks: tuple[Walk, ...], jobs: list[Job]
) -> tuple[tuple[Turn, ...], tuple[Walk, ...], list[Job]]:
    """Return what was done before the moment of planning again, and all that is new after it."""
    at = at_minute(day.sky, since.minute)
    known = {j.id for j in jobs} | {t.id for t in turns}
    here = {h.id for h in day.event.helpers}  # one who was there may be out of the event by now
    past = [
        j.model_copy(update={"helper_ids": tuple(h for h in j.helper_ids if h in here)})
        for j in since.plan.jobs
        if j.at <= at and j.id not in known
    ]
    return (
        (*(t for t in since.plan.turns if t.at <= at and t.id not in known), *turns),
        (*(w for w in since.plan.walks if w.at <= at and w.helper_id in here), *walks),
        past + jobs,
    )
