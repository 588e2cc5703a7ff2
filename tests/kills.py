"""The service is killed hard, again and again: what it acknowledged is there, once, and planned.

Parts of `python -m tests.long`: `kill` on SQLite, `kill-postgres` on a server started here. Each
life of the service ends by kill -9 at a moment drawn by its number: while it starts, while presses
come in from three phones and an event is put in, or while it plans. A phone sends what was not
acknowledged again, under the same id, as ours do.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import tempfile
import time
import urllib.error
import urllib.request
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from events.reading.samples import sample_text
from tests.postgres import postgres_server
from tests.process import ServiceProcess

PORT = 54337
MINUTES = float(os.environ.get("NOONFARE_TEST_MINUTES", "15"))
PHONES = 3
EVENT_EVERY = 8  # lives
OPTIONS = ("--open", "--solvers", "1")  # fewer processes start sooner
DAY = sample_text("school-day")


@dataclass
class Sent:
    """What was sent in all lives, and what was acknowledged of it."""

    starts_killed: int = 0
    kills: int = 0
    presses: set[str] = field(default_factory=set)
    again: int = 0
    events: list[str] = field(default_factory=list)


def post(service: ServiceProcess, path: str, body: str, kind: str) -> bytes | None:
    """Send something; None where the service was killed before it had acknowledged it."""
    request = urllib.request.Request(service.base + path, body.encode(), {"content-type": kind})
    try:
        with urllib.request.urlopen(request, timeout=20) as answer:
            return bytes(answer.read())
    except urllib.error.HTTPError as refused:
        assert refused.code in (500, 503), refused.code  # a database that starts again
        return None
    except (OSError, ValueError, http.client.HTTPException):
        return None


def press(service: ServiceProcess, name: str, key: str) -> bool:
    """Write a note into a day's diary; return whether it was acknowledged."""
    body = {"id": key, "kind": "note", "at": "2027-06-10T09:00:00Z", "note": key}
    path = f"/api/events/{name}/diary"
    return post(service, path, json.dumps(body), "application/json") is not None


def _life(data: Path, name: str, sent: Sent, number: int) -> None:
    """Start the service, send to it, kill it at a moment drawn by its number."""
    dice = random.Random(number)
    service = ServiceProcess(data, *OPTIONS, ready=False)
    if number % 10 == 9:
        time.sleep(dice.random() * 4)  # in the middle of its start
        sent.starts_killed += 1
        service.kill()
        return
    service.wait_until_ready()
    puts_in = number % EVENT_EVERY == 0
    ends = time.monotonic() + 0.2 + dice.random() * (8 if puts_in else 1)

    def phone(k: int) -> tuple[set[str], int]:
        acknowledged, again = set[str](), 0
        for n in range(100_000):
            key = f"life{number:05d}-{k}-{n:05d}"
            if not press(service, name, key):
                break
            acknowledged.add(key)
            if n % 7 == 0:  # the answer was lost on the way: sent once more
                again += press(service, name, key)
        return acknowledged, again

    with ThreadPoolExecutor(PHONES + 1) as hands:
        phones = [hands.submit(phone, k) for k in range(PHONES)]
        if puts_in:
            text = DAY.replace("School day", f"Day {number}")
            made = hands.submit(post, service, "/api/events", text, "application/toml")
        time.sleep(max(0.0, ends - time.monotonic()))
        service.kill()
        for one in phones:
            acknowledged, again = one.result()
            sent.presses |= acknowledged
            sent.again += again
        if puts_in and (answer := made.result()) is not None:
            sent.events.append(str(json.loads(answer)["id"]))
    sent.kills += 1


def _killed(data: Path) -> str:
    sent, began, number = Sent(), time.monotonic(), 0
    service = ServiceProcess(data, *OPTIONS)
    name = service.put_in(DAY)
    service.wait_for_plans(name)
    service.stop()
    while time.monotonic() - began < MINUTES * 60:
        _life(data, name, sent, number)
        number += 1
    service = ServiceProcess(data, *OPTIONS)
    diary = service.get(f"/api/events/{name}/diary")
    assert isinstance(diary, list)
    stored = Counter(entry["stored"]["entry"]["id"] for entry in diary)
    numbers = [entry["stored"]["number"] for entry in diary]
    service.wait_for_plans(*sent.events)
    service.stop()
    lost = sorted(sent.presses - stored.keys())
    doubled = [key for key, times in stored.items() if times > 1]
    said = (
        f"{sent.kills} kills at work, {sent.starts_killed} while starting; "
        f"{len(sent.presses)} presses acknowledged ({sent.again} sent twice), {len(lost)} lost, "
        f"{len(doubled)} doubled; {len(sent.events)} events accepted, all planned"
    )
    assert not lost, (said, lost[:5])
    assert not doubled, (said, doubled[:5])
    assert len(numbers) == len(set(numbers)), said
    return said


def kill() -> str:
    """Kill a service on SQLite."""
    with tempfile.TemporaryDirectory() as folder:
        return _killed(Path(folder))


def kill_postgres() -> str:
    """Kill a service on PostgreSQL."""
    with postgres_server(PORT) as server, tempfile.TemporaryDirectory() as folder:
        os.environ["NOONFARE_DATABASE"] = server.database("noonfare")
        try:
            return _killed(Path(folder))
        finally:
            del os.environ["NOONFARE_DATABASE"]


PARTS: dict[str, Callable[[], str]] = {"kill": kill, "kill-postgres": kill_postgres}
