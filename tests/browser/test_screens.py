"""A real browser at phone and desk size: nothing sideways, no rule of ours broken, axe clean."""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.conftest import EVENT

pytestmark = pytest.mark.browser
SIZES = {
    "phone": {"width": 360, "height": 740},
    "desk": {"width": 1280, "height": 800},
    "desk at 200 %": {"width": 640, "height": 400},  # what zooming makes of the desk's window
}
PAGES = (
    *("", "/stations/mirror-1", "/jobs/asta", "/sheet", "/stations", "/jobs"),
    *("/jobs/asta/trouble", "/board", "/diary", "/links", "/paper", "/year", "/help"),
    "/stations/mirror-1/measure",
    *("/today", "/now", "/temperatures", "/afterwards", "/go", "/more", "/batch/rice-1"),
    *("/plan/site", "/plan/cookers", "/plan/dishes", "/plan/helpers", "/plan/talks", "/plan/check"),
    *("/plan/servings", "/what-if"),
)


def go(tab: Any, url: str) -> None:
    """Open a page, and wait for what has still to be counted: it looks again by itself."""
    tab.goto(url)
    expect(tab.get_by_role("link", name="Look again")).to_have_count(0, timeout=120_000)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("page", PAGES)
def test_a_page_fits_and_breaks_no_rule(chromium: Any, server: str, size: str, page: str) -> None:
    tab = chromium.new_page(viewport=SIZES[size])
    said: list[str] = []
    tab.on("console", lambda message: said.append(message.text))

    go(tab, f"{server}/e/{EVENT}{page}")

    wide = tab.evaluate("() => document.documentElement.scrollWidth")
    assert wide <= SIZES[size]["width"]
    assert said == []
    tab.close()


# What axe looks at is the same at both sizes but for a few pages that are built twice.
AXED = [*((page, "phone") for page in PAGES), ("", "desk"), ("/plan/dishes", "desk")]


@pytest.mark.parametrize(("page", "size"), AXED)
def test_axe_finds_nothing(chromium: Any, server: str, size: str, page: str) -> None:
    context = chromium.new_context(viewport=SIZES[size], bypass_csp=True)
    tab = context.new_page()
    go(tab, f"{server}/e/{EVENT}{page}")

    found = Axe().run(tab)

    assert found.response["violations"] == [], found.generate_report()
    context.close()


def test_a_word_says_what_it_means_when_it_is_pressed_by_finger_or_key(
    chromium: Any, server: str
) -> None:
    context = chromium.new_context(viewport=SIZES["phone"], has_touch=True)
    tab = context.new_page()
    tab.goto(f"{server}/e/{EVENT}/batch/rice-1")
    meaning = tab.locator("#t-spare")
    word = tab.get_by_role("button", name="To spare")
    assert not meaning.is_visible()

    word.tap()

    assert "Minutes between done" in meaning.inner_text()
    box = meaning.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 360
    tab.keyboard.press("Escape")
    assert not meaning.is_visible()
    word.focus()
    tab.keyboard.press("Enter")
    assert meaning.is_visible()
    context.close()


def test_what_was_folded_open_stays_open_when_the_page_looks_again(
    chromium: Any, server: str
) -> None:
    tab = chromium.new_page(viewport=SIZES["desk"])
    tab.goto(f"{server}/e/{EVENT}")
    tab.get_by_text("Who does what").click()

    tab.reload()

    assert tab.locator("details", has_text="Who does what").get_attribute("open") is not None
    tab.close()


def test_without_scripts_the_phone_shows_the_next_job_in_big_letters(
    chromium: Any, server: str
) -> None:
    context = chromium.new_context(viewport=SIZES["phone"], java_script_enabled=False)
    tab = context.new_page()
    tab.goto(f"{server}/e/{EVENT}/jobs/asta")

    heading = tab.locator("h1")
    assert heading.inner_text().startswith(("Turn", "Load", "Lift", "Set", "Talk", "Lunch"))
    box = tab.locator(".left.num").bounding_box()
    assert box is not None
    assert box["height"] >= 60
    caution = tab.locator(".warn").first.bounding_box()
    assert caution is not None
    assert caution["y"] < 740, "the caution stands on the first screen"
    context.close()


def test_from_the_day_a_finger_gets_to_a_station_and_to_ones_jobs(
    chromium: Any, server: str
) -> None:
    context = chromium.new_context(viewport=SIZES["phone"], has_touch=True)
    tab = context.new_page()
    tab.goto(server)
    tab.get_by_role("link", name="Harvest lunch").tap()
    tab.get_by_role("link", name="Stations").tap()
    tab.get_by_role("link", name="Box 1").tap()
    assert tab.locator("h1").inner_text() == "Box 1"
    tab.get_by_role("link", name="Jobs").tap()
    tab.get_by_role("link", name="Bo 08:00").tap()
    assert tab.locator(".who").inner_text() == "Bo"
    context.close()
