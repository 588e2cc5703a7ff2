"""The work that the chosen columns bring, before it has people."""

from __future__ import annotations

from dataclasses import dataclass

from events.kinds import Ability
from events.model import Cooker, changed
from solver.plan import Job, JobKind, Turn, Walk
from solver.policy import SLOT_MIN
from solver.scheduling import batches as pots
from solver.scheduling.batches import ceil_to_slot, minute_at
from solver.scheduling.columns import Candidate
from solver.simulation.day_state import ReplanState
from solver.simulation.durations import Day
from solver.solar.irradiance import at_minute, minute_of
from solver.solar.tracking import declination_deg, interval_min


@dataclass(frozen=True)
class SunExposure:
    """A cooker on the sun from one slot to another; it is aimed ahead at the first.

    Where it was on the sun before the day was planned again, `start` is its last aim, and no turn
    comes before `now`.
    """

    cooker: Cooker
    start: int
    end: int
    every: int  # slots that one aim holds
    now: int = -1


@dataclass(frozen=True)
class Task:
    """A job before it has people: its first slot, and what each of its people must be allowed."""

    job: Job
    slot: int
    abilities: tuple[Ability | None, ...]
    led_by: str | None = None  # the job of the one who stays at its cooker: they do it

    def slots(self) -> range:
        """Return the slots it takes."""
        return range(self.slot, self.slot + -(-self.job.minutes // SLOT_MIN))


def work_of(day: Day, chosen: list[Candidate]) -> tuple[list[Task], list[SunExposure]]:
    """Return the chosen ways' jobs, before they have people, and their stretches on the sun."""

    tasks: list[Task] = []
    for way in chosen:
        stays = _stays(day, way)
        if stays is not None:
            tasks.append(Task(stays, minute_of(day.sky, stays.at) // SLOT_MIN, (_who(way),)))
        for kind, minute, minutes, abilities in _hands(way):
            o = way.column
            at_cooker = (
                o.then_cooker_id
                if kind == "lift" and minute > o.lift_slot * SLOT_MIN
                else o.cooker_id
            )
            if day.replan is not None and minute <= day.replan.minute:
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
        cooker, o = w.told.ask.cooker, w.column
        if not cooker.on_sun or (w.in_progress is not None and w.in_progress.stage != "cooking"):
            continue
        every = interval_min(cooker, declination_deg=dec) // SLOT_MIN
        start, now = o.occupies[0], -1
        if (
            day.replan is not None
            and start * SLOT_MIN <= ceil_to_slot(day.replan.minute + 1)
            and (w.in_progress is not None or start * SLOT_MIN <= day.replan.minute)
        ):
            if cooker.id in day.replan.unavailable:
                continue
            now = ceil_to_slot(day.replan.minute + 1) // SLOT_MIN
            if o.lift_slot <= now and w.in_progress is not None:
                continue  # it leaves at once
            aimed = day.replan.aimed_at.get(cooker.id, 0) // SLOT_MIN
            start = max(aimed, now - every)  # overdue: it is turned at once
        stretches.append(SunExposure(cooker, start, o.lift_slot, every, now))
    return tasks, sorted(stretches, key=lambda s: (s.start, s.cooker.id))


def _who(way: Candidate) -> Ability | None:
    return way.told.ask.cooker.ability


def _stays(day: Day, way: Candidate) -> Job | None:
    """Return the job of staying at a cooker that is attended, as far as it is still to come."""
    cooker, o = way.told.ask.cooker, way.column
    if not cooker.attended or (way.in_progress is not None and way.in_progress.stage != "cooking"):
        return None
    start, end = o.occupies[0] * SLOT_MIN, o.lift_slot * SLOT_MIN + SLOT_MIN
    if day.replan is not None:
        start = max(start, ceil_to_slot(day.replan.minute + 1))
    return Job(
        id=f"attend-{cooker.id}-{start // 60:02d}{start % 60:02d}-{o.batch_ids[0]}",
        kind="attend",
        at=at_minute(day.sky, start),
        minutes=end - start,
        helper_ids=(),
        cooker_id=cooker.id,
        placement_ids=o.batch_ids,
    )


def _hands(way: Candidate) -> list[tuple[JobKind, int, int, tuple[Ability | None, ...]]]:
    """Return the work of a load: kind, minute of the day, minutes, who may (one each)."""
    o, ability = way.column, way.told.ask.cooker.ability
    load, lift = o.load_slot * SLOT_MIN, o.lift_slot * SLOT_MIN
    out: list[tuple[JobKind, int, int, tuple[Ability | None, ...]]] = []
    if way.in_progress is not None and way.in_progress.stage == "lifted":
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
        off: list[Ability | None] = [ring.ability or "lift" if ring else "lift"]
        off += ["lift"] * (people - 1)
        out.append(("lift", o.then_occupies[1] * SLOT_MIN, SLOT_MIN, tuple(off)))
    return out


SET_UP_MIN, COOLS_MIN, PACK_MIN = 30, 30, 30  # common practice, no published source


def around(day: Day, chosen: list[Candidate]) -> list[Job]:
    """Return setting up before the first load, and packing down when the last cooker is cool."""
    opens = minute_at(day, day.event.site.opens)
    used = [w.column for w in chosen]
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
    day: Day, since: ReplanState, turns: tuple[Turn, ...], walks: tuple[Walk, ...], jobs: list[Job]
) -> tuple[tuple[Turn, ...], tuple[Walk, ...], list[Job]]:
    """Return what was done before the moment of planning again, and all that is new after it."""
    at = at_minute(day.sky, since.minute)
    known = {j.id for j in jobs} | {t.id for t in turns}
    here = {h.id for h in day.event.helpers}  # one who was there may be out of the event by now
    past = [
        changed(j, helper_ids=tuple(h for h in j.helper_ids if h in here))
        for j in since.plan.jobs
        if j.at <= at and j.id not in known
    ]
    return (
        (*(t for t in since.plan.turns if t.at <= at and t.id not in known), *turns),
        (*(w for w in since.plan.walks if w.at <= at and w.helper_id in here), *walks),
        past + jobs,
    )
