"""A contest and groups typed in the planner in a real browser: without a script, and with one."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.app import EVENT, Served
from tests.browser.conftest import SIZES, Open
from tests.browser.test_screens import axe_finds_nothing


def test_ten_teams_are_typed_at_once_without_a_script(open_tab: Open, own: Served) -> None:
    tab = open_tab(java_script_enabled=False)
    tab.goto(f"{own.base}/e/{EVENT}/plan/talks")
    own.door.solvers.hold()

    tab.get_by_role("link", name="this day is a contest").click()
    tab.locator("[name=teams]").fill("2")
    tab.get_by_role("button", name="Make it a contest").click()
    tab.get_by_role("link", name="Teams").click()
    tab.get_by_text("Add more").click()
    for n in range(1, 11):
        tab.locator(f"[name='new{n}.name']").fill(f"Late {n}")
        tab.locator(f"[name='new{n}.dish']").select_option("lentil-soup")
        tab.locator(f"[name='new{n}.brings']").select_option("box-hot")
    tab.locator("[name='new7.people']").fill("a few")
    tab.get_by_role("button", name="Save").click()

    expect(tab.get_by_role("alert")).to_contain_text("Late 7, People")
    expect(tab.locator("[name='new10.name']")).to_have_value("Late 10")
    tab.locator("[name='new7.people']").fill("3")
    tab.get_by_role("button", name="Save").click()
    expect(tab.locator("fieldset.entry")).to_have_count(12)
    for name in ("Entries", "Their cookers", "Places", "Judges", "Points", "Rules"):
        tab.get_by_role("link", name=name).first.click()
        expect(tab.get_by_role("button", name="Save")).to_be_visible()
    event = own.door.services.events.get(EVENT).event
    assert [len(rows) for rows in (event.teams, event.entries, event.contest_cookers)] == [12] * 3


def test_rows_to_add_are_two_and_more_at_a_press(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/plan/contest")
    own.door.solvers.hold()
    tab.get_by_role("button", name="Make it a contest").click()
    tab.goto(f"{own.base}/e/{EVENT}/plan/places")
    tab.get_by_text("Add more").tap()
    rows = tab.locator("details.adding fieldset.short")
    expect(rows.locator("visible=true")).to_have_count(2)

    for _ in range(2):
        tab.get_by_role("button", name="One more row").tap()
    tab.locator("[name='new4.name']").fill("Under the oak")

    expect(rows.locator("visible=true")).to_have_count(4)
    tab.reload()  # what was typed is kept, and seen
    expect(tab.locator("[name='new4.name']")).to_have_value("Under the oak")
    expect(tab.locator("[name='new4.name']")).to_be_visible()
    tab.get_by_role("button", name="Save").tap()
    expect(tab.locator("#kept-says")).to_contain_text("Saved")
    assert "Under the oak" in [s.name for s in own.door.services.events.get(EVENT).event.stations]


PAGES = (
    *("contest", "teams", "entries", "contest-cookers", "places", "judges", "criteria"),
    *("rota", "groups", "stops"),
)
AXED = ("entries", "stops")  # every sort of field is in one of them


def test_the_forms_of_both_parts_fit_with_all_open_and_axe_finds_nothing(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/plan/contest")
    own.door.solvers.hold()
    axe_finds_nothing(tab)
    tab.get_by_role("button", name="Make it a contest").click()
    tab.goto(f"{own.base}/e/{EVENT}/plan/rota")
    tab.get_by_role("button", name="Make the groups").click()

    for page in PAGES:
        tab.goto(f"{own.base}/e/{EVENT}/plan/{page}")
        tab.evaluate("() => document.querySelectorAll('details').forEach(d => { d.open = true; })")
        for size in SIZES.values():
            tab.set_viewport_size(size)
            assert tab.evaluate("() => document.documentElement.scrollWidth") <= size["width"], page
        if page in AXED:
            axe_finds_nothing(tab)


def test_what_was_typed_into_a_fold_comes_back_after_a_reload(open_tab: Open, own: Served) -> None:
    tab = open_tab("desk")
    tab.goto(f"{own.base}/e/{EVENT}/plan/contest")
    own.door.solvers.hold()
    tab.get_by_role("button", name="Make it a contest").click()
    tab.goto(f"{own.base}/e/{EVENT}/plan/judges")
    tab.get_by_text("More of Judge 2").click()
    tab.locator("[name='j2.kin']").nth(1).check()

    tab.reload()

    expect(tab.locator("[name='j2.kin']").nth(1)).to_be_checked()
    expect(tab.locator("[name='j2.kin']").nth(1)).to_be_visible()
    expect(tab.get_by_text("More of Judge 1").locator("..")).not_to_have_attribute("open", "")
