"""The page of paper in a real browser: how many pages each part takes, and all that is ticked."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.app import EVENT
from tests.browser.conftest import Open


def test_each_part_says_its_pages_and_the_sum_follows_the_ticks(
    open_tab: Open, server: str
) -> None:
    tab = open_tab()
    tab.goto(f"{server}/e/{EVENT}/paper")
    line = tab.locator("#pages-all")
    expect(line).to_contain_text("in all")
    parts = tab.locator("label", has=tab.locator("[name=part]:checked")).locator("output")
    counts = [int(text.split()[0]) for text in parts.all_inner_texts()]
    expect(line).to_contain_text(f"{sum(counts)} pages in all")

    tab.locator("[name=part][value=cards]").uncheck()

    cards = int(
        tab.locator("label", has=tab.locator("[value=cards]")).inner_text().split(" pages")[0][-2:]
    )
    expect(line).to_contain_text(re.compile(rf"^{sum(counts) - cards} pages in all"))
