"""The README's pictures from today's program: `python -m tests.readme_pictures` makes them anew.

The demo is served, its clock at 10:30 of the harvest lunch, and looked at in Debian's browser.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from tests.app import EVENT
from tests.browser.conftest import CHROMIUM
from tests.process import ServiceProcess

FOLDER = Path(__file__).resolve().parent / "pictures"
WIDE = 1280


def day(tab: Page, base: str) -> None:
    """The day's picture as it stands on its page."""
    tab.goto(f"{base}/e/{EVENT}")
    _shoot(tab, "day", 1360)


def planner(tab: Page, base: str) -> None:
    """Every dish with its minutes in every cooker."""
    tab.goto(f"{base}/e/{EVENT}/plan/dishes")
    _shoot(tab, "planner", 940)


def board(tab: Page, base: str) -> None:
    """The visitors' board on a screen."""
    tab.goto(f"{base}/e/{EVENT}/board")
    _shoot(tab, "board", 720)


def replan(tab: Page, base: str) -> None:
    """A mirror breaks; the plan made anew, before anybody takes it."""
    tab.goto(f"{base}/e/{EVENT}/today")
    tab.get_by_label("Cooker out of action").select_option("mirror-1")
    tab.locator('button[value="out-of-action"]').click()
    expect(tab.get_by_role("button", name="Use this plan")).to_be_visible(timeout=300_000)
    _shoot(tab, "replan", 760)


def _shoot(tab: Page, name: str, height: int) -> None:
    tab.set_viewport_size({"width": WIDE, "height": height})
    tab.wait_for_load_state("load")
    tab.screenshot(path=FOLDER / f"{name}.png")


def main() -> None:
    """Make every picture; the one that changes the day comes last."""
    with tempfile.TemporaryDirectory() as data, sync_playwright() as browsers:
        server = ServiceProcess(Path(data), "--demo")
        try:
            server.wait_for_plans(EVENT)
            browser = browsers.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
            tab = browser.new_context(service_workers="block").new_page()
            for make in (day, planner, board, replan):
                make(tab, server.base)
            browser.close()
        finally:
            server.stop()


if __name__ == "__main__":
    main()
