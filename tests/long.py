"""What is too long for every check: `python -m tests.long [part …]`.

kill     the service is killed hard 500 times while presses and events come in, while it starts and
         while it brings an old database forward: nothing it acknowledged is lost or doubled;
         kill-postgres the same on PostgreSQL
solvers  solver processes are killed while they plan: every plan still comes
wild     events that nobody made by hand, planned, pressed and planned again; all their pages
schema   300 requests to each route of the API, and in sequences: each answer is one it promises
load     one server, many readers at once
postgres the tests of store and service once more, on a PostgreSQL started here
typing   the planner's minutes while plans are solved: how long they take
edits    200 random edits in a row on each of four events: a plan is always shown; which edits fail
tiny     200 tiny events: our optimum is the exhaustive search's, and another solver's
calendar a plan is changed 100 times: each subscribed calendar equals it after each change
held     300 cloudy, windy events: no hot dish is cold at its last plate, in a world of its own
demos    what talks show, in that world: seen as often as told
cook-offs random contests there: entries hot, safe, within the rule, ready as often as told
phones   a day of eight helpers' phones on a bad network, 2,000 presses: none lost, none doubled
mutants  single-point breaks of the rules: which do the tests not notice? [module …] for all of one
hostile  ten hostile bodies of each kind, other pages meanwhile
flood    forty cook-offs by one client: when another's plan and a day's re-plan come
crowd    500 phones listen and press beside solves: presses, pages, news, memory
lines    two thousand open lines: what they cost, and how late news are
machines two services and two workers on one PostgreSQL, killed one after the other
throughput plans of the cook-off a minute, with one, two and four solver processes
streams  50 phones that listen, a solve beside them: how long pages take, how late news are
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from events.reading.event_file import read_event
from events.reading.samples import sample_text
from service.application.lanes import ALL_LANES
from service.application.solver_jobs import job_payload, plan_job
from service.application.solver_pool import Limits, SolverPool
from solver.scheduling.lexicographic import solve
from tests import hostile, kills
from tests.app import Door
from tests.calendars import followed
from tests.cook_offs import cook_offs
from tests.crowd import crowd
from tests.demos import demos
from tests.edit_run import edited
from tests.edits import starting_events
from tests.held import held
from tests.machines import machines
from tests.mutation import mutate
from tests.peer import highs
from tests.phones_day import phones_day
from tests.postgres import FORGETFUL, postgres_server
from tests.process import ServiceProcess
from tests.slow_line import slow_line
from tests.tiny import compare, problem_of, score, tiny_event
from tests.wild import wild


def _service(data: str) -> ServiceProcess:
    return ServiceProcess(Path(data), "--open")


def solvers() -> str:
    """Kill what solvers are forked from, then each of them, while they plan: plans come."""
    with tempfile.TemporaryDirectory() as data:
        server = _service(data)
        for k in range(10):
            name = server.put_in(sample_text("school-day").replace("School day", f"D {k}"))
            time.sleep(0.3)
            _tracker, *processes = hostile.children(server.child.pid)
            os.kill(processes[k % len(processes)], signal.SIGKILL)
            server.wait_for_plans(name)
        server.stop()
    return "one of its processes killed after each of 10 events, 10 plans there"


def random_edits() -> str:
    """Edit four events 200 times each, in bursts, as an organiser does who doesn't wait."""
    with tempfile.TemporaryDirectory() as data:
        server = _service(data)
        runs = []
        for name, event in starting_events().items():
            runs.append(edited(server, name, event))
            print(f"  {runs[-1]}", *runs[-1].late, sep="\n    ", flush=True)
        server.stop()
    failed = [line for run in runs for line in run.failed]
    assert not failed, failed
    assert not any(run.without_plan for run in runs)
    return f"{sum(run.edits for run in runs)} edits, a plan on the page after each, none failed"


def load() -> str:
    """Read pages with 40 at once while a plan is made; the slowest of 95 in 100 is reported."""
    with tempfile.TemporaryDirectory() as data:
        server = _service(data)
        name = server.put_in(sample_text("harvest-lunch"))
        server.wait_for_plans(name)
        server.put_in(sample_text("cook-off"))
        pages = [f"/e/{name}", f"/e/{name}/jobs/asta", f"/e/{name}/stations/mirror-1"]

        def read(k: int) -> float:
            began = time.perf_counter()
            url = f"{server.base}{pages[k % len(pages)]}"
            with urllib.request.urlopen(url, timeout=60) as answer:
                assert answer.status == 200
                answer.read()
            return time.perf_counter() - began

        began = time.perf_counter()
        with ThreadPoolExecutor(40) as crowd:
            took = sorted(crowd.map(read, range(1200)))
        total = time.perf_counter() - began
        server.stop()
    return (
        f"1200 pages by 40 at once in {total:.1f} s ({1200 / total:.0f} a second), "
        f"half within {took[600] * 1000:.0f} ms, 95 of 100 within {took[1140] * 1000:.0f} ms"
    )


def postgres() -> str:
    """Start a PostgreSQL of our own and run the tests of store and service on it."""
    with postgres_server(more=FORGETFUL) as server:
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-v", "tests/events", "tests/service"],
            env={**os.environ, "NOONFARE_TEST_DATABASE": server.url},
            capture_output=True,
            text=True,
            check=False,
        )
    assert run.returncode == 0, run.stdout[-3000:]
    return run.stdout.strip().splitlines()[-1] or "passed on PostgreSQL"


