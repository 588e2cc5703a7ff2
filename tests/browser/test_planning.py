"""Planning from nothing in a real browser: by keyboard alone, by touch alone, while typing."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, expect

from tests.app import EVENT, Served
from tests.browser.conftest import Open
from tests.browser.test_screens import axe_finds_nothing

MOST_KEYS = 110  # tabs through every picker and the twelve months, plus the coordinates
FIRST_PAGE_BYTES = 100_000
PRESSES_AND_FIELDS_MOST = 35  # under 40 is the aim


def test_by_keyboard_alone_a_day_is_planned_from_nothing(open_tab: Open, own: Served) -> None:
    tab = open_tab("desk")
    tab.goto(f"{own.base}/new")
    keys = 0
    while tab.evaluate("() => document.activeElement.name") != "where":
        tab.keyboard.press("Tab")
        keys += 1
        assert keys < 30
    tab.keyboard.type("47.1, 9.2")
    while tab.evaluate("() => document.activeElement.textContent") != "Make the plan":
        tab.keyboard.press("Tab")
        keys += 1
        assert keys < MOST_KEYS

    tab.keyboard.press("Enter")

    tab.wait_for_url("**/e/**")
    tab.goto(f"{own.base}/e/{tab.url.split('/e/')[1].split('/')[0]}")
    expect(tab.locator("figure.wide a[aria-label]")).not_to_have_count(0)


def test_by_touch_alone_a_day_is_planned_from_nothing(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/")

    tab.get_by_role("link", name="Plan an event").tap()
    tab.locator("[name=where]").tap()
    tab.locator("[name=where]").fill("-33.9, 18.4")
    tab.locator(".fold summary", has_text="Sides").tap()
    tab.get_by_text("Beetroot", exact=True).tap()
    tab.get_by_role("button", name="Make the plan").tap()

    tab.wait_for_url("**/e/**")
    tab.goto(f"{own.base}/e/{tab.url.split('/e/')[1].split('/')[0]}/plan/dishes")
    expect(tab.locator(".matrix tr.dish")).to_have_count(3)


def test_minutes_follow_typing_and_nothing_typed_is_lost_by_a_reload(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab("desk")
    tab.goto(f"{own.base}/e/{EVENT}/plan/dishes?dish=rice")
    field = tab.locator("[name='rice.portions']")
    for portions in ("21", "28"):
        with tab.expect_response("**/try/dishes"):
            field.fill(portions)
    expect(tab.locator(".trying")).to_contain_text("as typed")

    field.fill("many")
    expect(tab.locator(".trying")).to_contain_text("Portions")
    tab.reload()

    expect(tab.locator("[name='rice.portions']")).to_have_value("many")


def test_the_table_of_dishes_shows_the_new_plan_as_soon_as_it_is_ready(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab("phone")
    tab.goto(f"{own.base}/e/{EVENT}/plan/dishes")
    own.door.solvers.hold()
    tab.locator("[name='rice.portions']").fill("9")
    tab.get_by_role("button", name="Save and plan again").tap()
    expect(tab.locator("#kept-says")).to_contain_text("Updating the plan")
    old = tab.locator("html").get_attribute("data-revision")

    own.door.solvers.release()

    expect(tab.locator("#kept-says")).to_contain_text("Plan 2 is ready")
    expect(tab.locator("html")).not_to_have_attribute("data-revision", str(old))


def test_who_types_while_a_plan_gets_ready_is_told_that_the_table_is_of_the_one_before(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab("phone")
    tab.goto(f"{own.base}/e/{EVENT}/plan/dishes")
    own.door.solvers.hold()
    tab.locator("[name='rice.portions']").fill("9")
    tab.get_by_role("button", name="Save and plan again").tap()
    expect(tab.locator("#kept-says")).to_contain_text("Updating the plan")
    beetroot = tab.locator("[name='beetroot.portions']")
    beetroot.fill("7")
    expect(tab.locator(".behind")).to_be_hidden()

    own.door.solvers.release()

    expect(tab.locator(".behind")).to_contain_text("still shows the plan before")
    tab.get_by_role("button", name="Show the new one").tap()
    expect(tab.locator(".behind")).to_be_hidden()
    expect(beetroot).to_have_value("7")


def test_the_first_page_is_light(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    sizes: list[int] = []
    tab.on("response", lambda answer: sizes.append(len(answer.body())))

    tab.goto(f"{own.base}/")
    tab.wait_for_load_state("networkidle")

    assert 0 < sum(sizes) < FIRST_PAGE_BYTES


def test_a_batch_in_the_picture_leads_to_its_page(open_tab: Open, own: Served) -> None:
    tab = open_tab("desk")
    tab.goto(f"{own.base}/e/{EVENT}")

    tab.locator("figure.wide a[aria-label='Beetroot']").click()

    expect(tab.get_by_text("What else would work")).to_be_visible()


COOK_OFF_DISHES = (
    *("Bean stew", "Chickpea stew", "Vegetable curry", "Chicken stew"),
    *("Boiled potatoes", "Beetroot", "Hard eggs", "Apple cake", "Baked apples", "Tea"),
)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_cook_off_for_120_is_planned_from_a_towns_name_in_clearly_under_40_presses_and_fields(
    open_tab: Open, own: Served, size: str
) -> None:
    """Ten dishes of one's own, nine cookers counted one by one, hours and names typed."""
    tab = open_tab(size)
    steps = 0

    def fill(**fields: str) -> None:
        nonlocal steps
        for name, text in fields.items():
            tab.locator(f"[name='{name}']").fill(text)
            steps += 1

    def press(what: Locator) -> None:
        nonlocal steps
        what.tap() if size == "phone" else what.click()
        steps += 1

    tab.goto(f"{own.base}/")
    press(tab.get_by_role("link", name="Plan an event"))
    fill(where="tucson")
    expect(tab.locator(".readback")).to_contain_text("Tucson, Arizona")
    fill(date="2026-12-05", mealname="Cook-off", meal="12:30 pm", until="2 pm", people="120")
    fill(title="Our cook-off", crewfrom="8 am", crewuntil="4 pm")
    fill(visitorsfrom="11 am", visitorsuntil="2 pm")
    for dish in (*COOK_OFF_DISHES, "Lentil soup", "Rice"):  # the last two are unticked
        press(tab.get_by_text(dish, exact=True))
    for cooker, more in (("mirror-140cm", 2), ("box-large", 3), ("panel-deep", 1), ("hay-box", 1)):
        for _ in range(more):
            press(tab.locator(f"[name='count.{cooker}'] + [data-add='1']"))
    fill(helpers="Ann, Bo, Cy, Di", sky="clear until noon, then partly cloudy")
    expect(tab.locator("#sum-all")).to_contain_text("420 portions")
    press(tab.get_by_role("button", name="Make the plan"))

    expect(tab.locator("section.verdict h2")).to_contain_text("Cook-off")
    assert steps <= PRESSES_AND_FIELDS_MOST


