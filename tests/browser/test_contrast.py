"""Field pages in every state: words that stand out from their ground, presses a finger hits."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.app import EVENT, Served
from tests.browser.conftest import Open
from tests.browser.phone import PRESS, Phone

MEASURE = (Path(__file__).parent / "contrast.js").read_text()
FIELD_PAGES = ("/jobs/asta", "/jobs/asta#trouble", "/jobs/asta#now-hurt", "/jobs", "/stations")
FIELD_PAGES += ("/stations/mirror-1", "/stations/box-1", "/sheet", "/now")
FIELD_PAGES += ("/show", "/show/mirror-1")


def judged(tab: Page) -> dict[str, Any]:
    found = tab.evaluate(MEASURE)
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("page", FIELD_PAGES)
def test_words_of_a_field_page_stand_out_and_its_presses_are_44_px(
    open_tab: Open, server: str, page: str
) -> None:
    tab = open_tab()

    tab.goto(f"{server}/e/{EVENT}{page}")

    assert judged(tab) == {"pale": [], "small": []}


def test_a_job_can_be_read_before_it_is_due_when_it_is_due_and_when_it_is_late(
    open_tab: Open, own: Served
) -> None:
    phone = Phone(open_tab(), own)
    phone.open("jobs/bo")
    due = datetime.fromisoformat(str(phone.tab.locator(".current").get_attribute("data-at")))

    for minutes, words in ((-20, "20"), (0, "Now"), (14, "late")):
        own.door.now = due + timedelta(minutes=minutes)
        phone.tab.clock.fast_forward(max((own.door.now - phone.time()).total_seconds(), 1) * 1000)
        phone.tab.clock.run_for(1_000)
        expect(phone.tab.locator(".current .when")).to_contain_text(words)
        assert judged(phone.tab) == {"pale": [], "small": []}, words


def test_what_waits_and_what_is_grave_can_be_read(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")
    tab.context.set_offline(True)

    tab.locator(PRESS).tap()
    tab.get_by_role("link", name="Trouble").locator("visible=true").tap()
    tab.get_by_role("button", name="Fire").tap()
    expect(tab.locator("#signal")).to_contain_text("Nobody has been told yet")
    tab.locator("#signal summary").tap()

    assert judged(tab) == {"pale": [], "small": []}


def test_the_measure_itself_sees_white_on_white_and_a_press_too_small(
    open_tab: Open, server: str
) -> None:
    tab = open_tab()
    tab.goto(f"{server}/e/{EVENT}/jobs/asta")

    tab.evaluate(
        """() => {
            const small = document.querySelector(".current .at small");
            small.style.setProperty("color", "white");
            small.closest(".when").style.setProperty("background", "white");
            document.querySelector("#bell").style.setProperty("min-height", "20px");
            document.querySelector("#bell").style.setProperty("height", "20px");
        }"""
    )

    found = judged(tab)
    assert found["pale"]
    assert len(found["small"]) == 1
