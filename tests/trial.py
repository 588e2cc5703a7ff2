"""Plans in a world they do not know: `python -m tests.trial [events] [days] [--knowing]`.

On random events and drawn days: the share of dishes that are done, safe and in time, for our
plans, for the better of two hand rules, and for our plans on days that go as described; and how
often dishes come out that were promised so many chances in a hundred (reliability). With
`--knowing`: beside plans made by one who knew the day, on clear days.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from events.errors import PlanBroken
from events.model import Event
from events.site import WeatherHour
from events.table import changed
from solver.planning.pipeline import make_plan
from tests.hands import from_plan, hand_early, hand_late
from tests.scale import grown
from tests.world import Luck, draw, on_time

TIGHT_FROM = 4  # portions more than the easy events have


def random_event(seed: int) -> Event:
    """Return a random event: size, sky, portions; every second one is tight."""
    luck = np.random.default_rng(seed)
    tight = bool(seed % 2)
    dishes = int(luck.integers(5, 9))
    event = grown(dishes, int(luck.integers(4, 7)), 3, full=TIGHT_FROM + 4 if tight else 0)
    clouds = luck.choice([5, 15, 30, 45, 60], 3)
    hours = tuple(
        WeatherHour.model_validate({"start": start, "cloud_pct": float(c), "air_c": 24.0})
        for start, c in zip(("08:00", "11:00", "13:00"), clouds, strict=True)
    )
    weather = changed(event.weather, hours=hours)
    return changed(event, weather=weather, title=f"Trial {seed}")


def _share(event: Event, jobs: list, days: list[Luck]) -> tuple[float, dict[str, int]]:
    came = dict.fromkeys((d.id for d in event.dishes), 0)
    for luck in days:
        for name, good in on_time(event, jobs, luck).items():
            came[name] += good
    return sum(came.values()) / (len(days) * len(came)), came


def tried(seed: int, days: int) -> dict | None:
    """Return what came of one event under each planner."""
    event = random_event(seed)
    try:
        plan = make_plan(event)
    except PlanBroken as error:
        print(f"event {seed}: {error}", file=sys.stderr)
        return None
    ours = from_plan(event, json.loads(plan.model_dump_json()))
    rows = {"ours": ours, "early": hand_early(event), "late": hand_late(event)}
    out: dict = {"tight": bool(seed % 2), "seed": seed}
    for name, jobs in rows.items():
        drawn = [draw(event, jobs, 1000 * seed + n) for n in range(days)]
        out[name], came = _share(event, jobs, drawn)
        if name == "ours" and plan.risk is not None:
            told = {c.dish_id: c.of_100 for c in plan.risk.dishes}
            out["told"] = [(told[d], came[d] / days) for d in told]
    out["as described"] = _share(event, ours, [draw(event, ours, 0, kind=True)])[0]
    return out


def knowing(event: Event, luck: Luck) -> Event:
    """Return the event as one would type it who knew the day: its clouds, what each cooker wins."""
    starts = [h.start for h in event.weather.hours][:1]
    hours = tuple(
        WeatherHour.model_validate(
            {
                "start": f"{hour:02d}:00",
                "cloud_pct": float(100 * luck.cloud[60 * hour : 60 * hour + 60].mean()),
                "air_c": 24.0,
            }
        )
        for hour in range(starts[0].hour, 20)
    )
    cookers = tuple(
        changed(
            c,
            optical_efficiency=min(
                1.0,
                c.optical_efficiency * luck.worth[c.id] * luck.clear * (1 - luck.fog[c.id]),
            ),
            strength_band_fraction=0.02,
        )
        if c.optical_efficiency
        else c
        for c in event.cookers
    )
    weather = changed(event.weather, hours=hours)
    return changed(event, weather=weather, cookers=cookers)


def known(seed: int, days: int) -> tuple[float, float]:
    """Return, on clear days of one event, the share for our plan and plans that knew the day."""
    event = random_event(seed)
    clear = tuple(changed(h, cloud_pct=5.0) for h in event.weather.hours)
    event = changed(event, weather=changed(event.weather, hours=clear))
    ours = from_plan(event, json.loads(make_plan(event).model_dump_json()))
    mine, best = [], []
    for n in range(days):
        luck = draw(event, ours, 1000 * seed + n)
        mine.append(_share(event, ours, [luck])[0])
        told = knowing(event, luck)
        jobs = from_plan(told, json.loads(make_plan(told).model_dump_json()))
        best.append(_share(event, jobs, [draw(event, jobs, 1000 * seed + n)])[0])
    return float(np.mean(mine)), float(np.mean(best))


def knew(events: int, days: int) -> None:
    """Print how far our plans are from plans that knew the day, on clear days."""
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(known, range(events), [days] * events))
    ours, best = (100 * float(np.mean([f[k] for f in found])) for k in (0, 1))
    print(f"clear days, {events} events x {days} days: ours {ours:.1f} %, knowing {best:.1f} %")


def main() -> None:
    """Print the tables."""
    if "--knowing" in sys.argv:
        knew(*(int(a) for a in sys.argv[1:3]))
        return
    events = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    days = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    with ProcessPoolExecutor(2) as pool:
        found = [r for r in pool.map(tried, range(events), [days] * events) if r]
    print(f"{len(found)} events x {days} days; share of all dishes done, safe and in time, in %")
    print(f"{'':<10}{'ours':>8}{'early':>8}{'late':>8}{'better rule':>13}{'as described':>14}")
    for tight in (False, True):
        rows = [r for r in found if r["tight"] == tight]
        if not rows:
            continue
        ours, early, late, kind = (
            100 * float(np.mean([r[k] for r in rows]))
            for k in ("ours", "early", "late", "as described")
        )
        better = 100 * float(np.mean([max(r["early"], r["late"]) for r in rows]))
        name = "tight" if tight else "easy"
        print(f"{name:<10}{ours:>8.1f}{early:>8.1f}{late:>8.1f}{better:>13.1f}{kind:>14.1f}")
    print("chance told, of 100: how often it came, and on how many dishes that stands")
    by: dict[int, list[float]] = defaultdict(list)
    for r in found:
        for told, came in r.get("told", []):
            by[told // 10 * 10].append(came)
    for told, came in sorted(by.items()):
        print(f"  {told:>3} to {told + 9:<3} {100 * float(np.mean(came)):>6.1f}   {len(came)}")


if __name__ == "__main__":
    main()
