"""Plans in a world they do not know: `python -m tests.trial [events] [days] [option …]`.

On random events and drawn days: the share of all dishes that come as promised (ready within a
minute, safe, hot to the last plate), for our plans followed blindly, with their rescues, and for
two hand rules; what was held how long; and how often dishes come out that were promised so many
chances in a hundred. Options: `--from=SEED` (the first event), `--knew=DAYS` (on so many days of
each event also one who knew the day), `--plans=DIR,…` (beside the plans `SEED.json` of other
versions; `--tables=DIR` writes the events for them), `--seed=N` (of the draws that plans are made
with: no set of them may be a lucky one), `--luck` (our plans also on days on which one luck after
the other is taken away: what holds them down), `--workers=N`.
"""

from __future__ import annotations

import dataclasses
import json
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from events.errors import PlanBroken
from events.model import Event
from events.site import WeatherHour
from events.table import changed
from solver.planning.pipeline import make_plan
from solver.simulation import day as drawn
from tests.hands import from_plan, hand_early, hand_late, rescued
from tests.trial_events import event_table, is_tight, random_event
from tests.world import Came, Job, Luck, by_dish, came_of, draw

# What of a drawn day each luck is; without it the day is as described.
LUCKS = {
    "sky": ("clear", "cloud", "grey"),
    "cookers": ("worth", "leaks", "fog"),
    "hands": ("late_turn", "late_load"),
    "pots": ("kg", "start_c"),
}


@dataclass(frozen=True)
class Scored:
    """What came of one event's dishes under one planner, each a share of the days."""

    placed: float
    ready: float  # in time and safe
    good: float  # and hot to the last plate
    kept: float  # and not held past its limit
    fresh: float  # and not held past fresh
    held_min: float
    whole: float  # days on which every dish came
    by_dish: dict[str, float]


@dataclass(frozen=True)
class Told:
    """A dish's promised chance and what came of it."""

    of_100: int
    came: float
    kind: str  # of its first cooker, with the second
    cloud_pct: float


@dataclass(frozen=True)
class Row:
    """One event, under each planner."""

    seed: int
    scored: dict[str, Scored]
    told: list[Told] = field(default_factory=list)
    meals: list[tuple[int, float]] = field(default_factory=list)  # told, came


def scored(event: Event, jobs: list[Job], luck: Luck, came: list[Came] | None = None) -> Scored:
    """Return what comes of some jobs on drawn days."""
    batches = [came_of(event, j, luck) for j in jobs] if came is None else came
    dishes = by_dish(event, jobs, batches, luck.days)
    good = {d: c.good for d, c in dishes.items()}
    kept = [good[d.id] & (dishes[d.id].held_min <= d.holding_max_min) for d in event.dishes]
    fresh = [good[d.id] & (dishes[d.id].held_min <= d.fresh_min) for d in event.dishes]
    held = np.concatenate([dishes[d].held_min[good[d]] for d in good])
    return Scored(
        placed=float(np.mean([any(j.dish_id == d for j in jobs) for d in good])),
        ready=float(np.mean([c.ready for c in dishes.values()])),
        good=float(np.mean(list(good.values()))),
        kept=float(np.mean(kept)),
        fresh=float(np.mean(fresh)),
        held_min=float(held.mean()) if held.size else 0.0,
        whole=float(np.all(list(good.values()), axis=0).mean()),
        by_dish={d: float(g.mean()) for d, g in good.items()},
    )


