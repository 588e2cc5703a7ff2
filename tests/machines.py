"""Two services and a worker on one PostgreSQL, killed one after the other: nothing is lost.

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
from pathlib import Path

from events.reading.samples import sample_text
from tests.postgres import postgres_server
from tests.process import COMMAND, ServiceProcess

PORT = 54335
PRESS = {"id": "press-00001", "kind": "note", "at": "2027-06-10T09:00:00Z"}


def _worker(log: Path) -> subprocess.Popen[bytes]:
    with log.open("a") as out:
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


def _news_after_s(pressed: ServiceProcess, listening: ServiceProcess, name: str) -> float:
    """Return how long after a press at one service a line of the other brings the news."""
    with urllib.request.urlopen(f"{listening.base}/e/{name}/live") as line:
        while b"event: news" not in line.readline():
            pass
        began = time.perf_counter()
        request = urllib.request.Request(
            f"{pressed.base}/api/events/{name}/diary",
            json.dumps(PRESS).encode(),
            {"content-type": "application/json"},
        )
        urllib.request.urlopen(request).read()
        while b"event: news" not in line.readline():
            pass
        return time.perf_counter() - began


def machines() -> str:
    """Plan on a worker; then kill worker, service and PostgreSQL while a plan is asked for."""
    day = sample_text("school-day")
    with postgres_server(PORT) as server, tempfile.TemporaryDirectory() as folder:
        os.environ["NOONFARE_DATABASE"] = server.database("noonfare")
        os.environ["NOONFARE_QUEUE"] = "postgres"
        data, log = Path(folder), Path(folder) / "worker.log"
        first, second = ServiceProcess(data, "--open"), ServiceProcess(data, "--open")
        worker = _worker(log)
        try:
            name = first.put_in(day)
            after = {"as usual": _planned_after_s(second, name)}
            news_s = _news_after_s(first, second, name)

            name = first.put_in(sample_text("cook-off"))
            time.sleep(2)  # it is being worked at
            os.killpg(worker.pid, signal.SIGKILL)
            worker.wait()
            worker = _worker(log)
            after["worker killed"] = _planned_after_s(second, name)

            name = first.put_in(day.replace("School day", "Third"))
            first.kill()
            after["service killed"] = _planned_after_s(second, name)

            server.restart()
            name = _put_in(second, day.replace("School day", "Fourth"))
            after["PostgreSQL restarted"] = _planned_after_s(second, name)
        finally:
            os.killpg(worker.pid, signal.SIGTERM)
            ended = worker.wait()
            second.stop()
            del os.environ["NOONFARE_DATABASE"], os.environ["NOONFARE_QUEUE"]
    plans = ", ".join(f"{what} after {took_s:.0f} s" for what, took_s in after.items())
    return f"plans: {plans}; news on the other service after {news_s:.2f} s; worker ended {ended}"
