"""The live day in real browsers: a new plan reaches every phone, a dead line is noticed."""

from __future__ import annotations

from datetime import timedelta

import httpx
from playwright.sync_api import expect

from tests.app import EVENT, HARVEST, NOON, TOML, Served
from tests.browser.conftest import Open

LINE_IS_DEAD_MS = 40_000  # three beats, and the next look at it
# The page looks again every half minute, which would hide a line that brings nothing.
LOOKS_AT_NOTHING_BY_ITSELF = """
const real = window.setTimeout;
window.setTimeout = (work, ms) => (ms === 30_000 ? 0 : real(work, ms));
"""
# The line opens, and then nothing ever comes through it, as in a dead spot.
FIRST_LINE_IS_SWALLOWED = """
const Real = window.EventSource;
let first = true;
window.EventSource = class extends Real {
  constructor(url) {
    super(url);
    this.hole = first;
    first = false;
  }
  addEventListener(kind, take) {
    if (!this.hole) super.addEventListener(kind, take);
  }
};
"""


def test_a_new_plan_reaches_two_phones_by_their_line_and_says_what_changed(
    open_tab: Open, own: Served
) -> None:
    desk, phones = open_tab("desk"), [open_tab("phone"), open_tab("phone")]
    for phone, who in zip(phones, ("asta", "bo"), strict=True):
        phone.add_init_script(LOOKS_AT_NOTHING_BY_ITSELF)
        phone.goto(f"{own.base}/e/{EVENT}/jobs/{who}")
    desk.goto(f"{own.base}/e/{EVENT}/today")
    desk.select_option("select[name=cooker_id]", "mirror-1")

    desk.click("button[value=out-of-action]")
    desk.wait_for_url("**/replan/*")
    expect(desk.get_by_text("Whose jobs change")).to_be_visible()
    desk.get_by_role("button", name="Use this plan").click()

    for phone in phones:
        expect(phone.locator(".news")).to_be_visible()
    assert "New" in phones[1].locator(".news").inner_text()
    phones[1].get_by_role("button", name="I have read it").click()
    expect(phones[1].locator(".news")).to_have_count(0)


def test_a_line_that_is_swallowed_is_noticed_and_the_page_recovers(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.clock.install(time=NOON)
    tab.clock.pause_at(NOON + timedelta(hours=1))
    for script in (LOOKS_AT_NOTHING_BY_ITSELF, FIRST_LINE_IS_SWALLOWED):
        tab.add_init_script(script)
    tab.goto(f"{own.base}/e/{EVENT}")
    with tab.expect_request("**/live*"):
        tab.clock.run_for(2_000)
    late = HARVEST.replace("Harvest lunch", "Late harvest")
    url = f"{own.base}/api/events/{EVENT}"
    with httpx.Client(timeout=None) as client:
        in_force = {"if-match": client.get(url).headers["etag"]}
        client.put(url, content=late, headers=TOML | in_force).raise_for_status()
    assert "Harvest lunch" in tab.content()

    with tab.expect_request("**/live*"):
        tab.clock.run_for(LINE_IS_DEAD_MS)

    expect(tab.locator("body")).to_contain_text("Late harvest")


def test_a_reload_in_the_middle_of_planning_again_loses_nothing(
    open_tab: Open, own: Served
) -> None:
    desk = open_tab("desk")
    desk.goto(f"{own.base}/e/{EVENT}/today")
    broken = {"kind": "out-of-action", "cooker_id": "mirror-1"}
    desk.request.post(f"{own.base}/e/{EVENT}/today", form=broken)
    desk.reload()
    with desk.expect_request("**/replan"):
        desk.evaluate(
            """() => {
                const form = document.querySelector("form.one[action$=replan]");
                fetch(form.action, { method: "POST" });
            }"""
        )

    desk.reload()

    expect(desk.locator("h1")).to_contain_text("Now")
    desk.locator("form.one[action$=replan] button").click()
    desk.wait_for_url("**/replan/*")
    expect(desk.get_by_role("button", name="Use this plan")).to_be_visible()


def test_a_cloud_reported_on_a_phone_says_how_long_and_its_end_is_one_press(
    open_tab: Open, own: Served
) -> None:
    phone = open_tab("phone")
    phone.goto(f"{own.base}/e/{EVENT}/jobs/bo")
    phone.locator(".current a[href='#trouble']:visible").first.click()

    phone.locator("#trouble a[href='#cloud-length']").click()
    phone.get_by_role("button", name="An hour", exact=True).click()

    expect(phone.get_by_text("Lids shut, keep aiming, wait.")).to_be_visible()
    phone.locator(".view:target .bar a").click()
    expect(phone.get_by_text("Cloud until about 11:30")).to_be_visible()
    phone.get_by_role("button", name="Sun is back").click()
    expect(phone.get_by_text("Cloud until about")).to_have_count(0)
    lines = httpx.get(f"{own.base}/api/events/{EVENT}/diary", timeout=None).json()
    pressed = [d["stored"]["entry"] for d in lines if d["stored"]["entry"]["kind"] != "seen"]
    assert [(e["kind"], e["minutes"]) for e in pressed] == [("cloud", 60), ("sun", None)]
