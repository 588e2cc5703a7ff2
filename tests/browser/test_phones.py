"""Phones in the field: a press, no signal, a dead server, two phones at once, plain http."""

from __future__ import annotations

import json
import urllib.request
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import EVENT, Running

pytestmark = pytest.mark.browser
PHONE = {"width": 360, "height": 740}


def diary(base: str) -> list[dict[str, Any]]:
    with urllib.request.urlopen(f"{base}/api/events/{EVENT}/diary") as answer:
        lines = json.load(answer)
    return [d["kept"]["entry"] for d in lines if d["kept"]["entry"]["kind"] != "seen"]


def phone(chromium: Any, **more: object) -> Any:
    return chromium.new_context(viewport=PHONE, has_touch=True, **more)


def test_one_press_is_kept_shows_its_undo_and_brings_the_next_job(
    chromium: Any, own: Running
) -> None:
    context = phone(chromium)
    tab = context.new_page()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")
    job = tab.locator("h1").inner_text()

    tab.locator(".bar .done").tap()

    expect(tab.locator(".undo")).to_be_visible()
    expect(tab.locator("h1")).not_to_have_text(job)
    assert len(diary(own.base)) == 1
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.locator("h1")).to_have_text(job)
    context.close()


def test_without_a_signal_presses_wait_and_are_sent_once(chromium: Any, own: Running) -> None:
    context = phone(chromium)
    tab = context.new_page()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")
    expect(tab.locator(".bar .done")).to_be_visible()

    context.set_offline(True)
    tab.locator(".bar .done").tap()
    expect(tab.locator("#signal")).to_contain_text("kept")
    assert diary(own.base) == []
    context.set_offline(False)

    expect(tab.locator(".undo")).to_be_visible(timeout=10_000)
    assert len(diary(own.base)) == 1
    tab.reload()
    assert len(diary(own.base)) == 1
    context.close()


def test_with_the_server_dead_the_saved_page_opens_and_says_its_age(
    chromium: Any, own: Running
) -> None:
    context = phone(chromium)
    tab = context.new_page()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/bo")
    tab.evaluate("() => navigator.serviceWorker.ready.then(() => null)")
    tab.reload()
    job = tab.locator("h1").inner_text()
    own.stop()

    tab.reload()

    assert tab.locator("h1").inner_text() == job
    expect(tab.locator(".link").first).to_contain_text("No signal. Plan saved")
    tab.locator(".bar .done").tap()
    expect(tab.locator("#signal")).to_contain_text("kept")
    context.close()


def test_two_phones_press_at_once_and_both_are_kept(chromium: Any, own: Running) -> None:
    contexts = [phone(chromium), phone(chromium)]
    tabs = [c.new_page() for c in contexts]
    for tab, who in zip(tabs, ("asta", "bo"), strict=True):
        tab.goto(f"{own.base}/e/{EVENT}/jobs/{who}")

    for tab in tabs:
        tab.locator(".bar .done").tap()

    for tab in tabs:
        expect(tab.locator(".undo")).to_be_visible()
    assert {e["helper_id"] for e in diary(own.base)} == {"asta", "bo"}
    for context in contexts:
        context.close()


def test_without_scripts_a_press_counts_as_well(chromium: Any, own: Running) -> None:
    context = phone(chromium, java_script_enabled=False)
    tab = context.new_page()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")

    tab.locator(".bar .done").tap()

    expect(tab.locator(".undo")).to_be_visible()
    assert len(diary(own.base)) == 1
    context.close()


def test_trouble_is_two_presses_away(chromium: Any, own: Running) -> None:
    context = phone(chromium)
    tab = context.new_page()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/asta")

    tab.get_by_role("link", name="Trouble").tap()
    tab.get_by_role("button", name="Cloud over the sun now").tap()

    expect(tab.locator(".undo")).to_contain_text("Cloud over the sun")
    assert diary(own.base)[0]["kind"] == "cloud"
    context.close()


def test_over_plain_http_by_name_it_counts_and_keeps_presses(chromium: Any, own: Running) -> None:
    context = phone(chromium)
    tab = context.new_page()
    tab.goto(f"http://farm.test:{own.port}/e/{EVENT}/jobs/asta")
    assert not tab.evaluate("() => isSecureContext")

    tab.locator(".bar .done").tap()

    expect(tab.locator(".undo")).to_be_visible()
    assert len(diary(own.base)) == 1
    context.close()


@pytest.mark.parametrize("width", [320, 360])
def test_narrow_and_in_forced_colours_nothing_runs_off(
    chromium: Any, server: str, width: int
) -> None:
    context = chromium.new_context(viewport={"width": width, "height": 600}, forced_colors="active")
    tab = context.new_page()
    pages = ("/jobs/asta", "/jobs/asta/trouble", "/stations/mirror-1", "/board")
    pages += ("/today", "/now", "/plan/dishes", "/plan/helpers", "/batch/rice-1", "/go")
    for page in pages:
        tab.goto(f"{server}/e/{EVENT}{page}")
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= width, page
    context.close()
