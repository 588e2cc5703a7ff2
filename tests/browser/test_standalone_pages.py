"""The page to send: opened from a file with the network off, the clock moved through the day."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from service.paper.standalone_pages import write_pages
from service.text.run_sheet import items_of_helper
from solver.plan import EVERYBODY
from tests.browser.conftest import Open
from tests.conftest import sample_event, sample_plan


def test_it_counts_down_by_the_phones_clock_without_a_network(
    open_tab: Open, tmp_path: Path
) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    write_pages(event, plan, tmp_path, name="x")
    # What is work of all lasts, and stays on top while it does, as setting up before the first.
    jobs = [j for j in items_of_helper(event, plan, "asta") if j.kind not in EVERYBODY][1:]

    for job in (jobs[0], jobs[3], jobs[-1]):
        tab = open_tab(offline=True)
        tab.clock.install(time=job.at - timedelta(minutes=3))
        tab.goto((tmp_path / "helper-asta.html").as_uri())
        box = tab.locator("#next")
        assert box.inner_text().startswith("3 min")
        assert job.title in box.inner_text()
        tab.clock.fast_forward(181_000)
        assert box.inner_text().startswith("Now")
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= 360


def test_without_scripts_it_is_the_whole_list(open_tab: Open, tmp_path: Path) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    write_pages(event, plan, tmp_path, name="x")

    tab = open_tab(java_script_enabled=False, offline=True)
    tab.goto((tmp_path / "helper-bo.html").as_uri())

    assert tab.locator("li").count() == len(items_of_helper(event, plan, "bo"))
