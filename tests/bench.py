"""The speeds of this machine: `python -m tests.bench [--large | --ratios | --fair]`.

Medians of several runs, each beside a baseline taken in the same run (a fixed piece of numpy
work), so that machines and days can be compared by ratio.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import datetime
from datetime import time as time_of
from zoneinfo import ZoneInfo

import numpy as np

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from solver.feasibility.dish_matrix import dish_matrix
from solver.feasibility.duration_table import estimates
from solver.live.replan import replan
from solver.planning.pipeline import make_plan
from solver.scheduling.enumeration import enumerate_candidates
from solver.scheduling.formulation import build_problem
from solver.scheduling.integer_model import build
from solver.scheduling.lexicographic import solve
from solver.scheduling.model import rows_of
from solver.simulation.day import make_day
from solver.simulation.durations import estimate
from solver.simulation.query import DurationQuery
from solver.solar.position import position
from solver.solar.windows import windows
from solver.thermal.energy_balance import Load
from solver.thermal.food import specific_heat_kj_kg_k
from tests.fair import compare
from tests.scale import grown


def seconds(work: Callable[[], object], runs: int) -> float:
    """Return the median time of a piece of work."""
    took = []
    for _ in range(runs):
        began = time.perf_counter()
        work()
        took.append(time.perf_counter() - began)
    return statistics.median(took)


def baseline() -> None:
    """Do the fixed piece of work that all is measured against."""
    luck = np.random.default_rng(0)
    a = luck.random((400, 400))
    for _ in range(12):
        a = np.tanh(a @ a.T / 400)


def row(name: str, took: float, base: float, target: str = "") -> None:
    """Print one line of the table."""
    print(f"{name:<44} {took:8.3f} s  {took / base:8.1f} x  {target}", flush=True)


def ratios() -> None:
    """Print how much longer than on a stove each dish takes in each cooker at its best hour.

    The stove: a ring that puts 1.5 kW into the pot (typical), then the recipe's own minutes.
    Common practice says about twice; nothing is tuned to it.
    """
    event = grown(10, 6, 2)
    kinds = ("mirror-140cm", "mirror-120cm", "box-large", "box-hot", "panel-deep", "gas-ring")
    print(f"{'dish':<22}{'stove':>7}" + "".join(f"{k:>15}" for k in kinds))
    names = {d.id: d for d in event.dishes}
    best: dict[tuple[str, str], int] = {}
    for e in estimates(event):
        like = next(c.like for c in event.cookers if c.id == e.cooker_id) or ""
        if e.expected_min is not None:
            key = (e.dish_id, like)
            best[key] = min(best.get(key, 10**6), e.expected_min)
    for dish_id, dish in names.items():
        warm = dish.mass_kg * 1000 * specific_heat_kj_kg_k(dish.composition, 60) * 80 / 1500 / 60
        stove = warm + (dish.ordinary_min or dish.hold_min)
        cells = "".join(
            f"{best[(dish_id, k)] / stove:>15.1f}" if (dish_id, k) in best else f"{'-':>15}"
            for k in kinds
        )
        print(f"{(dish.like or dish_id):<22}{stove:>5.0f} m{cells}")


def main() -> None:
    """Print the table."""
    if "--ratios" in sys.argv:
        ratios()
        return
    if "--fair" in sys.argv:
        compare(15, 10, 3)
        return
    base = seconds(baseline, 7)
    print(f"{'':<44} {'median':>10}  {'to base':>10}  target")
    row("baseline", base, base)
    event = read_event(sample_text("harvest-lunch"))
    row("sun windows, site and cookers", seconds(lambda: _windows(event), 5), base, "0.02 a window")
    sizes = [(6, 4, 2, "0.1"), (15, 10, 3, "0.5"), (40, 20, 5, "3")]
    if "--large" in sys.argv:
        sizes.append((120, 60, 12, "20"))
    for dishes, cookers, helpers, target in sizes:
        for kind, full in (("easy", 0), ("tight", 8), ("overfull", 20)):
            _size(grown(dishes, cookers, helpers, full=full), kind, base, target)
    table = grown(15, 10, 3)
    day = make_day(table)
    asks = [
        DurationQuery(c, Load((d,), (min(d.mass_kg, 3.0),), (table.pots[2],)), starts, 1200)
        for d in table.dishes
        for c in table.cookers
        for starts in [np.arange(540, 1080, 5, dtype=np.int64)]
    ]
    row(
        "estimates 15x10x108 starts, both skies",
        seconds(lambda: estimate(day, asks), 3),
        base,
        "0.3",
    )
    row(
        "planner: one dish's row",
        seconds(lambda: dish_matrix(event, event.dishes[:1]), 5),
        base,
        "0.3",
    )
    for name in ("harvest-lunch", "cook-off"):
        sample = read_event(sample_text(name))
        now = datetime.combine(sample.date, time_of(10, 30), ZoneInfo(sample.site.timezone))
        plan = make_plan(sample)
        took = seconds(lambda e=sample, p=plan, n=now: replan(e, p, [], n), 3)  # type: ignore[misc]
        row(f"re-plan {name}", took, base, "1")
    for name in ("harvest-lunch", "school-day", "cook-off", "winter-refusal"):
        sample = read_event(sample_text(name))
        row(f"plan {name}, warm", seconds(lambda s=sample: make_plan(s), 3), base)  # type: ignore[misc]
    command = [
        sys.executable,
        "-c",
        "from service.cli.main import main; main()",
        "plan",
        "harvest-lunch",
    ]
    cold = seconds(lambda: subprocess.run(command, capture_output=True, check=True), 3)
    row("noonfare plan harvest-lunch, cold", cold, base, "2")


def _windows(event: Event) -> None:
    position.cache_clear()  # a first window, not a second
    windows(event)


def _size(event: Event, kind: str, base: float, target: str) -> None:
    name = f"{len(event.dishes)}x{len(event.cookers)}x{len(event.helpers)} {kind}"
    day = make_day(event)
    runs = 3 if len(event.dishes) <= 40 else 1
    row(f"{name}: estimates and columns", seconds(lambda: enumerate_candidates(day), runs), base)
    found = enumerate_candidates(day)
    problem = build_problem(day, found)
    answer = solve(problem)
    took = seconds(lambda: solve(problem), runs)
    placed = {b.dish.id for k in answer.chosen for b in found.candidates[k].batches}
    proven = sum(level.proven for level in answer.levels)
    row(f"{name}: model and solve", took, base, target)
    whole = range(len(problem.columns))
    row(
        f"{name}: building the whole model",
        seconds(lambda: build(rows_of(problem, whole)), runs),
        base,
    )
    gaps = ", ".join(f"{v.value - v.bound}" for v in answer.levels if not v.proven) or "none"
    print(
        f"{'':<10} {len(problem.columns)} columns, {len(placed)} of {len(event.dishes)} dishes "
        f"placed, {proven} of {len(answer.levels)} levels proven, gaps {gaps}, "
        f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB at most so far"
    )


if __name__ == "__main__":
    main()
