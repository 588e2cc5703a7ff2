"""The speeds of this machine: `python -m tests.bench [--large]`.

Medians of several runs, each beside a baseline taken in the same run (a fixed piece of numpy
work), so that machines and days can be compared by ratio.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np

from events.files import read_event, sample_text
from solver.asking import ask
from solver.estimate import make_day
from solver.options import find_ways
from solver.planning import make_plan, windows
from solver.timetable.solve import solve
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


def main() -> None:
    """Print the table."""
    base = seconds(baseline, 7)
    print(f"{'':<44} {'median':>10}  {'to base':>10}  target")
    row("baseline", base, base)
    event = read_event(sample_text("harvest-lunch"))
    row("sun windows, site and cookers", seconds(lambda: windows(event), 5), base, "0.02 a window")
    sizes = [(6, 4, 2, "0.1"), (15, 10, 3, "0.5"), (40, 20, 5, "3")]
    if "--large" in sys.argv:
        sizes.append((120, 60, 12, "20"))
    for dishes, cookers, helpers, target in sizes:
        for kind, full in (("easy", 0), ("tight", 8), ("overfull", 20)):
            if dishes > 40 and full:
                continue
            _size(grown(dishes, cookers, helpers, full=full), kind, base, target)
    for name in ("harvest-lunch", "school-day", "cook-off", "winter-refusal"):
        sample = read_event(sample_text(name))
        row(f"plan {name}, warm", seconds(lambda s=sample: make_plan(s), 3), base)  # type: ignore[misc]
    command = [
        sys.executable,
        "-c",
        "from service.cli import main; main()",
        "plan",
        "harvest-lunch",
    ]
    cold = seconds(lambda: subprocess.run(command, capture_output=True, check=True), 3)
    row("noonfare plan harvest-lunch, cold", cold, base, "2")


def _size(event: object, kind: str, base: float, target: str) -> None:
    from events.model import Event

    assert isinstance(event, Event)
    name = f"{len(event.dishes)}x{len(event.cookers)}x{len(event.helpers)} {kind}"
    day = make_day(event)
    runs = 3 if len(event.dishes) <= 40 else 1
    row(f"{name}: estimates and columns", seconds(lambda: find_ways(day), runs), base)
    found = find_ways(day)
    question = ask(day, found)
    answer = solve(question)
    took = seconds(lambda: solve(question), runs)
    placed = {b.dish.id for k in answer.chosen for b in found.ways[k].batches}
    proven = sum(level.proven for level in answer.levels)
    row(f"{name}: model and solve", took, base, target)
    print(
        f"{'':<10} {len(question.options)} options, {len(placed)} of {len(event.dishes)} dishes "
        f"placed, {proven} of {len(answer.levels)} levels proven"
    )


if __name__ == "__main__":
    main()