def test_a_menu_is_ticked_in_one_press_and_its_sum_and_the_button_stay_in_view(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab("phone")
    tab.goto(f"{own.base}/new")
    tab.locator("[name=people]").fill("120")

    tab.get_by_role("button", name="Tick a menu of 10 dishes").tap()

    expect(tab.locator("[name=dish]:checked")).to_have_count(10)
    expect(tab.locator("#sum-all")).to_contain_text("420 portions")
    food, drinks = (tab.locator(f"#sum-{what}").inner_text() for what in ("food", "drinks"))
    kilos = [float(text.split(" kg")[0]) for text in (food, drinks)]
    assert f"{sum(kilos):.0f}" in tab.locator("#sum-all").inner_text()  # all by weight
    for fold in tab.locator(".course .fold").all():
        fold.evaluate("fold => { fold.open = true; }")
    for part in ("Mains", "Cookers you have", "Forecast"):
        tab.locator(".fold summary", has_text=part).scroll_into_view_if_needed()
        bar = tab.locator(".bar").bounding_box()
        assert bar is not None
        assert 0 < bar["y"] <= 740 - bar["height"]
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    axe_finds_nothing(tab)


def test_pots_are_guessed_anew_as_cookers_are_counted_and_a_count_of_ones_own_stays(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab("desk")
    tab.goto(f"{own.base}/new")
    large = tab.locator("[name='pot.pot-12l']")
    expect(large).to_have_attribute("placeholder", "2")
    tab.locator("[name='pot.pot-8l']").fill("3")

    tab.locator("[name='count.mirror-140cm']").fill("4")

    expect(large).to_have_attribute("placeholder", "5")
    expect(tab.locator("[name='pot.pot-8l']")).to_have_value("3")
    expect(tab.locator("#fold-pots")).to_contain_text("8 in all, guessed")
    tab.locator("[name='pot.pot-12l'] + [data-add='1']").click()
    expect(large).to_have_value("6")  # one more than was guessed


def test_what_was_typed_before_the_town_stays_what_it_was(open_tab: Open, own: Served) -> None:
    tab = open_tab("desk")
    tab.goto(f"{own.base}/new")
    tab.get_by_text("Height, units").click()
    tab.locator("[name=altitude]").fill("70")
    tab.locator("[name='count.mirror-120cm']").fill("2")

    tab.locator("[name=where]").fill("tucson")

    expect(tab.locator("form.first")).to_have_attribute("data-units", "us")
    expect(tab.locator("[name=altitude]")).to_have_value("70 m")
    expect(tab.locator("[name='count.mirror-120cm']")).to_have_value("2")
    row = tab.locator("li", has=tab.locator("[name='count.mirror-120cm']"))
    expect(row.get_by_text("47 in across")).to_be_visible()
    expect(row.get_by_text("1.2 m across")).to_be_hidden()


def test_on_a_phone_each_row_of_the_planner_is_folded_until_it_is_opened(
    open_tab: Open, own: Served
) -> None:
    for part in ("dishes", "cookers", "pots", "helpers"):
        tab = open_tab("phone")
        tab.goto(f"{own.base}/e/{EVENT}/plan/{part}")
        first = tab.locator(".fold summary").first
        hidden = tab.locator("main [name$='.name']").first
        expect(hidden).to_be_hidden()

        first.focus()
        tab.keyboard.press("Enter")

        expect(hidden).to_be_visible()
        assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
        axe_finds_nothing(tab)


def test_at_a_desk_portions_are_typed_down_the_column(open_tab: Open, own: Served) -> None:
    tab = open_tab("desk")
    tab.goto(f"{own.base}/e/{EVENT}/plan/dishes")

    for portions in tab.locator("[name$='.portions']:not([name^=new])").all():
        expect(portions).to_be_visible()
    expect(tab.locator("[name='rice.portion_kg']")).to_be_hidden()


def test_what_was_typed_into_a_folded_row_is_seen_when_the_page_is_opened_again(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab("phone")
    tab.goto(f"{own.base}/e/{EVENT}/plan/helpers")
    tab.locator(".fold summary", has_text="Bo").tap()
    tab.locator("[name='bo.name']").fill("Bob")
    tab.evaluate("sessionStorage.clear()")
    tab.goto("about:blank")

    tab.goto(f"{own.base}/e/{EVENT}/plan/helpers")

    expect(tab.locator("[name='bo.name']")).to_be_visible()
    expect(tab.locator("[name='bo.name']")).to_have_value("Bob")
    expect(tab.locator("[name='asta.name']")).to_be_hidden()


def test_what_a_press_brings_comes_beside_it_while_the_page_and_its_focus_stay(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab("phone")
    tab.request.post(f"{own.base}/samples/school-day")
    tab.goto(f"{own.base}/e/school-day-bread-and-soup-from-the-sun-2027-06-10")
    expect(tab.locator(".probs")).to_be_visible()
    for folded in tab.locator(".probs .fold summary").all():
        folded.tap()
    last = tab.locator(".probs button").last
    last.focus()
    tab.evaluate("window.isThisPage = true")

    expect(tab.locator("[data-look]")).to_have_count(0)
    expect(tab.locator(".brings", has_text="of 100, now")).not_to_have_count(0)

    axe_finds_nothing(tab)
    assert tab.evaluate("window.isThisPage")
    assert tab.evaluate("document.activeElement.name") == "fix"
    tab.keyboard.press("Enter")
    expect(tab.locator(".before")).to_contain_text("Before your last change")
    tab.get_by_role("button", name="Undo it").tap()
    expect(tab.locator("main")).to_be_visible()


def test_a_press_on_a_month_moves_the_date_and_keeps_the_focus(open_tab: Open, own: Served) -> None:
    tab = open_tab("phone")
    tab.goto(f"{own.base}/new")
    tab.locator("[name=where]").fill("tucson")
    tab.locator("#months .fold summary").tap()
    june = tab.locator(".months button", has_text="Jun")

    june.focus()
    tab.keyboard.press("Enter")

    expect(tab.locator(".months [aria-pressed=true]")).to_contain_text("Jun")
    assert "-06-" in tab.locator("[name=date]").input_value()
    assert "Jun" in str(tab.evaluate("document.activeElement.textContent"))
    expect(tab.locator(".readback")).to_contain_text("June")
    expect(june).to_be_visible()  # its part stays open
    axe_finds_nothing(tab)
    for month in tab.locator(".months button").all():
        box = month.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44


def test_a_page_that_asks_nothing_of_the_service_speaks_of_no_lost_signal(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.clock.install()
    tab.goto(f"{own.base}/new")
    tab.get_by_label("Town, map link or coordinates").fill("Tucson")

    tab.clock.fast_forward("10:00")
    tab.clock.run_for(2_000)

    expect(tab.locator("#signal")).to_be_hidden()


def test_the_first_page_is_short_on_a_phone_and_shows_the_clock_that_is_usual_there(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/new")
    hours = ("meal", "crewfrom", "crewuntil")
    assert tab.evaluate("() => document.documentElement.scrollHeight") <= 1740

    tab.locator("[name=crewuntil]").evaluate("field => { field.value = 'when all is packed'; }")
    for place, meal, crew in (
        ("Tucson", "12:30 pm", "8:00 am"),
        ("Kisumu", "12:30", "08:00"),
    ):
        tab.locator("[name=where]").fill(place)
        expect(tab.locator("#places")).to_contain_text(place)

        shown = [tab.locator(f"[name={name}]").input_value() for name in hours]
        assert shown == [meal, crew, "when all is packed"]
        expect(tab.locator("#fold-hours")).to_contain_text(crew)