def tried(seed: int, days: int, knew_days: int, beside: str | None) -> Row | None:
    """Return what came of one event under each planner."""
    others = [Path(name) for name in (beside or "").split(",") if name]
    if not all((other / f"{seed}.json").exists() for other in others):
        return None  # another version has no plan
    event = random_event(seed)
    luck = draw(event, 1000 + seed, days)
    try:
        plan = json.loads(make_plan(event).model_dump_json())
    except PlanBroken as error:
        print(f"event {seed}: {error}", file=sys.stderr)
        return None
    ours = from_plan(event, plan)
    out = {
        "ours": scored(event, ours, luck),
        "rescued": scored(event, ours, luck, rescued(event, ours, plan["rescues"], luck)),
        "early": scored(event, hand_early(event), luck),
        "late": scored(event, hand_late(event), luck),
    }
    for other in others:
        theirs = json.loads((other / f"{seed}.json").read_text())
        out[other.name] = scored(event, from_plan(event, theirs), luck)
    if "--luck" in sys.argv:
        kind = draw(event, 1000 + seed, days, kind=True)
        for name, fields in LUCKS.items():
            calm = dataclasses.replace(luck, **{f: getattr(kind, f) for f in fields})
            out[f"no luck: {name}"] = scored(event, ours, calm)
    if knew_days:
        out |= _beside_one_who_knew(event, ours, luck, knew_days)
    return Row(seed, out, _told(event, plan, out["ours"]), _told_meals(plan, out["ours"]))


def _told(event: Event, plan: dict, came: Scored) -> list[Told]:
    kinds = {c.id: c.kind for c in event.cookers}
    cloud = float(np.mean([h.cloud_pct for h in event.weather.hours]))
    first = {p["dish_id"]: p for p in reversed(plan["placements"])}
    return [
        Told(
            c["of_100"],
            came.by_dish[c["dish_id"]],
            "+".join(kinds[c] for c in (p["cooker_id"], p["then_cooker_id"]) if c),
            cloud,
        )
        for c in (plan["risk"] or {"dishes": []})["dishes"]
        for p in [first[c["dish_id"]]]
    ]


def _told_meals(plan: dict, came: Scored) -> list[tuple[int, float]]:
    """Return the meal's chance beside what came, where all of it was placed."""
    if plan["risk"] is None or plan["unplaced"]:
        return []
    return [(plan["risk"]["all_of_100"], came.whole)]


def knowing(event: Event, luck: Luck, day: int) -> Event:
    """Return the event as one would type it who knew the day: its clouds, what each cooker wins."""
    hours = tuple(
        WeatherHour.model_validate(
            {
                "start": f"{hour:02d}:00",
                "cloud_pct": float(100 * luck.cloud[day, 60 * hour : 60 * hour + 60].mean()),
                "air_c": 22.0,
                "wind_m_s": 1.0,
            }
        )
        for hour in range(8, 20)
    )
    cookers = tuple(
        changed(
            c,
            optical_efficiency=min(
                1.0,
                c.optical_efficiency
                * float(luck.worth[c.id][day] * luck.clear[day] * (1 - luck.fog[c.id][day] / 2)),
            ),
            strength_band_fraction=0.02,
        )
        if c.on_sun
        else c
        for c in event.cookers
    )
    weather = changed(event.weather, hours=hours)
    return changed(event, weather=weather, cookers=cookers)


def _one(luck: Luck, day: int) -> Luck:
    """Return one of the drawn days."""
    some: dict[str, object] = {}
    for name, value in vars(luck).items():
        if isinstance(value, np.ndarray):
            some[name] = value[day : day + 1]
        else:
            some[name] = {k: v[day : day + 1] if np.ndim(v) else v for k, v in value.items()}
    return Luck(**some)  # type: ignore[arg-type]


def _beside_one_who_knew(event: Event, ours: list[Job], luck: Luck, days: int) -> dict[str, Scored]:
    """Return what comes of our plan and of plans that knew each day, on the first days."""
    mine, best = [], []
    for day in range(min(days, luck.days)):
        one = _one(luck, day)
        told = knowing(event, luck, day)
        jobs = from_plan(told, json.loads(make_plan(told).model_dump_json()))
        mine.append(scored(event, ours, one))
        best.append(scored(event, jobs, one))
    return {"beside": _mean(mine), "knew": _mean(best)}


def _mean(some: Sequence[Scored]) -> Scored:
    def of(what: Callable[[Scored], float]) -> float:
        return float(np.mean([what(s) for s in some]))

    return Scored(
        of(lambda s: s.placed),
        of(lambda s: s.ready),
        of(lambda s: s.good),
        of(lambda s: s.kept),
        of(lambda s: s.fresh),
        of(lambda s: s.held_min),
        of(lambda s: s.whole),
        {},
    )


