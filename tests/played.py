"""A day played through with diary and re-plan: `python -m tests.played [days]`.

Random events on drawn days of tests/world.py: parameters off, cloud at the wrong hour, a cooker
that breaks in the middle of the morning. Every twenty minutes each pot is probed; when a pot may be
late, or something broke, the plan is made anew and followed. Beside it: the same plan on the same
day, left alone.
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
from tests.trial_events import random_event
from tests.world import Job, Luck, cook, draw

EVERY = timedelta(minutes=20)


def play(seed: int) -> tuple[int, float, float, int]:
    """Return (dishes, good ones left alone, good ones with diary and re-plan, plans made anew)."""
    event = random_event(2 * (seed % 10) + 1)
    plan = make_plan(event)
    jobs = from_plan(event, json.loads(plan.model_dump_json()))
    dice = np.random.default_rng(seed)
    luck = draw(event, 5000 + seed, 1)
    used = sorted({j.cooker_id for j in jobs if event.cooker(j.cooker_id).on_sun})
    breaks = 60.0 * float(dice.uniform(10, 12.5))
    worse = dataclasses.replace(luck, broken={str(dice.choice(used)): breaks} if used else {})
    dishes = len(event.dishes)
    alone = dishes * scored(event, jobs, worse).good
    live, made = _live(event, plan, worse, dice)
    return dishes, alone, live, made


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
                plan = replan_from(stands)
                made, last = made + 1, now
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
    days = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    with ProcessPoolExecutor(2) as pool:
        rows = list(pool.map(play, range(days)))
    dishes, alone, live, made = (sum(r[k] for r in rows) for k in range(4))
    print(
        f"{days} days, {dishes} dishes; in time and safe, left alone {100 * alone / dishes:.1f} %"
    )
    print(f"with diary and re-plan {100 * live / dishes:.1f} %; {made / days:.1f} new plans a day")


if __name__ == "__main__":
    main()
