"""What is too long for every check: `python -m tests.long [part …]`.

kill     the service is killed hard while it plans, again and again: no accepted event is lost
solvers  solver processes are killed while they plan: every plan still comes
random   many random events: each plan is clean in check and replay, or the event is refused
load     one server, many readers at once
"""

from __future__ import annotations

import json
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

from events.errors import FaultyEvent
from events.files import sample_text
from solver.planning import make_plan
from tests.scale import grown

COMMAND = [sys.executable, "-c", "from service.cli import main; main()", "serve"]


class Server:
    """A real server process on a data directory."""

    def __init__(self, data: Path) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        words = ["--open", "--port", str(self.port), "--data", str(data)]
        self.log = (data / f"log-{self.port}").open("w")
        self.child = subprocess.Popen(
            COMMAND + words, stdout=self.log, stderr=self.log, start_new_session=True
        )
        for _ in range(300):
            try:
                self.get("/api/events")
                return
            except OSError:
                time.sleep(0.1)
        raise AssertionError("the server did not start")

    def get(self, path: str) -> object:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=60) as answer:
            return json.load(answer)

    def put_in(self, text: str) -> str:
        request = urllib.request.Request(
            f"http://127.0.0.1:{self.port}/api/events",
            text.encode(),
            {"content-type": "application/toml"},
        )
        with urllib.request.urlopen(request, timeout=60) as answer:
            return str(json.load(answer)["id"])

    def kill(self) -> None:
        """Stop the server and its solvers as a power cut would."""
        os.killpg(self.child.pid, signal.SIGKILL)
        self.child.wait()

    def stop(self) -> None:
        """Stop the server as Ctrl-C does."""
        os.killpg(self.child.pid, signal.SIGTERM)
        self.child.wait(20)


def _wait(server: Server, names: list[str], limit_s: float = 240) -> None:
    until = time.monotonic() + limit_s
    for name in names:
        while True:
            answer = server.get(f"/api/events/{name}/plan")
            assert isinstance(answer, dict)
            if answer["state"] == "done":
                break
            assert time.monotonic() < until, f"no plan for {name}"
            time.sleep(0.2)


def kill() -> str:
    """Kill the whole service six times while it plans; every accepted event gets its plan."""
    text = sample_text("school-day")
    names: list[str] = []
    with tempfile.TemporaryDirectory() as data:
        for turn in range(6):
            server = Server(Path(data))
            for k in range(3):
                names.append(server.put_in(text.replace("School day", f"Day {turn} {k}")))
            time.sleep(random.Random(turn).random() * 1.5)
            server.kill()
        server = Server(Path(data))
        _wait(server, names)
        server.stop()
    return f"6 hard kills, {len(names)} events accepted, {len(names)} plans there"


def solvers() -> str:
    """Kill solver processes while they plan; the plans still come."""
    with tempfile.TemporaryDirectory() as data:
        server = Server(Path(data))
        names = []
        for k in range(4):
            text = sample_text("school-day").replace("School day", f"D {k}")
            names.append(server.put_in(text))
            time.sleep(0.7)
            found = subprocess.run(
                ["pgrep", "-P", str(server.child.pid)], capture_output=True, text=True, check=False
            )
            pids = [int(p) for p in found.stdout.split()]
            for pid in pids[-1:]:
                os.kill(pid, signal.SIGKILL)
        _wait(server, names)
        server.stop()
    return f"a solver killed after each of {len(names)} events, {len(names)} plans there"


def many_random() -> str:
    """Plan 120 random events; PlanBroken would be a bug of ours."""
    luck = np.random.default_rng(11)
    planned = placed = asked = 0
    for _ in range(120):
        try:
            event = grown(
                int(luck.integers(2, 12)),
                int(luck.integers(2, 9)),
                int(luck.integers(1, 5)),
                full=int(luck.integers(0, 25)),
            )
        except FaultyEvent:
            continue
        site = event.site.model_copy(
            update={
                "latitude_deg": float(luck.uniform(-55, 60)),
                "altitude_m": float(luck.uniform(0, 3500)),
                "turbidity": float(luck.uniform(2, 6)),
            }
        )
        hours = tuple(
            h.model_copy(update={"cloud_pct": float(luck.uniform(0, 90))})
            for h in event.weather.hours
        )
        weather = event.weather.model_copy(update={"hours": hours})
        plan = make_plan(event.model_copy(update={"site": site, "weather": weather}))
        planned += 1
        placed += len({p.dish_id for p in plan.placements})
        asked += len(event.dishes)
    return f"{planned} random events planned clean; {placed} of {asked} dishes placed"


def load() -> str:
    """Read pages with 40 at once while a plan is made; the slowest of 95 in 100 is reported."""
    with tempfile.TemporaryDirectory() as data:
        server = Server(Path(data))
        name = server.put_in(sample_text("harvest-lunch"))
        _wait(server, [name])
        server.put_in(sample_text("cook-off"))
        pages = [f"/e/{name}", f"/e/{name}/jobs/asta", f"/e/{name}/stations/mirror-1"]

        def read(k: int) -> float:
            began = time.perf_counter()
            url = f"http://127.0.0.1:{server.port}{pages[k % len(pages)]}"
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


PARTS: dict[str, Callable[[], str]] = {
    "kill": kill,
    "solvers": solvers,
    "random": many_random,
    "load": load,
}


def main() -> None:
    """Run the parts that are named, or all."""
    for name in sys.argv[1:] or PARTS:
        began = time.perf_counter()
        said = PARTS[name]()
        print(f"{name}: {said} [{time.perf_counter() - began:.0f} s]", flush=True)


if __name__ == "__main__":
    main()
