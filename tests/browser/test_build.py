"""The builder's page in a real browser: sliders move the figures, and a button does without."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import SIZES, Open
from tests.browser.test_screens import axe_finds_nothing

FIGURE = "#figures dd b"


@pytest.mark.parametrize("kind", ["parabolic", "box", "panel"])
def test_the_page_fits_every_screen_and_axe_finds_nothing(
    open_tab: Open, server: str, kind: str
) -> None:
    tab = open_tab("desk")
    tab.goto(f"{server}/build?kind={kind}")

    for name, size in SIZES.items():
        tab.set_viewport_size(size)
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= size["width"], name
        if name in ("phone", "desk"):
            axe_finds_nothing(tab)


def test_a_slider_moves_the_figures_at_once_and_the_address_with_them(
    open_tab: Open, server: str
) -> None:
    tab = open_tab()
    tab.goto(f"{server}/build?kind=box")
    before = tab.locator(FIGURE).first.inner_text()
    slider = tab.get_by_label("A side of the glass")

    slider.fill("80")

    expect(tab.locator(FIGURE).first).not_to_have_text(before)
    expect(slider.locator("xpath=..").locator(".said")).to_have_text("80")
    assert "size_cm=80" in tab.url
    expect(tab.locator("#figures")).to_be_in_viewport()
    expect(tab.get_by_role("button", name="Work it out")).to_be_hidden()


def test_without_scripts_a_button_works_it_out(open_tab: Open, server: str) -> None:
    tab = open_tab(java_script_enabled=False)
    tab.goto(f"{server}/build?kind=parabolic")
    before = tab.locator(FIGURE).first.inner_text()
    tab.get_by_label("Across the mirror").fill("180")

    tab.get_by_role("button", name="Work it out").tap()

    expect(tab.locator(FIGURE).first).not_to_have_text(before)
