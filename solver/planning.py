"""From an event to a checked plan: estimate, place, walk, replay, check.

A plan that the rule check or the replay refuses is never returned: PlanBroken says what broke.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from events.errors import PlanBroken
from events.files import event_id
from events.model import Ability, Cooker, Event, Helper
from solver import batches as pots
from solver.batches import minute_at, up
from solver.columns import Way, Ways
from solver.cooker import Array
from solver.estimate import SUN_KINDS, Day, Estimate, Told, make_day, skyline_of
from solver.food import CLOCK_AMBER_MIN
from solver.options import find_ways
from solver.plan import Job, JobKind, Placement, Plan, Reason, Turn, Unplaced, Window
from solver.pointing import declination_deg, interval_min
from solver.policy import SLOT_MIN
from solver.replay import Track, breaches, replay
from solver.sky import at_minute, floor_deg, sun_steps
from solver.sun import window
from solver.timetable.check import check
from solver.timetable.question import Answer, DishAsk, Person, Question, TalkAsk

if TYPE_CHECKING:
    from solver.walks import OnSun, Task

CUTS_MOST = 30


def windows(event: Event) -> tuple[Window, ...]:
    """Return the stretches of usable sun: the site first, then each sun cooker."""
    site = event.site
    floor = floor_deg(event)

    def of(cooker: Cooker | None) -> Window:
        low, high = (cooker.sun_low_deg, cooker.sun_high_deg) if cooker else (0.0, 90.0)
        return Window(
            cooker_id=cooker.id if cooker else None,
            stretches=window(
                latitude_deg=site.latitude_deg,
                longitude_deg=site.longitude_deg,
                day=event.date,
                zone_name=site.timezone,
                low_deg=max(floor, low),
                high_deg=high,
                skyline=skyline_of(event, cooker) if cooker else site.skyline,
            ),
        )

    return (of(None), *(of(c) for c in event.cookers if c.kind in SUN_KINDS))


def estimates(event: Event) -> list[Estimate]:
    """Return the table of minutes: every dish, cooker and start, or why not."""
    day = make_day(event)
    found = find_ways(day)
    out: list[Estimate] = []
    seen: set[tuple[str, str]] = set()
    for told in {id(w.told): w.told for w in found.ways if len(w.batches) == 1}.values():
        dish, cooker = told.ask.load.dishes[0], told.ask.cooker
        if (dish.id, cooker.id) in seen:
            continue  # a second pot size: the table shows the smallest
        seen.add((dish.id, cooker.id))
        out += [_estimate(day, told, k) for k in range(len(told.ask.starts))]
    for dish_id, why in found.reasons.items():
        mass = found.batches[dish_id][0].mass_kg
        out += [
            Estimate(
                dish_id=dish_id,
                cooker_id=cooker_id,
                loaded_at=day.sky.start_at,
                batch_kg=mass,
                fast_min=None,
                expected_min=None,
                cautious_min=None,
                reason=text,
            )
            for cooker_id, text in why.items()
        ]
    return out


def _estimate(day: Day, told: Told, k: int) -> Estimate:
    def whole(values: Array) -> int | None:
        return int(np.ceil(values[0, k])) if np.isfinite(values[0, k]) else None

    return Estimate(
        dish_id=told.ask.load.dishes[0].id,
        cooker_id=told.ask.cooker.id,
        loaded_at=at_minute(day.sky, int(told.ask.starts[k])),
        batch_kg=told.ask.load.masses_kg[0],
        fast_min=whole(told.fast_min),
        expected_min=whole(told.expected_min),
        cautious_min=whole(told.cautious_min),
        reason=None,
    )


def make_plan(event: Event) -> Plan:
    """Return the checked plan of an event. The same event gives the same plan.

    Raises PlanBroken where check or replay finds a fault: a bug of ours, never shown.
    """
    from solver.timetable.solve import solve  # noqa: PLC0415  ortools takes 0.8 s to import
    from solver.walks import crew, tell  # noqa: PLC0415

    day = make_day(event)
    found = find_ways(day)
    question = ask(day, found)
    cuts: list[frozenset[int]] = []
    while True:
        answer = solve(question, cuts=cuts)
        chosen = [found.ways[k] for k in answer.chosen]
        tasks, stretches = work_of(day, chosen)
        team = crew(question.people, tasks, stretches)
        if team is not None:
            break
        if len(cuts) >= CUTS_MOST:
            raise PlanBroken([f"no crew found for {len(chosen)} loads after {CUTS_MOST} trials"])
        cuts.append(_clash(day, question, found, answer))
    turns, walks = tell(day.sky, stretches, team.trips)
    jobs = [
        t.job.model_copy(update={"helper_ids": who})
        for t, who in zip(tasks, team.people, strict=True)
    ]
    jobs += _programme(day)
    placements, broken = _place(day, chosen, turns)
    plan = Plan(
        event_id=event_id(event),
        title=event.title,
        sky="forecast" if event.weather.hours else "clear",
        sun=sun_steps(event, day.sky),
        windows=windows(event),
        placements=placements,
        turns=turns,
        walks=walks,
        jobs=tuple(sorted(jobs, key=lambda j: (j.at, j.id))),
        unplaced=_unplaced(event, found, placements),
        levels=answer.levels,
        warnings=_warnings(event, placements),
    )
    broken += check(event, plan)
    if broken:
        raise PlanBroken(broken)
    return plan


def _clash(day: Day, question: Question, found: Ways, answer: Answer) -> frozenset[int]:
    """Return a smallest set of chosen options that the people can't do together."""
    from solver.walks import possible  # noqa: PLC0415  as above

    core = list(answer.chosen)
    for k in answer.chosen:
        rest = [i for i in core if i != k]
        if not possible(question.people, *work_of(day, [found.ways[i] for i in rest])):
            core = rest
    return frozenset(core)


