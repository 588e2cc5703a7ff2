"""Pages over a slow line: `python -m tests.slow_line`, medians of five first visits.

The line: 1.6 Mbit/s down, 750 kbit/s up, 150 ms for each answer (what browsers' tools call slow
4G, or fast 3G); nothing is kept from visit to visit. Beside it the same visits over no such line.
"""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from tests.app import EVENT
from tests.browser.conftest import CHROMIUM
from tests.process import ServiceProcess

SLOW = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 1.6e6 / 8,
    "uploadThroughput": 750e3 / 8,
}
PAGES = ("/", "/new", f"/e/{EVENT}", f"/e/{EVENT}/jobs/asta", f"/e/{EVENT}/plan/dishes")
VISITS = 5


def visit(browser: Any, url: str, line: dict[str, object] | None) -> tuple[float, float]:
    """Return when words were first seen, and when all had come (ms from the start)."""
    context = browser.new_context(
        viewport={"width": 360, "height": 740}, service_workers="block", bypass_csp=True
    )
    tab = context.new_page()
    session = context.new_cdp_session(tab)
    session.send("Network.enable")
    session.send("Network.setCacheDisabled", {"cacheDisabled": True})
    if line is not None:
        session.send("Network.emulateNetworkConditions", line)
    tab.goto(url, wait_until="load")
    tab.wait_for_function("() => performance.getEntriesByName('first-contentful-paint').length")
    paint, load = tab.evaluate(
        "() => [performance.getEntriesByName('first-contentful-paint')[0].startTime,"
        " performance.getEntriesByType('navigation')[0].loadEventStart]"
    )
    context.close()
    return float(paint), float(load)


def slow_line() -> str:
    """Return what each page took, over the slow line and without it."""
    said = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as browsers:
        server = ServiceProcess(Path(folder), "--demo")
        server.wait_for_plans(EVENT)
        browser = browsers.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        try:
            for page in PAGES:
                url = f"{server.base}{page}"
                times = {
                    name: [visit(browser, url, line) for _ in range(VISITS)]
                    for name, line in (("slow", SLOW), ("plain", None))
                }
                paint, load = (statistics.median(t[k] for t in times["slow"]) for k in (0, 1))
                plain = statistics.median(t[1] for t in times["plain"])
                said.append(
                    f"{page.replace(EVENT, '…')} words {paint:.0f} ms, all {load:.0f} ms "
                    f"(plain {plain:.0f} ms)"
                )
        finally:
            browser.close()
            server.stop()
    return "; ".join(said)


if __name__ == "__main__":
    print(slow_line().replace("; ", "\n"))
