"""The line above an older plan: parts of the page are swapped, and nothing typed is lost."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import expect

from events.table import changed
from tests.app import EVENT, NOON, Door, Served, with_sample
from tests.browser.conftest import Open


@pytest.fixture
def door(tmp_path: Path) -> Door:
    door = Door(tmp_path)
    with_sample(door)
    door.now = NOON - timedelta(days=3)
    return door


@pytest.fixture
def base(door: Door) -> Iterator[str]:
    served = Served(door)
    yield f"{served.base}/e/{EVENT}"
    served.stop()


def edit(door: Door, minutes: int) -> None:
    stored = door.services.events.get(EVENT)
    event = changed(stored.event, wanted_margin_min=minutes)
    door.services.events.change(EVENT, event, etag=stored.fingerprint)


def test_the_new_plan_comes_in_without_a_reload(open_tab: Open, door: Door, base: str) -> None:
    tab = open_tab("desk")
    door.solvers.hold()
    tab.goto(base)
    edit(door, 31)
    tab.goto(base)
    tab.evaluate("window.stays = true")
    expect(tab.locator("#standing h2")).to_have_text("Working out plan 2")
    expect(tab.locator("figure.wide a[aria-label]")).not_to_have_count(0)

    door.solvers.release()

    expect(tab.locator("#standing h2")).to_have_count(0)
    expect(tab.locator("figure.wide a[aria-label]")).not_to_have_count(0)
    assert tab.evaluate("window.stays")


def test_what_is_typed_stays_while_the_line_follows(open_tab: Open, door: Door, base: str) -> None:
    tab = open_tab("desk")
    door.solvers.hold()
    tab.goto(f"{base}/plan/site")
    edit(door, 31)
    tab.goto(f"{base}/plan/site")
    field = tab.locator("main input[type=text], main input:not([type])").first
    field.fill("Half typed")
    expect(tab.locator("#standing h2")).to_have_text("Working out plan 2")

    door.solvers.release()

    expect(tab.locator("#standing h2")).to_have_count(0)
    expect(field).to_have_value("Half typed")


@pytest.mark.parametrize("types_on", [False, True])
def test_a_saved_form_says_when_the_new_plan_is_there(
    open_tab: Open, door: Door, base: str, types_on: bool
) -> None:
    tab = open_tab("phone")
    tab.goto(f"{base}/plan/helpers")
    door.solvers.hold()
    tab.locator("button.done", has_text="Save").click()
    says = tab.locator("#kept-says")
    expect(says).to_have_text("Saved. Updating the plan…")
    field = tab.locator("main input[name='new.name']")
    if types_on:
        tab.locator("main details.fold").last.evaluate("d => { d.open = true }")
        field.fill("Half ty")

    door.solvers.release()

    expect(says).to_have_text("Saved. Plan 2 is ready: 6 of 6 dishes placed.")
    expect(says).to_be_visible()
    expect(field).to_have_value("Half ty" if types_on else "")
