"""The board on screens of every usual size: all dishes in turn, nothing cut, no scroll."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.app import Door, Served, with_sample
from tests.browser.conftest import Open
from tests.browser.test_screens import axe_finds_nothing
from tests.conftest import sample_event, sample_plan

BOARD = "/e/sun-cook-off-2027-08-14/board"
SCREENS = {
    "full HD": (1920, 1080),
    "laptop": (1366, 768),
    "projector": (1280, 720),
    "phone sideways": (740, 360),
}
# What sticks out of the screen, or of what holds it.
CUT = """() => {
  const bar = document.querySelector(".safe").getBoundingClientRect();
  const seen = [...document.querySelectorAll("main *")].filter(e => e.getClientRects().length);
  return seen.filter(e => !e.closest("svg svg, symbol")).filter(e => {
    const box = e.getBoundingClientRect();
    const in_bar = e.closest(".safe");
    return box.right > innerWidth + 1 || box.left < -1 || box.top < -1
      || box.bottom > (in_bar ? innerHeight : bar.top) + 1;
  }).map(e => e.outerHTML.slice(0, 120));
}"""


@pytest.fixture(scope="module")
def cook_off(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    door = Door(tmp_path_factory.mktemp("cook-off"))
    door.now = datetime(2027, 8, 14, 16, 32, tzinfo=UTC)  # 10:32 there
    with_sample(door, "cook-off")
    served = Served(door)
    yield served
    served.stop()


def foods_seen(tab: Page) -> list[str]:
    return [f for f in tab.locator(".menu li .food:visible").all_inner_texts() if f]


@pytest.mark.parametrize("size", SCREENS)
def test_every_dish_has_its_turn_and_nothing_is_cut(
    open_tab: Open, cook_off: Served, size: str
) -> None:
    width, height = SCREENS[size]
    tab = open_tab("desk")
    tab.set_viewport_size({"width": width, "height": height})
    # By a name that other phones could reach, so that the code for them has its page too.
    tab.goto(cook_off.base.replace("127.0.0.1", "farm.test") + BOARD)
    dots = tab.locator(".pageturn i")
    expect(dots.first).to_be_visible()

    seen: list[str] = []
    for page in range(dots.count()):
        assert tab.evaluate(CUT) == [], f"page {page + 1}"
        assert tab.evaluate("() => document.documentElement.scrollHeight") <= height
        expect(tab.locator(".safe")).to_be_in_viewport(ratio=1)
        seen += foods_seen(tab)
        tab.locator(".pageturn").click()

    event, plan = sample_event("cook-off"), sample_plan("cook-off")
    placed = {p.dish_id for p in plan.placements}
    assert len(placed) == 15
    assert sorted(seen) == sorted(d.name for d in event.dishes if d.id in placed)
    axe_finds_nothing(tab)


def test_it_turns_its_pages_by_itself(open_tab: Open, cook_off: Served) -> None:
    tab = open_tab("desk")
    tab.clock.install()
    tab.goto(cook_off.base + BOARD)
    first = foods_seen(tab)

    tab.clock.fast_forward(12_100)

    assert set(first).isdisjoint(foods_seen(tab))


def test_without_scripts_and_on_an_upright_phone_it_is_one_list(
    open_tab: Open, cook_off: Served
) -> None:
    for scripts in (True, False):
        tab = open_tab("phone", java_script_enabled=scripts)
        tab.goto(cook_off.base + BOARD)

        expect(tab.locator(".menu li .food:visible")).to_have_count(15)
        expect(tab.locator(".safe")).to_be_in_viewport(ratio=1)


def test_news_that_do_not_come_are_said_and_a_clock_never_stands_unseen(
    open_tab: Open, tmp_path: Path
) -> None:
    served = Served(with_sample(Door(tmp_path)))
    tab = open_tab("desk")
    tab.clock.install()
    tab.goto(f"{served.base}/e/harvest-lunch-2026-11-28/board")
    expect(tab.locator(".nowc")).to_have_text("now 10:30")
    served.stop()

    for _ in range(4):
        tab.clock.run_for(20_000)

    expect(tab.locator(".nowc")).to_have_text("no news since 10:30")