def show(rows: Sequence[Row]) -> None:
    """Print the tables."""
    for tight in (False, True):
        some = [r for r in rows if is_tight(r.seed) == tight]
        if not some:
            continue
        print(f"\n{'tight' if tight else 'easy'}: {len(some)} events; % of all dishes; minutes")
        heads = ("placed", "ready", "good", "kept", "fresh", "held", "all day")
        print(f"{'':<16}" + "".join(f"{h:>8}" for h in heads))
        for name in some[0].scored:
            mean = _mean([r.scored[name] for r in some])
            shares = "".join(
                f"{100 * x:>8.1f}"
                for x in (mean.placed, mean.ready, mean.good, mean.kept, mean.fresh)
            )
            print(f"{name:<16}{shares}{mean.held_min:>8.0f}{100 * mean.whole:>8.1f}")
        _show_gap(some, "ours")
    told = [t for r in rows for t in r.told]
    print("\ntold of 100 → came, % (dishes)")
    _show_told("all", told)
    for kind in sorted({t.kind for t in told}):
        _show_told(kind, [t for t in told if t.kind == kind])
    for low, high in ((0, 15), (15, 40), (40, 101)):
        some_told = [t for t in told if low <= t.cloud_pct < high]
        _show_told(f"cloud {low}-{high - 1} %", some_told)
    for low in range(0, 100, 20):
        _show_told(f"told {low}-{low + 19}", [t for t in told if low <= t.of_100 < low + 20])
    meals = [m for r in rows for m in r.meals]
    if meals:
        said, came = (float(np.mean(x)) for x in zip(*meals, strict=True))
        print(f"{'whole meals':<22}{said:>6.1f} → {100 * came:<6.1f}({len(meals)})")


def _show_gap(rows: Sequence[Row], name: str) -> None:
    """Print by how much one planner beats the others, paired, and on how many events."""
    for other in rows[0].scored:
        if other in (name, "rescued", "beside", "knew") or other.startswith("no luck"):
            continue
        for what in ("good", "kept"):
            gap = [
                100 * (getattr(r.scored[name], what) - getattr(r.scored[other], what)) for r in rows
            ]
            error = 1.96 * float(np.std(gap)) / len(gap) ** 0.5
            worse = [f"{r.seed}:{g:.0f}" for r, g in zip(rows, gap, strict=True) if g < -1]
            won = f"{np.mean(gap):+.1f} ± {error:.1f}"
            print(f"{name} - {other}, {what}: {won}; worse on {len(worse)}", *worse)


def _show_told(name: str, told: Sequence[Told]) -> None:
    if told:
        said = float(np.mean([t.of_100 for t in told]))
        print(
            f"{name:<22}{said:>6.1f} → {100 * np.mean([t.came for t in told]):<6.1f}({len(told)})"
        )


def _option(name: str) -> str | None:
    found = [a.split("=", 1)[1] for a in sys.argv if a.startswith(f"--{name}=")]
    return found[0] if found else None


def _draw_by(seed: int) -> None:
    drawn.DRAWS_SEED = seed


def main() -> None:
    """Try, and print the tables."""
    sizes = [int(a) for a in sys.argv[1:] if not a.startswith("--")]
    events, days = (*sizes, *(40, 20)[len(sizes) :])
    first = int(_option("from") or 0)
    seeds = range(first, first + events)
    tables = _option("tables")
    if tables is not None:
        for seed in seeds:
            (Path(tables) / f"{seed}.json").write_text(json.dumps(event_table(seed)))
        return
    n = len(seeds)
    arguments = ([days] * n, [int(_option("knew") or 0)] * n, [_option("plans")] * n)
    seed = int(_option("seed") or drawn.DRAWS_SEED)
    with ProcessPoolExecutor(int(_option("workers") or 2), None, _draw_by, (seed,)) as pool:
        rows = [r for r in pool.map(tried, seeds, *arguments) if r]
    print(f"{len(rows)} events x {days} days")
    show(rows)


if __name__ == "__main__":
    main()
