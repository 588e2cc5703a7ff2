"""A helper's phone in a test: its own clock, its queue, a network that answers in our place."""

from __future__ import annotations

import json
import threading
import urllib.request
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from playwright.sync_api import Page

from tests.app import EVENT, Served

PRESS = ".current > .bar .done, .current .cur > .stop > .bar .done"
TITLE = ".current h2"
LEFT = ".current .left"
WAITING = """() => Object.keys(localStorage).filter((key) => key.startsWith("noonfare-press-"))
  .map((key) => JSON.parse(localStorage[key]))
  .filter((press) => press.number === null && press.says && !press.refused).length"""
ALL_DELIVERED = f"() => ({WAITING})() === 0"


def diary(base: str) -> list[dict[str, Any]]:
    """Return what the service has in its diary, but for which plans were seen."""
    with urllib.request.urlopen(f"{base}/api/events/{EVENT}/diary") as answer:
        lines = json.load(answer)
    return [d["stored"] for d in lines if d["stored"]["entry"]["kind"] != "seen"]


def kinds(base: str) -> list[str]:
    return [str(stored["entry"]["kind"]) for stored in diary(base)]


def happened(base: str) -> list[datetime]:
    return [datetime.fromisoformat(stored["happened_at"]) for stored in diary(base)]


class Phone:
    """A page of jobs whose clock stands, but when the test lets time pass for phone and service."""

    def __init__(self, tab: Page, served: Served, *, ahead: timedelta = timedelta()) -> None:
        self.tab, self.served = tab, served
        tab.clock.install(time=served.door.now + ahead - timedelta(seconds=1))
        tab.clock.pause_at(served.door.now + ahead)

    def open(self, path: str = "jobs/asta", host: str = "127.0.0.1") -> None:
        """Open a page of the event; the phone has heard what time it is."""
        self.tab.goto(f"http://{host}:{self.served.port}/e/{EVENT}/{path}")
        self.tab.wait_for_function("() => localStorage.getItem('noonfare-clock')")

    def saved(self) -> None:
        """Wait until the worker has kept this page; wait_for_function takes a promise for true."""
        while not self.tab.evaluate("async () => Boolean(await caches.match(location.href))"):
            self.tab.wait_for_timeout(50)

    def after(self, minutes: float) -> None:
        """Let time pass, timers and all.

        The two clocks are moved one after the other: an answer that comes between is stamped by
        one step too much. So a step is shorter than what `counts_right` forgives.
        """
        for _ in range(round(minutes * 30)):
            self.served.door.now += timedelta(seconds=2)
            self.tab.clock.run_for(2_000)

    def asleep(self, minutes: int) -> None:
        """Let time pass while the phone does nothing."""
        self.served.door.now += timedelta(minutes=minutes)
        self.tab.clock.fast_forward(minutes * 60_000)

    def time(self) -> datetime:
        """Return what the phone takes for the service's time."""
        ahead = "(JSON.parse(localStorage['noonfare-clock']))"
        now = self.tab.evaluate(f"() => Date.now() + ({ahead}.low + {ahead}.high) / 2")
        return datetime.fromtimestamp(now / 1000, UTC)

    def press(self) -> str:
        """Press what is to be pressed now; return which job it was."""
        job = self.tab.locator(".current").get_attribute("id")
        self.tab.locator(PRESS).tap()
        self.tab.clock.run_for(2_000)
        self.served.door.now += timedelta(seconds=2)
        return str(job)

    def waiting(self) -> int:
        """Return how many presses wait."""
        return int(self.tab.evaluate(WAITING))

    def delivered(self) -> None:
        """Wait until the service has confirmed every press; timers go on meanwhile."""
        while self.waiting():
            self.after(1 / 30)
            self.tab.wait_for_timeout(50)

    def minutes_left(self) -> int:
        """Return the countdown's minutes."""
        number = self.tab.locator(f"{LEFT} span").inner_text()
        return 0 if number == "Now" else int(number)

    def minutes_truly_left(self) -> float:
        """Return the minutes until the job that is shown, by the service's clock."""
        due = datetime.fromisoformat(str(self.tab.locator(".current").get_attribute("data-at")))
        return (due - self.served.door.now).total_seconds() / 60

    def counts_right(self) -> bool:
        """Return whether the countdown is within five seconds of the truth."""
        left, slack = self.minutes_truly_left(), 5 / 60
        return max(left - slack, 0) <= self.minutes_left() < max(left + slack, 0) + 1


class Portal:
    """A network that wants a log-in first: it answers everything with a page of its own."""

    def __init__(self, port: int) -> None:
        class Page(BaseHTTPRequestHandler):
            def _answer(self) -> None:
                body = b"<!doctype html><title>Log in</title><main>Welcome! Agree first.</main>"
                self.send_response(200)
                self.send_header("content-type", "text/html")
                self.send_header("content-length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            do_GET = do_POST = _answer  # noqa: N815  # the library names them so

            def log_message(self, *_: object) -> None:
                """Say nothing."""

        ThreadingHTTPServer.allow_reuse_address = True
        self._server = ThreadingHTTPServer(("127.0.0.1", port), Page)
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        """Let go of the address."""
        self._server.shutdown()
        self._server.server_close()
