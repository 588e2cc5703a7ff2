"""Reminders ring five minutes before and when it is due, once each, also after news."""

from __future__ import annotations

from datetime import datetime, timedelta

import httpx
from playwright.sync_api import expect

from tests.app import EVENT, Served
from tests.browser.conftest import Open
from tests.browser.phone import Phone

HEARD = """document.addEventListener("noonfare:rang", (event) => {
  (window.rang ??= []).push([event.detail.kind, event.detail.tag]);
});"""


def test_a_job_rings_before_and_when_due_also_after_news_and_the_switch_says_what_is_on(
    open_tab: Open, own: Served
) -> None:
    tab = open_tab()
    tab.add_init_script(HEARD)
    phone = Phone(tab, own)
    phone.open("jobs/bo")
    jobs = [
        (datetime.fromisoformat(str(job.get_attribute("data-at"))), job.get_attribute("id"))
        for job in tab.locator("#now > .job, #later > .job").all()
    ]
    due, job = min(j for j in jobs if j[0] > own.door.now + timedelta(minutes=10))
    bell = tab.get_by_role("button", name="Reminders")
    expect(bell).to_have_attribute("aria-pressed", "false")

    bell.tap()
    expect(bell).to_contain_text("Reminders on: sound")
    for alerts, minutes in enumerate((6.0, 4.9, 0.0), start=1):
        left = due - timedelta(minutes=minutes) - own.door.now
        own.door.now += left
        tab.clock.fast_forward(left.total_seconds() * 1000)
        tab.clock.run_for(2_000)
        body = {"id": f"somebody-hurt-{alerts}", "kind": "hurt"}
        body |= {"at": own.door.now.isoformat(), "cooker_id": "mirror-1", "helper_id": "asta"}
        url = f"{own.base}/api/events/{EVENT}/diary"
        httpx.post(url, json=body, timeout=None).raise_for_status()
        expect(tab.locator(".alert")).to_have_count(alerts)

    rang = tab.evaluate("() => window.rang")
    assert [kind for kind, tag in rang if tag == job] == ["soon", "due"]
    assert "alert" in [kind for kind, _ in rang]
    bell.tap()
    expect(bell).to_contain_text("Reminders are off")