def schema() -> str:
    """Send each operation 300 requests, and 300 sequences of requests that follow from answers."""
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "tests/service/test_schema.py"],
        env={**os.environ, "NOONFARE_TEST_EXAMPLES": "300"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout[-6000:]
    return run.stdout.strip().splitlines()[-1]


def streams() -> str:
    """Let 50 phones listen while a plan is solved; measure pages and news meanwhile."""
    with tempfile.TemporaryDirectory() as data:
        server = _service(data)
        name = server.put_in(sample_text("harvest-lunch"))
        server.wait_for_plans(name)
        live = f"{server.base}/e/{name}/live"
        lines = [urllib.request.urlopen(live) for _ in range(50)]
        pages: list[float] = []
        news: list[float] = []
        for turn in range(300):
            if turn % 30 == 0:  # so that there is always a solve on
                server.put_in(sample_text("cook-off").replace("Sun cook-off", f"Day {turn}"))
                news.append(_news_after_s(server, name, f"press-{turn:04d}"))
            began = time.perf_counter()
            with urllib.request.urlopen(f"{server.base}/e/{name}/jobs/asta") as answer:
                answer.read()
            pages.append(time.perf_counter() - began)
            time.sleep(0.1)
        for line in lines:
            line.close()
        server.stop()
    pages.sort()
    return (
        f"50 phones listening beside solves: half of 300 pages within {pages[150] * 1000:.0f} ms, "
        f"99 of 100 within {pages[297] * 1000:.0f} ms; 10 news within {max(news):.2f} s"
    )


def _news_after_s(server: ServiceProcess, name: str, key: str) -> float:
    """Return how long after a press a phone's line brings the news of it."""
    with urllib.request.urlopen(f"{server.base}/e/{name}/live") as line:

        def next_news() -> None:
            while line.readline().strip() != b"event: news":
                pass

        next_news()  # where it stands
        began = time.perf_counter()
        assert kills.press(server, name, key)
        next_news()
        return time.perf_counter() - began


def typing() -> str:
    """Type in the planner while plans are solved: how long until the minutes follow."""
    with tempfile.TemporaryDirectory() as data:
        server = _service(data)
        name = server.put_in(sample_text("harvest-lunch"))
        server.wait_for_plans(name)
        took: list[float] = []
        for turn in range(100):
            if turn % 20 == 0:
                server.put_in(sample_text("cook-off").replace("Sun cook-off", f"Day {turn}"))
            form = f"picked=rice&rice.id=rice&rice.portions={10 + turn % 20}"
            url = f"{server.base}/e/{name}/try/dishes"
            kind = {"content-type": "application/x-www-form-urlencoded"}
            request = urllib.request.Request(url, form.encode(), kind)
            began = time.perf_counter()
            with urllib.request.urlopen(request, timeout=60) as answer:
                answer.read()
            took.append(time.perf_counter() - began)
        server.stop()
    took.sort()
    return (
        f"100 keystrokes beside a solve: half within {took[50] * 1000:.0f} ms, "
        f"95 of 100 within {took[95] * 1000:.0f} ms"
    )


def tiny() -> str:
    """Search 200 tiny events exhaustively; count those that greedy choice does not solve."""
    events, worse = compare(range(200))
    for seed in range(50):
        q = problem_of(tiny_event(seed))
        chosen = [q.columns[k] for k in solve(q).chosen]
        peer, ours = highs(q), score(q, chosen)
        assert peer.proven
        assert peer.costs == ours[1:], seed
    return f"{events} events as by exhaustive search, 50 as by HiGHS; greedy fails on {worse}"


def throughput() -> str:
    """Plan the cook-off eight times each with one, two and four solver processes."""
    payload, said = job_payload(read_event(sample_text("cook-off"))), []
    for count in (1, 2, 4):
        pool = SolverPool([ALL_LANES] * count, Limits(work_s=3600.0))
        # Each has begun, and has solved once, before time is taken.
        for future in [pool.submit(plan_job, payload) for _ in range(count)]:
            assert future.result().state == "done"
        began = time.perf_counter()
        for future in [pool.submit(plan_job, payload) for _ in range(8)]:
            assert future.result().state == "done"
        said.append(f"{8 * 60 / (time.perf_counter() - began):.1f} with {count}")
        pool.close()
    return f"plans of the cook-off a minute: {', '.join(said)} (load {os.getloadavg()[0]:.0f})"


def calendar() -> str:
    """Change a plan a hundred times; each subscribed calendar equals it after each change."""
    with tempfile.TemporaryDirectory() as folder:
        door = Door(Path(folder))
        return door(lambda client: followed(door, client, 100))


PARTS: dict[str, Callable[[], str]] = {
    "calendar": calendar,
    "crowd": crowd,
    **kills.PARTS,
    "solvers": solvers,
    "wild": wild,
    "held": held,
    "demos": demos,
    "cook-offs": cook_offs,
    "load": load,
    "mutants": mutate,
    "phones": phones_day,
    "postgres": postgres,
    "schema": schema,
    "streams": streams,
    "throughput": throughput,
    "edits": random_edits,
    "tiny": tiny,
    "typing": typing,
    "slow-line": slow_line,
    **hostile.PARTS,
    "machines": machines,
}


def main() -> None:
    """Run the parts that are named, or all."""
    said = sys.argv[1:]
    other = [word for word in said if word not in PARTS]  # which breaks, for mutants
    if other and "mutants" not in said:
        sys.exit(f"No part is called {', '.join(other)}. Parts: {', '.join(PARTS)}.")
    for name in [word for word in said if word in PARTS] or PARTS:
        began = time.perf_counter()
        found = PARTS[name]()
        print(f"{name}: {found} [{time.perf_counter() - began:.0f} s]", flush=True)


if __name__ == "__main__":
    main()