def ask(day: Day, found: Ways) -> Question:
    """Return the timetable's question: columns, stocks, people, talks."""
    event = day.event
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    with_ways = {b.dish.id for w in found.ways for b in w.batches}
    mirrors = [c for c in event.cookers if c.kind == "parabolic"]
    dec = declination_deg(event.date)
    shortest = min((interval_min(c, declination_deg=dec) for c in mirrors), default=60)
    return Question(
        slots=slots,
        dishes=tuple(
            DishAsk(d.id, d.priority, tuple(b.id for b in found.batches[d.id]))
            for d in event.dishes
            if d.id in with_ways
        ),
        options=tuple(w.option for w in found.ways),
        cooker_capacity={
            c.id: c.pots_max if c.kind in ("burner", "insulated") else 1 for c in event.cookers
        },
        pot_count={p.id: p.count for p in event.pots},
        people=tuple(_person(day, h, slots) for h in event.helpers),
        talks=_talks(day, found),
        walk_window_slots=max(1, shortest // SLOT_MIN),
    )


def _person(day: Day, helper: Helper, slots: int) -> Person:
    free = np.zeros(slots, dtype=bool)
    free[minute_at(day, helper.start) // SLOT_MIN : minute_at(day, helper.end) // SLOT_MIN] = True
    for talk in day.event.talks:
        if talk.speaker == helper.id:
            at = minute_at(day, talk.at)
            free[at // SLOT_MIN : -(-(at + talk.minutes) // SLOT_MIN)] = False
    return Person(helper.id, frozenset(helper.may), helper.adult, tuple(bool(f) for f in free))


def _talks(day: Day, found: Ways) -> tuple[TalkAsk, ...]:
    out = []
    for talk in day.event.talks:
        if talk.dish is None or talk.stage is None:
            continue
        start = minute_at(day, talk.at)
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


def work_of(day: Day, chosen: list[Way]) -> tuple[list[Task], list[OnSun]]:
    """Return the chosen ways' jobs, before they have people, and their stretches on the sun."""
    from solver.walks import OnSun, Task  # noqa: PLC0415  ortools takes 0.8 s to import

    tasks: list[Task] = []
    for way in chosen:
        for kind, minute, minutes, abilities in _hands(way):
            o = way.option
            job = Job(
                id=f"{kind}-{o.cooker_id}-{minute // 60:02d}{minute % 60:02d}-{o.batch_ids[0]}",
                kind=kind,
                at=at_minute(day.sky, minute),
                minutes=minutes,
                helper_ids=(),
                cooker_id=o.cooker_id,
                placement_ids=o.batch_ids,
            )
            tasks.append(Task(job, minute // SLOT_MIN, abilities))
    dec = declination_deg(day.event.date)
    stretches = [
        OnSun(
            w.told.ask.cooker,
            w.option.occupies[0],
            w.option.lift_slot,
            interval_min(w.told.ask.cooker, declination_deg=dec) // SLOT_MIN,
        )
        for w in chosen
        if w.told.ask.cooker.kind in SUN_KINDS
    ]
    return tasks, sorted(stretches, key=lambda s: (s.start, s.cooker.id))


def _hands(way: Way) -> list[tuple[JobKind, int, int, tuple[Ability | None, ...]]]:
    """Return the work of a load: kind, minute of the day, minutes, who may (one each)."""
    o, ability = way.option, pots.ability_of(way.told.ask.cooker)
    load, lift = o.load_slot * SLOT_MIN, o.lift_slot * SLOT_MIN
    out: list[tuple[JobKind, int, int, tuple[Ability | None, ...]]] = []
    if o.occupies[0] < o.load_slot:
        out.append(("preheat", o.occupies[0] * SLOT_MIN, SLOT_MIN, (ability,)))
    out.append(("load", load, pots.load_minutes(way.batches), (ability,)))
    for minute in pots.stir_minutes(way.batches, load, min(max(way.done_minutes()), lift)):
        out.append(("stir", minute, SLOT_MIN, (ability,)))
    people = max(b.dish.lift_helpers for b in way.batches)
    kind: JobKind = "insulate" if o.then_cooker_id else "lift"
    hands: list[Ability | None] = [ability or "lift"]
    hands += ["lift"] * (people - 1)  # one who may work the cooker lifts; the others lend a hand
    out.append((kind, lift, SLOT_MIN, tuple(hands)))
    return out


def _programme(day: Day) -> list[Job]:
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


def _place(
    day: Day, chosen: list[Way], turns: tuple[Turn, ...]
) -> tuple[tuple[Placement, ...], list[str]]:
    placements: list[Placement] = []
    broken: list[str] = []
    for way in chosen:
        o, told = way.option, way.told
        before = o.occupies[0] < o.load_slot
        preheat_at = at_minute(day.sky, o.occupies[0] * SLOT_MIN) if before else None
        loaded_at = at_minute(day.sky, o.load_slot * SLOT_MIN)
        lifted_at = at_minute(day.sky, o.lift_slot * SLOT_MIN)
        begins = preheat_at or loaded_at
        own = [t for t in turns if t.cooker_id == o.cooker_id and begins <= t.at < lifted_at]
        tracks = replay(
            day,
            told.ask.cooker,
            told.ask.load,
            turns=own,
            preheat_at=preheat_at,
            loaded_at=loaded_at,
            lifted_at=lifted_at,
        )
        for p, track in enumerate(tracks):
            placement = _placement(day, way, p, track)
            placements.append(placement)
            broken += breaches(day, placement, track)
    return tuple(sorted(placements, key=lambda p: (p.loaded_at, p.id))), broken


def _placement(day: Day, way: Way, p: int, track: Track) -> Placement:
    o, told, batch = way.option, way.told, way.batches[p]
    start = o.load_slot * SLOT_MIN
    done = way.done_minutes()[p]
    before = o.occupies[0] < o.load_slot
    slow = float(told.cautious_min[p, way.index])
    hot = min(up(start + float(told.hot_min[p, way.index])), done)
    return Placement(
        id=batch.id,
        dish_id=batch.dish.id,
        batch=batch.number,
        batches=batch.of,
        mass_kg=round(batch.mass_kg, 3),
        litres=round(batch.litres, 2),
        portions=batch.portions,
        pot_id=o.pot_ids[p],
        cooker_id=o.cooker_id,
        fill=f"{o.cooker_id}-{start // 60:02d}{start % 60:02d}-{o.batch_ids[0]}",
        route=o.route,
        then_cooker_id=o.then_cooker_id,
        preheat_at=at_minute(day.sky, o.occupies[0] * SLOT_MIN) if before else None,
        loaded_at=at_minute(day.sky, start),
        hot_at=at_minute(day.sky, hot),
        done_at=at_minute(day.sky, done),
        fast_at=at_minute(day.sky, min(up(start + float(told.fast_min[p, way.index])), done)),
        cautious_at=at_minute(day.sky, up(start + slow)) if np.isfinite(slow) else None,
        lifted_at=at_minute(day.sky, o.lift_slot * SLOT_MIN),
        served_at=at_minute(day.sky, batch.serve_minute),
        held_min=batch.serve_minute - done,
        margin_min=batch.serve_minute - done - batch.dish.rest_min,
        peak_c=round(track.peak_c, 1),
        between_5_and_60_min=round(track.clock_min),
        water_lost_kg=round(track.steam_kg, 2),
        curve=track.curve,
    )


def _unplaced(event: Event, found: Ways, placements: tuple[Placement, ...]) -> tuple[Unplaced, ...]:
    placed = {p.dish_id for p in placements}
    return tuple(
        Unplaced(dish_id=d.id, reasons=_reasons(found, d.id))
        for d in event.dishes
        if d.id not in placed
    )


def _reasons(found: Ways, dish_id: str) -> tuple[Reason, ...]:
    out = [Reason(cooker_id=c, text=t) for c, t in found.reasons[dish_id].items()]
    cookers = {
        w.option.cooker_id for w in found.ways if any(b.dish.id == dish_id for b in w.batches)
    }
    if cookers:
        out.append(
            Reason(
                cooker_id=None,
                text=f"would be ready in time in {', '.join(sorted(cookers))}, but there the "
                "cooker, its pot or its helper is taken by dishes that come first",
            )
        )
    return tuple(out)


def _warnings(event: Event, placements: tuple[Placement, ...]) -> tuple[str, ...]:
    out = []
    names = {d.id: d.name for d in event.dishes}
    if not event.weather.hours:
        out.append("No weather given: planned for a clear sky. A cloudy day needs another plan.")
    if not event.site.fire_rules_read:
        out.append("Local fire rules for this date: not ticked as read. Read them first.")
    typical = [c.name for c in event.cookers if _typical(c)]
    if typical:
        out.append(
            f"Typical, unmeasured: {', '.join(typical)}. Times are wide until each is measured."
        )
    for p in placements:
        who = f"{names[p.dish_id]} {p.batch} of {p.batches}" if p.batches > 1 else names[p.dish_id]
        if p.cautious_at is None or p.cautious_at > p.served_at:
            out.append(f"{who}: late under a poor sky. Keep a gas ring ready.")
        dish = next(d for d in event.dishes if d.id == p.dish_id)
        if dish.hazardous and p.between_5_and_60_min > CLOCK_AMBER_MIN:
            out.append(
                f"{who}: {p.between_5_and_60_min} min between 5 and 60 °C, over 120. "
                "Smaller pots, or start it in a mirror."
            )
    return tuple(out)


def _typical(cooker: Cooker) -> bool:
    return cooker.kind in SUN_KINDS and cooker.marks.get("optical_efficiency") not in (
        "measured",
        "fitted",
    )
