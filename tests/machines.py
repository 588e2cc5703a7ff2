"""Two services and two workers on one PostgreSQL, killed one at a time: nothing is lost.

A part of `python -m tests.long`; the server is started here and ends here.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from itertools import count
from pathlib import Path
from threading import Event, Thread

import sqlalchemy as sa

from events.reading.samples import sample_text
from tests import kills
from tests.postgres import Server, postgres_server
from tests.process import COMMAND, ServiceProcess

PORT = 54335


class Workers:
    """Two workers; one that ends is started again, as systemd does."""

    def __init__(self, log: Path) -> None:
        self._log, self._over = log, Event()
        self._workers = [self._started() for _ in range(2)]
        self._thread = Thread(target=self._look_after)
        self._thread.start()

    def kill(self, number: int) -> None:
        """End one as a power cut would."""
        os.killpg(self._workers[number].pid, signal.SIGKILL)

    def stop(self) -> list[int]:
        """Stop both; return how they ended."""
        self._over.set()
        self._thread.join()
        for worker in self._workers:
            with suppress(ProcessLookupError):
                os.killpg(worker.pid, signal.SIGTERM)
        return [worker.wait() for worker in self._workers]

    def _look_after(self) -> None:
        while not self._over.wait(1.0):
            self._workers = [w if w.poll() is None else self._started() for w in self._workers]

    def _started(self) -> subprocess.Popen[bytes]:
        with self._log.open("a") as out:
            return subprocess.Popen(
                [*COMMAND, "worker"], stdout=out, stderr=out, start_new_session=True
            )


def _planned_after_s(service: ServiceProcess, name: str) -> float:
    began = time.perf_counter()
    service.wait_for_plans(name)
    return time.perf_counter() - began


def _put_in(service: ServiceProcess, text: str) -> str:
    """Put an event in; a database that starts again is waited for."""
    while True:
        try:
            return service.put_in(text)
        except urllib.error.HTTPError as refused:
            assert refused.code in (500, 503), refused.code
            time.sleep(0.5)  # another process starts: there is nothing else to wait on


def _diary_of(line: bytes) -> int:
    """Return the diary's length by a line of news; 0 by any other."""
    if not line.startswith(b"data: {"):
        return 0
    return int(json.loads(line[6:]).get("diary", 0))


def _news_after_s(pressed: ServiceProcess, listening: ServiceProcess, name: str, key: str) -> float:
    """Return how long after a press at one service a line of the other brings the news."""
    with urllib.request.urlopen(f"{listening.base}/e/{name}/live") as line:
        while b"event: news" not in line.readline():
            pass
        began = time.perf_counter()
        body = {"id": key, "kind": "note", "at": "2027-06-10T09:00:00Z"}
        path = f"/api/events/{name}/diary"
        answer = kills.post(pressed, path, json.dumps(body), "application/json")
        assert answer is not None
        number = json.loads(answer)["stored"]["number"]
        while _diary_of(line.readline()) < number:
            pass
        return time.perf_counter() - began


def _presses(services: list[ServiceProcess], name: str, over: Event) -> set[str]:
    """Press at whichever service answers, again where it did not; return what was acknowledged."""
    acknowledged = set[str]()
    for number in count():
        key = f"press-{number:06d}"
        while not over.is_set():
            if kills.press(services[number % len(services)], name, key):
                acknowledged.add(key)
                break
            over.wait(0.2)
        if over.wait(0.1):
            return acknowledged
    raise AssertionError  # there is always another number


def machines() -> str:
    """Plan on two workers; kill a worker, a service and PostgreSQL while a plan is made."""
    day, long_day = sample_text("school-day"), sample_text("cook-off")
    with postgres_server(PORT) as server, tempfile.TemporaryDirectory() as folder:
        os.environ["NOONFARE_DATABASE"] = server.database("noonfare")
        os.environ["NOONFARE_QUEUE"] = "postgres"
        data, log, over = Path(folder), Path(folder) / "worker.log", Event()
        first, second = (ServiceProcess(data, "--open") for _ in range(2))
        workers = Workers(log)
        services, news = [first, second], dict[str, float]()
        try:
            name = first.put_in(day)
            after = {"as usual": _planned_after_s(second, name)}
            hands = ThreadPoolExecutor(1)
            pressed = hands.submit(_presses, services, name, over)

            for number, what in enumerate(("a worker", "the other worker")):
                planned = first.put_in(long_day.replace("Sun cook-off", f"Day {number}"))
                _wait_until_begun(server)
                workers.kill(number)
                after[f"{what} killed"] = _planned_after_s(second, planned)
                news[what] = _news_after_s(first, second, name, f"worker-{number:04d}")

            planned = first.put_in(day.replace("School day", "Third"))
            first.kill()
            after["a service killed"] = _planned_after_s(second, planned)
            first = services[0] = ServiceProcess(data, "--open")
            news["a service"] = _news_after_s(first, second, name, "service-0001")

            planned = _put_in(second, long_day.replace("Sun cook-off", "Fourth"))
            _wait_until_begun(server)
            server.restart()
            after["PostgreSQL restarted"] = _planned_after_s(second, planned)
            news["PostgreSQL"] = _news_after_s(first, second, name, "postgres-0001")
            over.set()
            acknowledged = pressed.result()
            diary = second.get(f"/api/events/{name}/diary")
        finally:
            over.set()
            ended = workers.stop()
            for service in services:
                service.stop()
            del os.environ["NOONFARE_DATABASE"], os.environ["NOONFARE_QUEUE"]
    assert isinstance(diary, list)
    stored = Counter(entry["stored"]["entry"]["id"] for entry in diary)
    lost = acknowledged - stored.keys()
    assert not lost, sorted(lost)[:5]
    assert max(stored.values()) == 1
    plans = ", ".join(f"{what} after {took_s:.0f} s" for what, took_s in after.items())
    late = ", ".join(f"{what} {took_s:.2f} s" for what, took_s in news.items())
    return (
        f"plans: {plans}; news on the other service after the loss of {late}; "
        f"{len(acknowledged)} presses acknowledged, none lost or doubled; workers ended {ended}"
    )


def _wait_until_begun(server: Server) -> None:
    """Wait until a worker is at something."""
    engine = sa.create_engine(f"{server.url}/noonfare")
    begun = sa.text("SELECT count(*) FROM work WHERE state = 'running'")
    while True:
        with engine.connect() as db:
            if db.execute(begun).scalar_one():
                break
        time.sleep(0.05)  # another process begins: there is nothing else to wait on
    engine.dispose()
