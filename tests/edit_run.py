"""One event edited again and again through the service: is a plan always shown, does one fail?"""

from __future__ import annotations

import json
import re
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from random import Random

from events.model import Event
from events.reading.write import write_event
from tests.edits import edits
from tests.process import ServiceProcess

EDITS, BURST_MOST = 200, 4
LATE_S = 2.0  # a plan may come so much later than planning its version takes
TOOK = re.compile(r"Usually takes about (\d+) s here")  # what the event's last plan took
SHOWN = 'class="wide"'  # the day's picture


@dataclass
class EditRun:
    """What came of the edits of one event."""

    name: str
    edits: int = 0
    refused: int = 0  # too large a day, or against a rule: the page says so, the plan stays
    plans: int = 0
    without_plan: int = 0
    failed: list[str] = field(default_factory=list)
    waited_s: list[float] = field(default_factory=list)  # from the last edit of a burst to its plan
    late: list[str] = field(default_factory=list)

    def see_late(self, took_s: int) -> None:
        """Note the last plan as late where it came long after it could; its seconds are rounded."""
        if self.waited_s and self.waited_s[-1] > took_s + 0.5 + LATE_S:
            self.late.append(f"before edit {self.edits}: {self.waited_s[-1]:.1f} s, not {took_s} s")

    def __str__(self) -> str:
        waits = sorted(self.waited_s) or [0.0]
        return (
            f"{self.name}: {self.edits} edits ({self.refused} refused), {self.plans} plans, "
            f"{len(self.failed)} failed, {self.without_plan} pages without a plan; "
            f"half within {waits[len(waits) // 2]:.1f} s, all within {waits[-1]:.1f} s, "
            f"{len(self.late)} over {LATE_S:.0f} s later than their own planning"
        )


def edited(server: ServiceProcess, name: str, event: Event, *, most: int = EDITS) -> EditRun:
    """Edit an event in bursts; after each edit look at its day, after each burst wait."""
    run, dice = EditRun(name), Random(7)
    event_id = server.put_in(write_event(event))
    server.wait_for_plans(event_id)
    versions = islice(edits(event, seed=7), most)
    while burst := list(islice(versions, dice.randint(1, BURST_MOST))):
        began, waiting = time.perf_counter(), False
        for version in burst:
            run.edits += 1
            if not _put(server, event_id, version):
                run.refused += 1
                continue
            began, page = time.perf_counter(), _text(server, f"/e/{event_id}")
            run.without_plan += SHOWN not in page
            if not waiting and (told := TOOK.search(page)):
                run.see_late(int(told[1]))
            waiting = True
        if waiting:
            run.plans += 1
            if failure := _waited_for(server, event_id, run):
                run.failed.append(f"{name}, edit {run.edits}: {failure}")
            run.waited_s.append(time.perf_counter() - began)
    return run


def _waited_for(server: ServiceProcess, event_id: str, run: EditRun) -> str:
    """Wait for a plan, the page looked at meanwhile; return what broke, or nothing."""
    for failure in _outcomes(server, event_id):
        if failure is not None:
            return failure
        run.without_plan += SHOWN not in _text(server, f"/e/{event_id}")
    raise AssertionError("outcomes have no end")


def _put(server: ServiceProcess, event_id: str, event: Event) -> bool:
    """Send a version of an event; return whether it was taken."""
    with urllib.request.urlopen(f"{server.base}/api/events/{event_id}") as answer:
        etag = answer.headers["etag"]
    request = urllib.request.Request(
        f"{server.base}/api/events/{event_id}",
        write_event(event).encode(),
        {"content-type": "application/toml", "if-match": etag},
        method="PUT",
    )
    try:
        with urllib.request.urlopen(request) as answer:
            return bool(answer.status == 200)
    except urllib.error.HTTPError as refusal:
        assert refusal.code == 422, refusal.read()
        return False


def _text(server: ServiceProcess, path: str) -> str:
    request = urllib.request.Request(server.base + path, headers={"accept": "text/html"})
    with urllib.request.urlopen(request) as answer:
        return str(answer.read().decode())


def _outcomes(server: ServiceProcess, event_id: str) -> Iterator[str | None]:
    """Yield None while a plan is worked out; then nothing where it is done, or what broke."""
    while True:
        try:
            with urllib.request.urlopen(f"{server.base}/api/events/{event_id}/plan") as answer:
                if answer.status == 200:
                    yield ""
                answer.read()
        except urllib.error.HTTPError as failure:
            yield str(json.load(failure).get("detail", failure.code))
        yield None
        time.sleep(0.2)  # solvers of another process: there is nothing else to wait on
