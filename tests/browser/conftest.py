"""A real browser, and the app on a free port: one server for all who only look, or one's own."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from tests.app import EVENT, Door, Served, put_in

CHROMIUM = Path("/usr/bin/chromium")
SIZES: dict[str, Any] = {
    "narrow": {"width": 320, "height": 600},
    "phone": {"width": 360, "height": 740},
    "desk": {"width": 1280, "height": 800},
    "desk at 200 %": {"width": 640, "height": 400},  # what zooming makes of the desk's window
}
NO_LIMIT_MS = 3_600_000  # a state is waited for: where it never comes, pytest's limit ends the test
Open = Callable[..., Page]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Name what is in this folder: it needs a browser, and is slow."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker("browser")
            item.add_marker("slow")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Yield Debian's browser."""
    if not CHROMIUM.exists():
        if os.environ.get("CI"):
            pytest.fail("CI needs Debian's chromium: apt-get install chromium")
        pytest.skip("no browser here: apt-get install chromium, then run these again")
    expect.set_options(timeout=NO_LIMIT_MS)
    with sync_playwright() as tool:
        browser = tool.chromium.launch(
            executable_path=str(CHROMIUM),
            args=["--no-sandbox", "--host-resolver-rules=MAP farm.test 127.0.0.1"],
        )
        yield browser
        browser.close()


@pytest.fixture
def open_tab(chromium: Browser) -> Iterator[Open]:
    """Yield a way to open a tab in a browser without memory; each is closed in the end.

    The worker that serves saved pages when the server is slow is shut out, unless asked for.
    """
    opened: list[BrowserContext] = []

    def new(size: str = "phone", *, service_workers: str = "block", **more: Any) -> Page:
        context = chromium.new_context(
            viewport=SIZES[size],
            service_workers=service_workers,  # type: ignore[arg-type]
            has_touch=size in ("phone", "narrow"),
            **more,
        )
        context.set_default_timeout(NO_LIMIT_MS)
        opened.append(context)
        return context.new_page()

    yield new
    for context in opened:
        context.close()


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Served]:
    """Yield a server of one's own, with the harvest lunch planned: to press on, or to stop."""
    door = Door(tmp_path)
    door(put_in)
    served = Served(door)
    yield served
    served.stop()


class Running:
    """A server process as `noonfare serve --demo` starts it, its plan made by its own solver."""

    def __init__(self, data: Path) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        self.base = f"http://127.0.0.1:{port}"
        command = "from service.cli.main import main; main()"
        arguments = ["serve", "--demo", "--port", str(port), "--data", str(data)]
        with (data / "log").open("w") as log:
            self.child = subprocess.Popen(
                [sys.executable, "-c", command, *arguments], stdout=log, stderr=log
            )
        while not self._has_planned():
            assert self.child.poll() is None, (data / "log").read_text()
            time.sleep(0.1)  # another process starts: there is nothing else to wait on

    def _has_planned(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.base}/api/events/{EVENT}/plan") as answer:
                return bool(json.load(answer)["state"] == "done")
        except OSError:
            return False

    def stop(self) -> None:
        """Stop it as Ctrl-C does."""
        self.child.terminate()
        self.child.wait()


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Yield the address of the server that all share who change nothing."""
    running = Running(tmp_path_factory.mktemp("data"))
    yield running.base
    running.stop()
