"""A real browser, and the app on a free port: one server for all who only look, or one's own."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from tests.app import EVENT, Door, Served, with_sample
from tests.process import ServiceProcess

# The shell opens a tab at a fifth of the cost: it has no window of its own to draw.
SHELL, FULL = Path("/usr/bin/chromium-headless-shell"), Path("/usr/bin/chromium")
CHROMIUM = FULL if FULL.exists() and not SHELL.exists() else SHELL
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
            pytest.fail("CI needs a browser: apt-get install chromium-headless-shell")
        pytest.skip(
            "no browser here: apt-get install chromium-headless-shell, then run these again"
        )
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
    served = Served(with_sample(Door(tmp_path)))
    yield served
    served.stop()


def demo(data: Path, *options: str) -> ServiceProcess:
    """Return the demo as a process; its plan is there, as another test may have made it."""
    with_sample(Door(data / "demo"))
    process = ServiceProcess(data, "--demo", *options)
    process.wait_for_plans(EVENT)
    return process


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Yield the address of the server that all share who change nothing."""
    process = demo(tmp_path_factory.mktemp("data"))
    yield process.base
    process.stop()
