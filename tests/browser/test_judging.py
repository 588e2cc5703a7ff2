"""A judge's sheets on a phone that loses its signal: they wait there, and go by themselves."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from service.application.contest import ContestService
from tests.app import Door, Served, with_sample
from tests.browser.conftest import Open
from tests.browser.phone import ALL_DELIVERED
from tests.browser.test_screens import axe_finds_nothing

NAME = "twelve-pots-and-one-sun-2027-06-19"
TASTING = datetime(2027, 6, 19, 12, 0, tzinfo=UTC)


@pytest.fixture
def cook_off(tmp_path: Path) -> Iterator[Served]:
    """Yield a server with the cook-off, in the middle of its tastings."""
    door = Door(tmp_path, TASTING)
    with_sample(door, "twelve-pots")
    served = Served(door)
    yield served
    served.stop()


def judges_page(tab: Page, cook_off: Served) -> ContestService:
    """Open a judge's page, and return the contest behind it."""
    tab.goto(f"{cook_off.base}/about")  # the server has begun
    contest = cook_off.door.services.contest
    tab.goto(f"{cook_off.base}/judge/{NAME}/{contest.secrets(NAME).judge_code('j1')}")
    return contest


def test_the_clock_of_who_has_a_link_alone_is_the_events_own(
    open_tab: Open, cook_off: Served
) -> None:
    tab = open_tab(timezone_id="Pacific/Auckland")
    tab.goto(f"{cook_off.base}/e/{NAME}/jobs")  # here the phone hears what time it is
    tab.wait_for_function("() => localStorage.getItem('noonfare-clock')")
    judges_page(tab, cook_off)
    tab.evaluate("() => { document.querySelector('.clock').textContent = 'not ticked yet'; }")

    expect(tab.locator(".clock")).to_have_text(re.compile("^14:"))


def test_sheets_written_without_a_signal_wait_go_by_themselves_and_count_once(
    open_tab: Open, cook_off: Served
) -> None:
    tab = open_tab()
    contest = judges_page(tab, cook_off)
    numbers = contest.asked(NAME, "j1")
    axe_finds_nothing(tab)
    tab.context.set_offline(True)

    for number, points in zip(numbers[:2], ("7", "4"), strict=True):
        sheet = tab.locator(f"details[data-number='{number}']")
        expect(sheet).to_have_attribute("open", "")
        for field in sheet.locator("input[type=number]").all():
            field.fill(points)
        sheet.get_by_role("button").tap()
        expect(sheet.locator("summary")).to_contain_text("waits on this phone")
    expect(tab.locator("#signal")).to_contain_text("2 presses wait")
    assert contest.sheets_of(NAME, "j1") == {}

    tab.context.set_offline(False)
    tab.wait_for_function(ALL_DELIVERED)

    there = contest.sheets_of(NAME, "j1")
    assert [set(there[n].points.values()) for n in numbers[:2]] == [{7}, {4}]
    for number in numbers[:2]:
        expect(tab.locator(f"details[data-number='{number}'] summary")).to_contain_text("is there")
    expect(tab.locator(f"details[data-number='{numbers[2]}']")).to_have_attribute("open", "")


def test_the_page_opens_again_without_a_signal_where_it_was_seen_before(
    open_tab: Open, cook_off: Served
) -> None:
    tab = open_tab(service_workers="allow")
    contest = judges_page(tab, cook_off)
    while not tab.evaluate("async () => Boolean(await caches.match(location.href))"):
        tab.wait_for_timeout(50)
    asked = contest.asked(NAME, "j1")
    cook_off.stop()

    tab.reload()

    expect(tab.locator("details[data-number]")).to_have_count(len(asked))
