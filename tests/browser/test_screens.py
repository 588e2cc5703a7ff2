"""A real browser at phone and desk size: nothing sideways, no rule of ours broken, axe clean."""

from __future__ import annotations

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.app import EVENT, Served
from tests.browser.conftest import SIZES, Open

PAGES = (
    *("", "/stations/mirror-1", "/jobs/asta", "/sheet", "/stations", "/jobs"),
    *(
        "/jobs/asta#trouble",
        "/jobs/asta#now-hurt",
        "/board",
        "/diary",
        "/links",
        "/paper",
        "/year",
        "/help",
    ),
    "/stations/mirror-1/measure",
    *("/show", "/show/mirror-1", "/show/box-1"),
    *("/today", "/now", "/temperatures", "/afterwards", "/go", "/plan/pots", "/batch/rice-1"),
    *("/plan/site", "/plan/cookers", "/plan/dishes", "/plan/helpers", "/plan/talks", "/plan/check"),
    *("/plan/servings", "/what-if"),
)


AXED_AT_THE_DESK_TOO = ("", "/plan/dishes")  # built twice; the others are the same at any size
NOT_OURS = "Service Worker registration blocked by Playwright"


@pytest.mark.parametrize("page", PAGES)
def test_a_page_fits_breaks_no_rule_and_axe_finds_nothing(
    open_tab: Open, server: str, page: str
) -> None:
    tab = open_tab("desk")
    said: list[str] = []
    tab.on("console", lambda message: said.append(message.text))

    tab.goto(f"{server}/e/{EVENT}{page}")
    # What has still to be computed is waited for: the page looks again by itself.
    expect(tab.get_by_role("link", name="Look again")).to_have_count(0)

    if page in AXED_AT_THE_DESK_TOO:
        axe_finds_nothing(tab)
    for name, size in SIZES.items():
        tab.set_viewport_size(size)
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= size["width"], name
        if name == "phone":
            axe_finds_nothing(tab)
    assert set(said) <= {NOT_OURS}


@pytest.mark.parametrize("page", ["", *(p for p in PAGES if p.startswith("/plan/")), "/new"])
def test_a_page_for_organisers_is_about_two_and_a_half_screens_of_a_phone(
    open_tab: Open, server: str, page: str
) -> None:
    tab = open_tab()
    tab.set_viewport_size({"width": 390, "height": 844})

    tab.goto(f"{server}{page}" if page == "/new" else f"{server}/e/{EVENT}{page}")

    assert tab.evaluate("() => document.documentElement.scrollHeight") <= 2.6 * 844


def axe_finds_nothing(tab: Page) -> None:
    found = Axe().run(tab)
    assert found.response["violations"] == [], found.generate_report()


def test_a_word_says_what_it_means_when_it_is_pressed_by_finger_or_key(
    open_tab: Open, server: str
) -> None:
    tab = open_tab()
    tab.goto(f"{server}/e/{EVENT}/batch/rice-1")
    meaning = tab.locator("#t-spare")
    word = tab.get_by_role("button", name="To spare")
    expect(meaning).to_be_hidden()

    word.tap()

    expect(meaning).to_contain_text("Minutes between done")
    box = meaning.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 360
    tab.keyboard.press("Escape")
    expect(meaning).to_be_hidden()
    word.focus()
    tab.keyboard.press("Enter")
    expect(meaning).to_be_visible()


def test_what_was_folded_open_stays_open_when_the_page_looks_again(
    open_tab: Open, server: str
) -> None:
    tab = open_tab("desk")
    tab.goto(f"{server}/e/{EVENT}")
    tab.get_by_text("Who does what").click()

    tab.reload()

    assert tab.locator("details", has_text="Who does what").get_attribute("open") is not None


def test_without_scripts_the_phone_shows_the_next_job_in_big_letters(
    open_tab: Open, server: str
) -> None:
    tab = open_tab(java_script_enabled=False)
    tab.goto(f"{server}/e/{EVENT}/jobs/asta")

    heading = tab.locator(".current h2")
    works = ("Turn", "Tilt", "Tip", "Load", "Lift", "Look", "Set", "Talk", "Lunch")
    assert heading.inner_text().startswith(works)
    box = tab.locator(".current .left.num").bounding_box()
    assert box is not None
    assert box["height"] >= 60
    caution = tab.locator(".current .warn").first.bounding_box()
    assert caution is not None
    assert caution["y"] < 740, "the caution stands on the first screen"


def test_from_the_day_a_finger_gets_to_a_station_and_to_ones_jobs(
    open_tab: Open, server: str
) -> None:
    tab = open_tab()
    tab.goto(server)
    tab.get_by_role("link", name="Harvest lunch").tap()
    tab.get_by_role("link", name="On the day").tap()
    tab.get_by_role("link", name="Stations").tap()
    tab.get_by_role("link", name="Box 1").tap()
    expect(tab.locator("h1")).to_have_text("Box 1")
    tab.get_by_role("link", name="Jobs", exact=True).tap()
    tab.get_by_role("link", name="Bo 08:00").tap()
    expect(tab.locator(".who")).to_have_text("Bo")


def test_a_station_is_short_on_a_phone_and_what_is_next_and_its_danger_stay_open(
    open_tab: Open, server: str
) -> None:
    tab = open_tab()

    tab.goto(f"{server}/e/{EVENT}/stations/mirror-1")

    assert tab.evaluate("() => document.documentElement.scrollHeight") <= 2800
    expect(tab.get_by_text("Shadow tip:")).to_be_visible()
    for words in ("Don’t look into the bowl", "in the middle, then keep over", "Contains celery"):
        expect(tab.get_by_text(words).first).to_be_visible()
    later = tab.locator(".entry", has_text="Turns today")
    row = later.locator("tbody tr").first
    expect(row).to_be_hidden()
    later.locator(".fold summary").tap()
    expect(row).to_be_visible()


@pytest.mark.parametrize("page", ["/plan/helpers", "/links", "/today", "", "/afterwards"])
def test_the_menu_is_one_row_on_a_phone_and_all_of_it_is_seen(
    open_tab: Open, own: Served, page: str
) -> None:
    """A finger needs 44 px: WCAG 2.2, 2.5.5."""
    own.door.now -= timedelta(days=3)  # without a clock beside it
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}{page}")
    menu, under = tab.locator(".head .crumbs"), tab.locator(".crumbs.under")

    for row in (menu, under) if under.count() else (menu,):
        tops = row.locator("a").evaluate_all("all => all.map(a => a.getBoundingClientRect().top)")
        assert len(set(tops)) == 1
        here = row.locator("[aria-current]").bounding_box()
        assert here is not None
        assert here["x"] >= 0
        assert here["x"] + here["width"] <= 360
    for entry in menu.locator("a").all():
        box = entry.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
        assert box["x"] + box["width"] <= 360
