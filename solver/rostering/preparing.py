"""What is done to a dish before it is loaded: its own steps, and weighing it into its pots.

Each step has one adult, who does nothing else meanwhile. It ends as the next one begins; where
nobody is free then, it may be so much earlier. A step for which nobody is free or there in time is
no job: the words of the dish's loading say what has to be done before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from events.model import Dish
from solver.plan import Job
from solver.policy import SLOT_MIN
from solver.rostering.light_jobs import free_slots, slots_of
from solver.rostering.programme import Work
from solver.scheduling.batches import dish_id_of
from solver.scheduling.formulation import person_of
from solver.simulation.day import Day
from solver.solar.irradiance import at_minute, minute_of

WEIGH_MIN = 20  # to wash, cut and weigh a dish: common practice, no published source
EARLIER_MIN = 60  # so much earlier a step may be where nobody is free: judgement
WATCHED_MIN = 60  # what takes no longer is stayed with, as a boil is; longer ones wait: judgement


@dataclass(frozen=True)
class Step:
    """One step before a dish's loading: its number, or none for weighing in; all its minutes."""

    number: int | None
    hands_min: int  # somebody is at it for so long, from its beginning
    whole_min: int


def steps_of(dish: Dish) -> tuple[Step, ...]:
    """Return a dish's steps before its loading, in their order; in whole slots."""
    before = [_step(k, task.minutes, task.hands_min) for k, task in enumerate(dish.before)]
    weigh_min = _slots_min(WEIGH_MIN + dish.load_min)
    return (*before, Step(None, weigh_min, weigh_min))


def _step(number: int, minutes: int, hands_min: int) -> Step:
    hands = hands_min + minutes if minutes <= WATCHED_MIN else max(hands_min, SLOT_MIN)
    return Step(number, max(SLOT_MIN, _slots_min(hands)), _slots_min(hands_min + minutes))


def _slots_min(minutes: int) -> int:
    return -(-minutes // SLOT_MIN) * SLOT_MIN


def with_preparing(day: Day, work: Work) -> Work:
    """Return everybody's work with what is done before each dish is loaded."""
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    adults = [p for h in day.event.helpers if (p := person_of(day, h, slots)).adult]
    free = free_slots(day, adults, work)
    set_up = {s for j in work.jobs if j.kind == "set-up" for s in slots_of(day, j.at, j.minutes)}
    had_min: Counter[str] = Counter()
    done = {j.id for j in work.jobs}
    jobs: list[Job] = []
    for loaded, dish, wanted in sorted(_loads(day, work), key=lambda row: (row[0], row[1].id)):
        ends = loaded
        for step in reversed(steps_of(dish)):
            latest = ends - step.whole_min
            ends = latest
            name = f"prepare-{dish.id}-{'weigh' if step.number is None else step.number + 1}"
            if name in done:  # before this was planned again
                continue
            found = _found(free, set_up, had_min, latest, step, wanted)
            if found is None:
                continue
            ends, helper_id = found
            free[helper_id] -= set(range(ends // SLOT_MIN, (ends + step.hands_min) // SLOT_MIN))
            had_min[helper_id] += step.hands_min
            jobs.append(
                Job(
                    id=name,
                    kind="prepare",
                    at=at_minute(day.sky, ends),
                    minutes=step.hands_min,
                    helper_ids=(helper_id,),
                    dish_id=dish.id,
                    step=step.number,
                )
            )
    return replace(work, jobs=(*work.jobs, *jobs))


def _loads(day: Day, work: Work) -> Iterator[tuple[int, Dish, str]]:
    """Yield when each dish is first loaded and by whom, as far as that is still to come."""
    first: dict[str, tuple[int, str]] = {}
    for job in sorted((j for j in work.jobs if j.kind == "load"), key=lambda j: j.at):
        for placement_id in job.placement_ids:
            who = job.helper_ids[0] if job.helper_ids else ""
            first.setdefault(dish_id_of(placement_id), (minute_of(day.sky, job.at), who))
    now = day.replan.minute if day.replan else -1
    for dish_id, (minute, who) in first.items():
        if minute > now:
            yield minute // SLOT_MIN * SLOT_MIN, day.event.dish(dish_id), who


def _found(
    free: dict[str, set[int]],
    set_up: set[int],
    had_min: Counter[str],
    latest: int,
    step: Step,
    wanted: str,
) -> tuple[int, str] | None:
    """Return when a step begins and who does it: who loads, else who has the least of it.

    Only where it can't be helped is somebody taken away from setting up.
    """
    for kept in (set_up, set[int]()):
        for begins in range(latest, latest - EARLIER_MIN - 1, -SLOT_MIN):
            if begins < 0:
                break
            span = set(range(begins // SLOT_MIN, (begins + step.hands_min) // SLOT_MIN))
            there = [h for h, slots in free.items() if span <= slots and not span & kept]
            if there:
                return begins, min(there, key=lambda h: (h != wanted, had_min[h], h))
    return None
