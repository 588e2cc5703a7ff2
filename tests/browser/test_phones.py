"""Phones in the field: a press and its undo, trouble, without scripts, narrow screens."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.app import EVENT, Served
from tests.browser.conftest import SIZES, Open
from tests.browser.phone import ALL_DELIVERED, PRESS, diary, kinds

# The job, or the cooker of a walk, whose press is offered now.
OFFERED = ".current > .bar [name=job_id], .current .cur > .stop > .bar [name=job_id]"


def test_one_press_is_kept_shows_its_undo_and_undone_brings_the_job_back(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/bo")
    offered = tab.locator(OFFERED)
    job = str(offered.get_attribute("value"))

    tab.locator(PRESS).tap()

    expect(tab.locator(".undo.last")).to_be_visible()
    expect(offered).not_to_have_value(job)
    tab.wait_for_function(ALL_DELIVERED)
    assert len(diary(own.base)) == 1
    tab.locator(".undo.last button").tap()
    expect(offered).to_have_value(job)
    tab.wait_for_function(ALL_DELIVERED)
    tab.reload()
    expect(offered).to_have_value(job)


def test_each_cooker_of_a_walk_is_pressed_by_itself_in_any_order_and_undone(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/jobs/bo")
    stops = tab.locator(".current .walk > li")
    expect(stops).to_have_count(3)
    expect(stops.nth(0)).to_have_class("cur")
    for stop in (stops.nth(0), stops.nth(1), stops.nth(2)):
        expect(stop.locator(".warn")).to_be_visible()
        expect(stop.locator("figure.pair svg")).to_be_visible()

    cooker = stops.nth(1).locator(".bar [name=cooker_id]").get_attribute("value")
    stops.nth(1).locator(".done").tap()
    expect(stops.nth(1)).to_contain_text("turned 10:30")
    expect(stops.nth(0)).to_have_class("cur")
    stops.nth(1).get_by_role("button", name="Undo").tap()
    expect(stops.nth(1).locator(".done")).to_be_visible()

    tab.wait_for_function(ALL_DELIVERED)
    assert kinds(own.base) == ["aimed", "undo"]
    assert diary(own.base)[0]["entry"]["cooker_id"] == cooker


def test_two_phones_press_at_once_and_both_are_kept(open_tab: Open, own: Served) -> None:
    tabs = [open_tab(), open_tab()]
    for tab, who in zip(tabs, ("asta", "bo"), strict=True):
        tab.goto(f"{own.base}/e/{EVENT}/jobs/{who}")

    for tab in tabs:
        tab.locator(PRESS).tap()

    for tab in tabs:
        tab.wait_for_function(ALL_DELIVERED)
    assert {s["entry"]["helper_id"] for s in diary(own.base)} == {"asta", "bo"}


def test_without_scripts_a_press_counts_as_well(open_tab: Open, own: Served) -> None:
    tab = open_tab(java_script_enabled=False)
    tab.goto(f"{own.base}/e/{EVENT}/jobs/bo")

    tab.locator(PRESS).tap()

    expect(tab.locator(".undo.last")).to_be_visible()
    assert len(diary(own.base)) == 1
    tab.get_by_role("link", name="Trouble").locator("visible=true").tap()
    tab.get_by_role("button", name="Broken").tap()
    expect(tab.locator(".view:target")).to_contain_text("Turn it away from the sun")
    assert kinds(own.base) == ["aimed", "out-of-action"]


def test_trouble_asks_where_says_what_to_do_and_all_phones_show_who_is_hurt(
    open_tab: Open, own: Served
) -> None:
    asta, bo = open_tab(), open_tab()
    for tab, who in ((asta, "asta"), (bo, "bo")):
        tab.goto(f"{own.base}/e/{EVENT}/jobs/{who}")

    link = asta.get_by_role("link", name="Trouble").locator("visible=true")
    here = str(link.get_attribute("data-cooker"))
    link.tap()
    expect(asta.locator(".where :checked")).to_have_value(here)
    asta.locator(".where label", has_text="Mirror 2").tap()
    asta.get_by_role("button", name="Someone is hurt").tap()

    expect(asta.locator(".view:target")).to_contain_text("cool running water")
    expect(asta.locator(".view:target")).to_contain_text("the farm's number")
    expect(bo.locator(".alert")).to_contain_text("Somebody is hurt, Mirror 2, Asta")
    (stored,) = diary(own.base)
    assert stored["entry"]["cooker_id"] == "mirror-2"


def test_over_plain_http_by_name_it_counts_and_keeps_presses(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"http://farm.test:{own.port}/e/{EVENT}/jobs/asta")
    assert not tab.evaluate("() => isSecureContext")

    tab.locator(PRESS).tap()

    tab.wait_for_function(ALL_DELIVERED)
    assert len(diary(own.base)) == 1


@pytest.mark.parametrize("size", ["narrow", "phone"])
def test_narrow_and_in_forced_colours_nothing_runs_off(
    open_tab: Open, server: str, size: str
) -> None:
    tab = open_tab(size, forced_colors="active")
    pages = ("/jobs/asta", "/jobs/asta#trouble", "/jobs/asta#now-hurt", "/stations/mirror-1")
    pages += ("/board", "/today", "/now", "/plan/dishes", "/plan/helpers", "/batch/rice-1", "/go")
    for page in pages:
        tab.goto(f"{server}/e/{EVENT}{page}")
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= SIZES[size]["width"], (
            page
        )
