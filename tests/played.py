"""A day played through with diary and re-plan: `python -m tests.played [days] [--sound]`.

Random events on drawn days of tests/world.py: parameters off, cloud at the wrong hour, and on tight
events a cooker that breaks in the middle of the morning; with `--sound` easy and tight ones in turn
on which nothing breaks. Every twenty minutes each pot is probed; when a pot may be late, or
something broke, the plan is made anew, and followed where it is better. Beside it: the same plan on
the same day, left alone.
"""

from __future__ import annotations

import dataclasses
import json
import sys
from concurrent.futures import ProcessPoolExecutor
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from events.diary import Entry, StoredEntry
from events.errors import PlanBroken
from events.model import Event
from solver.live.pots import pot_statuses
from solver.live.replan import replan_from
from solver.live.status import day_status
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from tests.hands import from_plan
from tests.trial import scored
from tests.trial_events import is_tight, random_event
from tests.world import Job, Luck, cook, draw

EVERY = timedelta(minutes=20)


@dataclasses.dataclass(frozen=True)
class Played:
    """What came of one day: good dishes, the plan left alone and with diary and re-plan."""

    tight: bool
    dishes: int
    alone: float
    live: float
    made: int  # plans made anew and followed


def play(seed: int, sound: bool) -> Played:
    """Return what came of one event on one day, on which nothing breaks if it is `sound`."""
    event_seed = seed if sound else 2 * (seed % 10) + 1
    event = random_event(event_seed)
    plan = make_plan(event)
    jobs = from_plan(event, json.loads(plan.model_dump_json()))
    dice = np.random.default_rng(seed)
    luck = draw(event, 5000 + seed, 1)
    used = sorted({j.cooker_id for j in jobs if event.cooker(j.cooker_id).on_sun})
    breaks = 60.0 * float(dice.uniform(10, 12.5))
    broken = {str(dice.choice(used)): breaks} if used and not sound else {}
    worse = dataclasses.replace(luck, broken=broken)
    dishes = len(event.dishes)
    alone = dishes * scored(event, jobs, worse).good
    live, made = _live(event, plan, worse, dice)
    return Played(is_tight(event_seed), dishes, alone, live, made)


def _live(event: Event, plan: Plan, luck: Luck, dice: np.random.Generator) -> tuple[float, int]:
    zone = ZoneInfo(event.site.timezone)
    now = min(p.loaded_at for p in plan.placements) + EVERY
    end = max(p.served_at for p in plan.placements)
    midnight = datetime.combine(event.date, time(0), tzinfo=zone)
    entries: list[StoredEntry] = []
    told: set[str] = set()
    made, last = 0, now - timedelta(hours=1)

    def press(kind: str, **fields: object) -> None:
        body = {"id": f"played-{len(entries):05d}", "kind": kind, "at": now} | fields
        entry = Entry.model_validate(body)
        number = len(entries) + 1
        entries.append(StoredEntry(entry=entry, received_at=now, happened_at=now, number=number))

    while now < end:
        jobs = from_plan(event, json.loads(plan.model_dump_json()))
        at = (now - midnight).total_seconds() / 60
        for cooker, since in luck.broken.items():
            if at >= since and cooker not in told:
                told.add(cooker)
                press("out-of-action", cooker_id=cooker)
        for job in jobs:
            _probe(event, job, luck, at, dice, press)
        stands = day_status(event, plan, entries, now)
        late = any(p.may_be_late for p in pot_statuses(stands))
        broke = bool(stands.unavailable) and made == 0
        if (late or broke) and now - last >= timedelta(minutes=10):
            try:
                anew, last = replan_from(stands), now
                if anew.gains:
                    plan, made = anew, made + 1
            except PlanBroken as error:
                print(f"no new plan: {error}", file=sys.stderr)
        now += EVERY
    jobs = from_plan(event, json.loads(plan.model_dump_json()))
    return len(event.dishes) * scored(event, jobs, luck).good, made


def _probe(
    event: Event, job: Job, luck: Luck, at: float, dice: np.random.Generator, press: object
) -> None:
    if not job.load + 20 <= at <= job.lift:
        return
    core_c = cook(event, job, luck).trace.get(int(at))
    if core_c is not None:
        probe_c = round(float(core_c[0]) + float(dice.normal()), 1)
        press("probed", placement_id=job.id, core_c=probe_c)  # type: ignore[operator]


def main() -> None:
    """Print what came of the days."""
    sizes = [int(a) for a in sys.argv[1:] if not a.startswith("--")]
    days = sizes[0] if sizes else 50
    with ProcessPoolExecutor(2) as pool:
        rows = list(pool.map(play, range(days), ["--sound" in sys.argv] * days))
    for tight in sorted({r.tight for r in rows}):
        some = [r for r in rows if r.tight == tight]
        dishes = sum(r.dishes for r in some)
        alone, live = (
            100 * sum(x) / dishes for x in zip(*((r.alone, r.live) for r in some), strict=True)
        )
        made = sum(r.made for r in some) / len(some)
        print(
            f"{'tight' if tight else 'easy'}: {len(some)} days, {dishes} dishes; good, left alone"
        )
        print(f"  {alone:.1f} %, with diary and re-plan {live:.1f} %; {made:.1f} new plans a day")


if __name__ == "__main__":
    main()
