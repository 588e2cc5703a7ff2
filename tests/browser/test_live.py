"""The live day in real browsers: a new plan reaches every phone, a dead line is noticed."""

from __future__ import annotations

import time
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import EVENT, Running

pytestmark = pytest.mark.browser
DESK = {"width": 1280, "height": 800}
PHONE = {"width": 360, "height": 740}


def test_a_new_plan_reaches_two_phones_within_two_seconds_and_says_what_changed(
    chromium: Any, own: Running
) -> None:
    desk = chromium.new_page(viewport=DESK)
    phones = [chromium.new_page(viewport=PHONE) for _ in range(2)]
    for phone, who in zip(phones, ("asta", "bo"), strict=True):
        phone.goto(f"{own.base}/e/{EVENT}/jobs/{who}")
    desk.goto(f"{own.base}/e/{EVENT}/today")
    desk.select_option("select[name=cooker_id]", "mirror-1")

    desk.click("button[value=out-of-action]")
    desk.wait_for_url("**/replan/*")
    expect(desk.get_by_text("Whose jobs change")).to_be_visible()
    began = time.monotonic()
    desk.get_by_role("button", name="Take it").click()
    for phone in phones:
        expect(phone.locator(".news")).to_be_visible(timeout=5000)

    assert time.monotonic() - began < 2
    assert "New" in phones[1].locator(".news").inner_text()
    phones[1].get_by_role("button", name="I have read it").click()
    expect(phones[1].locator(".news")).to_have_count(0)
    for page in (desk, *phones):
        page.close()


def test_a_line_that_is_swallowed_is_noticed_and_the_page_recovers(
    chromium: Any, own: Running
) -> None:
    phone = chromium.new_page(viewport=PHONE)
    # The line opens, and then nothing ever comes through it, as in a dead spot.
    phone.add_init_script(
        """
        const Real = window.EventSource;
        let first = true;
        window.EventSource = class extends Real {
          constructor(url) {
            super(first ? url + "?hole" : url);
            this.hole = first;
            first = false;
          }
          addEventListener(kind, take) {
            if (!this.hole) super.addEventListener(kind, take);
          }
        };
        """
    )
    phone.goto(f"{own.base}/e/{EVENT}/board")
    other = chromium.new_page(viewport=PHONE)
    other.goto(f"{own.base}/e/{EVENT}/jobs/asta")
    other.locator(".bar .done").click()

    with phone.expect_navigation(timeout=60_000):
        pass

    phone.close()
    other.close()


def test_a_reload_in_the_middle_of_planning_again_loses_nothing(
    chromium: Any, own: Running
) -> None:
    desk = chromium.new_page(viewport=DESK)
    desk.goto(f"{own.base}/e/{EVENT}/today")
    desk.evaluate(
        """() => {
            const form = document.querySelector("form.one[action$=replan]");
            fetch(form.action, { method: "POST" });
        }"""
    )

    desk.reload()

    expect(desk.locator("h1")).to_contain_text("Now")
    desk.locator("form.one[action$=replan] button").click()
    desk.wait_for_url("**/replan/*")
    expect(desk.get_by_role("button", name="Take it")).to_be_visible()
    desk.close()
