"""Phones in the field: a press, no signal, a dead server, two phones at once, plain http."""

from __future__ import annotations

import json
import urllib.request
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.app import EVENT, Served
from tests.browser.conftest import SIZES, Open


def diary(base: str) -> list[dict[str, Any]]:
    with urllib.request.urlopen(f"{base}/api/events/{EVENT}/diary") as answer:
        lines = json.load(answer)
    return [d["stored"]["entry"] for d in lines if d["stored"]["entry"]["kind"] != "seen"]


def test_one_press_is_kept_shows_its_undo_and_brings_the_next_job(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")
    job = tab.locator("h1").inner_text()

    tab.locator(".bar .done").tap()

    expect(tab.locator(".undo")).to_be_visible()
    expect(tab.locator("h1")).not_to_have_text(job)
    assert len(diary(own.base)) == 1
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.locator("h1")).to_have_text(job)


def test_without_a_signal_presses_wait_and_are_sent_once(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")
    expect(tab.locator(".bar .done")).to_be_visible()

    tab.context.set_offline(True)
    tab.locator(".bar .done").tap()
    expect(tab.locator("#signal")).to_contain_text("kept")
    assert diary(own.base) == []
    tab.context.set_offline(False)

    expect(tab.locator(".undo")).to_be_visible()
    assert len(diary(own.base)) == 1
    tab.reload()
    assert len(diary(own.base)) == 1


def test_with_the_server_dead_the_saved_page_opens_and_says_its_age(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab(service_workers="allow")
    tab.goto(f"{own.base}/e/{EVENT}/jobs/bo")
    tab.wait_for_function("() => caches.match(location.href)")
    tab.reload()
    job = tab.locator("h1").inner_text()
    own.stop()

    tab.reload()

    assert tab.locator("h1").inner_text() == job
    expect(tab.locator(".link").first).to_contain_text("No signal. Plan saved")
    tab.locator(".bar .done").tap()
    expect(tab.locator("#signal")).to_contain_text("kept")


def test_two_phones_press_at_once_and_both_are_kept(open_tab: Open, own: Served) -> None:
    tabs = [open_tab(), open_tab()]
    for tab, who in zip(tabs, ("asta", "bo"), strict=True):
        tab.goto(f"{own.base}/e/{EVENT}/jobs/{who}")

    for tab in tabs:
        tab.locator(".bar .done").tap()

    for tab in tabs:
        expect(tab.locator(".undo")).to_be_visible()
    assert {e["helper_id"] for e in diary(own.base)} == {"asta", "bo"}


def test_without_scripts_a_press_counts_as_well(open_tab: Open, own: Served) -> None:
    tab = open_tab(java_script_enabled=False)
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")

    tab.locator(".bar .done").tap()

    expect(tab.locator(".undo")).to_be_visible()
    assert len(diary(own.base)) == 1


def test_trouble_is_two_presses_away(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")

    tab.get_by_role("link", name="Trouble").tap()
    tab.get_by_role("button", name="Cloud over the sun now").tap()

    expect(tab.locator(".undo")).to_contain_text("Cloud over the sun")
    assert diary(own.base)[0]["kind"] == "cloud"


def test_over_plain_http_by_name_it_counts_and_keeps_presses(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"http://farm.test:{own.port}/e/{EVENT}/jobs/asta")
    assert not tab.evaluate("() => isSecureContext")

    tab.locator(".bar .done").tap()

    expect(tab.locator(".undo")).to_be_visible()
    assert len(diary(own.base)) == 1


@pytest.mark.parametrize("size", ["narrow", "phone"])
def test_narrow_and_in_forced_colours_nothing_runs_off(
    open_tab: Open, server: str, size: str
) -> None:
    tab = open_tab(size, forced_colors="active")
    pages = ("/jobs/asta", "/jobs/asta/trouble", "/stations/mirror-1", "/board")
    pages += ("/today", "/now", "/plan/dishes", "/plan/helpers", "/batch/rice-1", "/go")
    for page in pages:
        tab.goto(f"{server}/e/{EVENT}{page}")
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= SIZES[size]["width"], (
            page
        )
