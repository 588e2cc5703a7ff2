"""Plans in a world they do not know: `python -m tests.trial [events] [days]`.

On random events and drawn days: the share of dishes that are done, safe and in time, for our
plans, for the better of two hand rules, and for our plans on days that go as described; and how
often dishes come out that were promised so many chances in a hundred (reliability).
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from events.errors import PlanBroken
from events.model import Event, WeatherHour
from solver.planning import make_plan
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
    weather = event.weather.model_copy(update={"hours": hours})
    return event.model_copy(update={"weather": weather, "title": f"Trial {seed}"})


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


def main() -> None:
    """Print the tables."""
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
