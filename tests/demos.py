"""Is what a talk shows really seen as often as told? `python -m tests.long demos`.

Random events with talks that float, each followed on drawn days of `tests/world.py`, a world that
shares no code with the solver. A moment is seen there by the rule that the design gives: a boil or
a box over 100 °C for three minutes within a talk, after its first two; a beginning or the work of
hands after the first two and before the last three.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from events.model import Event, Talk
from events.table import changed
from solver.planning.pipeline import make_plan
from tests.hands import from_plan
from tests.trial_events import random_event
from tests.world import Job, Luck, cook, draw, heated_empty
from tests.world_sky import minute

EVENTS, DAYS = 14, 100
MOMENTS = ("boil", "first-steam", "over-100", "lifted", "boil", "over-100")
NEAR_BOIL_K, STEAM_K = 0.6, 15.0
WATER = "water"  # what is put on for a talk alone, as a dish of the world's
POINTS = 4


@dataclass(frozen=True)
class Seen:
    """A giving: what it shows in what, as told, and on which share of the days it was seen."""

    event: int
    moment: str
    kind: str
    alone: bool  # put on for it alone
    told: int
    came: float


def demo_event(seed: int) -> Event:
    """Return a random event with up to four talks that float, each about one sun cooker."""
    luck, event = np.random.default_rng(seed + 5000), random_event(seed)
    talks = []
    for n in range(4):
        moment = MOMENTS[int(luck.integers(len(MOMENTS)))]
        hour = int(luck.integers(9, 12))
        fit = [c.id for c in event.cookers if (c.is_oven if moment == "over-100" else c.on_sun)]
        if not fit:
            continue
        talks.append(
            Talk.model_validate(
                {
                    "id": f"t{n}",
                    "name": f"Talk {n}",
                    "minutes": int(luck.choice((15, 20, 30))),
                    "start": f"{hour:02d}:30",
                    "end": f"{hour + 3:02d}:00",
                    "speakers": (f"h{n % 4}", f"h{(n + 1) % 4}"),
                    "moment": moment,
                    "cooker": str(luck.choice(fit)),
                    "chance_pct": int(luck.choice((50, 60, 70, 80))),
                }
            )
        )
    return changed(event, talks=tuple(talks))


def with_water(event: Event) -> Event:
    """Return the event with water as one more dish, so that its loads have luck of their own."""
    pattern = event.dishes[0]
    water = changed(
        pattern,
        id=WATER,
        name="Water",
        shape="liquid",
        done="boil",
        composition={"water": 1.0},
        portions=1,
        portion_kg=1.0,
        start_c=18.0,
        hazardous=False,
    )
    return changed(event, dishes=(*event.dishes, water))


def shown(seed: int, days: int) -> list[Seen]:
    """Return what came of each giving of one event."""
    event = demo_event(seed)
    plan = json.loads(make_plan(event).model_dump_json())
    wet = with_water(event)
    luck, kinds = draw(wet, 2000 + seed, days), {c.id: c.kind for c in event.cookers}
    found = []
    for g in plan["talks"]["given"] if plan["talks"] else ():
        talk = event.talk(g["talk_id"])
        seen = np.any([_seen(wet, talk, g, j, luck) for j in _jobs(wet, plan, g)], axis=0)
        kind = kinds[g["cooker_id"]]
        came = float(np.mean(seen))
        found.append(Seen(seed, str(talk.moment), kind, bool(g["load"]), g["of_100"], came))
    return found


def _jobs(event: Event, plan: dict, giving: dict) -> list[Job]:
    """Return the loads that are to be seen at a giving."""
    load, cooker = giving["load"], giving["cooker_id"]
    start = minute(event, datetime.fromisoformat(giving["at"]))
    if load is None:
        jobs = from_plan(event, plan)
        here = [j for j in jobs if j.cooker_id == cooker]
        return [j for j in here if j.load < start + giving["minutes"] and j.lift >= start]
    pots = {p.id: p for p in event.pots}
    begins, lift = (
        minute(event, datetime.fromisoformat(load[k])) for k in ("loaded_at", "lifted_at")
    )
    turns = [
        minute(event, datetime.fromisoformat(t["at"]))
        for t in plan["turns"]
        if t["cooker_id"] == cooker
    ]
    pot = pots[load["pot_id"]] if load["pot_id"] else None
    return [
        Job(
            dish_id=WATER,
            cooker_id=cooker,
            kg=load["water_kg"],
            pot_kg=pot.mass_kg if pot else 0.0,
            pot_litres=pot.litres if pot else 1.0,
            load=begins,
            lift=lift,
            serve=lift,
            turns=tuple(t for t in turns if begins <= t < lift),
        )
    ]


def _seen(event: Event, talk: Talk, giving: dict, job: Job, luck: Luck) -> np.ndarray:
    """Return on which days a talk's moment is seen at one load."""
    start = minute(event, datetime.fromisoformat(giving["at"]))
    first, last = int(start + 2), int(start + talk.minutes - 3)
    end = int(start + talk.minutes)
    boil = 100 - 0.00332 * event.site.altitude_m
    never = np.zeros(luck.days, dtype=bool)
    if talk.moment == "loading":
        late = job.load + luck.late_load[job.dish_id]
        return (late >= start) & (late <= last)
    if giving["load"] is not None and giving["load"]["pot_id"] is None:
        inside = heated_empty(event, job, luck)
        return _lasts([inside.get(m, never) >= 100.0 for m in range(first, end + 1)])
    pot = cook(event, job, luck)
    if talk.moment == "lifted":
        return (pot.done_at <= job.lift) & (first <= job.lift <= last)
    if talk.moment == "over-100":
        return _lasts([pot.body.get(m, never) >= 100.0 for m in range(first, end + 1)])
    hot = {m: c for m, c in pot.food.items() if m <= job.lift}
    if talk.moment == "boil":
        return _lasts([hot.get(m, never) >= boil - NEAR_BOIL_K for m in range(first, end + 1)])
    began = np.min([np.where(c >= boil - STEAM_K, m, np.inf) for m, c in hot.items()], axis=0)
    return (began >= first) & (began <= last)


def _lasts(by_minute: Sequence[np.ndarray]) -> np.ndarray:
    """Return on which days something is so for three minutes."""
    enough: np.ndarray = np.sum(by_minute, axis=0) >= 3
    return enough


def demos() -> str:
    """Follow every giving; raise where what was told is off by more than four points."""
    with ProcessPoolExecutor(2) as pool:
        found = [s for some in pool.map(shown, range(EVENTS), [DAYS] * EVENTS) for s in some]
    for name, key in (("moment", "moment"), ("kind", "kind"), ("for it alone", "alone")):
        for value in sorted({getattr(s, key) for s in found}):
            _print(f"{name} {value}", [s for s in found if getattr(s, key) == value])
    said, came = _print("all", found)
    assert abs(said - came) <= POINTS, "told is off"
    return f"{EVENTS} events x {DAYS} days, {len(found)} givings: told {said:.1f}, seen {came:.1f}"


def _print(name: str, some: Sequence[Seen]) -> tuple[float, float]:
    said = float(np.mean([s.told for s in some]))
    came = 100 * float(np.mean([s.came for s in some]))
    print(f"  {name:<24}{said:>6.1f} → {came:<6.1f}({len(some)})", flush=True)
    return said, came
