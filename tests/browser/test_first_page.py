"""The first page in a real browser: what opens, moves, comes back and is typed over."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, Route, expect

from tests.app import Served
from tests.browser.conftest import Open


def part(tab: Page, name: str) -> Locator:
    """Return a part of the first page, as it is on a phone."""
    return tab.locator("details.fold", has=tab.locator("summary", has_text=name))


def test_a_press_on_a_part_that_opened_by_itself_leaves_it_open(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/new")
    tab.locator("[name=people]").fill("120")
    tab.get_by_text("Bean stew", exact=True).tap()
    sides = part(tab, "Sides")
    expect(sides).to_have_attribute("open", "")

    sides.locator("summary").tap()

    expect(sides).to_have_attribute("open", "")
    expect(sides.locator("summary")).to_be_in_viewport()
    sides.locator("summary").tap()
    expect(sides).not_to_have_attribute("open", "")


def test_no_heading_moves_while_a_finger_is_on_it(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    tab.route("**/places?*", hold)
    tab.goto(f"{own.base}/new")
    with tab.expect_request("**/places?*"):
        tab.locator("[name=where]").fill("tucson")
    head = part(tab, "Crew, visitors").locator("summary")
    tab.evaluate("() => window.scrollTo(0, 200)")  # clear of the bar with the button
    box = head.bounding_box()
    assert box is not None
    at = {"x": box["x"] + 40, "y": box["y"] + box["height"] / 2}
    finger = tab.context.new_cdp_session(tab)
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [at]})

    with tab.expect_response("**/places?*"):
        held.pop().continue_()
    tab.evaluate("() => new Promise((done) => setTimeout(done, 200))")

    assert head.bounding_box() == box
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(part(tab, "Crew, visitors")).to_have_attribute("open", "")
    expect(tab.locator("#places")).to_contain_text("Tucson")


def test_a_page_that_comes_back_filled_can_be_started_afresh(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/new")
    afresh = tab.get_by_role("button", name="Start afresh")
    expect(afresh).to_be_hidden()
    tab.locator("[name=where]").fill("47.1, 9.2")
    tab.locator("[name=people]").fill("120")
    tab.get_by_role("button", name="Make the plan").tap()
    tab.wait_for_url("**/e/**")
    tab.goto(f"{own.base}/new")
    expect(tab.locator("[name=people]")).to_have_value("120")

    afresh.tap()

    expect(tab.locator("[name=people]")).to_have_value("20")
    expect(tab.locator("[name=where]")).to_have_value("")
    expect(afresh).to_be_hidden()


def test_a_town_takes_the_place_of_what_stood_there(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/new")
    where = tab.locator("[name=where]")
    where.fill("Tucson")
    tab.locator("[name=people]").tap()

    where.tap()
    tab.keyboard.type("Asheville")

    expect(where).to_have_value("Asheville")
    where.tap()  # once more sets the caret
    assert where.evaluate("field => field.selectionStart === field.selectionEnd")
