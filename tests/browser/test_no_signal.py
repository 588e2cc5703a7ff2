"""A phone without signal, in a real browser: it stays true, and no press is lost or doubled.

Each is tried with the worker that secure addresses allow, and over plain http without one.
"""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from tests.app import EVENT, NOON, Door, Served, with_sample
from tests.browser.conftest import Open, demo
from tests.browser.phone import (
    ALL_DELIVERED,
    PRESS,
    TITLE,
    Phone,
    Portal,
    diary,
    happened,
    kinds,
)
from tests.process import ServiceProcess

WORKER, PLAIN = "127.0.0.1", "farm.test"
JUST = timedelta(seconds=5)


@pytest.fixture
def line(tmp_path: Path) -> Iterator[list[Served]]:
    """Yield a list whose last server runs; a test that stops it starts it again."""
    door = Door(tmp_path)
    door.now = NOON + timedelta(minutes=2)
    with_sample(door)
    running = [Served(door)]
    yield running
    running[-1].stop()


@pytest.fixture(params=[WORKER, PLAIN])
def phone(request: pytest.FixtureRequest, open_tab: Open, line: list[Served]) -> Phone:
    """Return Asta's phone, with a worker, and over plain http without one."""
    tab = open_tab(service_workers="allow")
    phone = Phone(tab, line[0])
    phone.open(host=request.param)
    if request.param == WORKER:
        phone.saved()
    return phone


def restarted(phone: Phone, line: list[Served]) -> None:
    line.append(line[-1].again())
    phone.served = line[-1]


def test_with_the_server_killed_the_helper_works_on_and_all_arrives_in_order(
    phone: Phone, line: list[Served]
) -> None:
    base, tab = line[0].base, phone.tab
    line[0].stop()

    pressed = [phone.press() for _ in range(4)]
    phone.after(12)
    assert phone.counts_right()
    undone = tab.locator(".current").get_attribute("id")
    phone.press()
    tab.locator(".undo.last button").tap()
    expect(tab.locator(".current")).to_have_attribute("id", str(undone))
    again_at = phone.served.door.now
    phone.press()
    tab.locator(".bar .press:visible").tap()
    tab.get_by_role("button", name="it rocks or tips").tap()
    expect(tab.locator(".view:target")).to_contain_text("cover it, lay it down")
    expect(tab.locator("#signal")).to_contain_text("No signal for 1")
    expect(tab.locator("#signal")).to_contain_text("8 presses wait")

    restarted(phone, line)
    phone.delivered()

    assert len(set(pressed)) >= 2, "the page went on to other jobs"
    stored = [s["entry"] for s in diary(base)]
    assert [e["kind"] for e in stored][-4:-1] == [stored[4]["kind"], "undo", stored[4]["kind"]]
    assert stored[-1]["kind"] == "parked"
    assert len(stored) == len({e["id"] for e in stored}) == 8
    assert abs(happened(base)[0] - (NOON + timedelta(minutes=2))) < JUST
    assert abs(happened(base)[6] - again_at) < JUST
    tab.get_by_role("link", name="Back to my jobs").locator("visible=true").tap()
    expect(tab.locator("#signal")).to_be_hidden()


def test_a_captive_portal_takes_nothing_and_shows_nothing_of_its_own(
    phone: Phone, line: list[Served]
) -> None:
    base, tab = line[0].base, phone.tab
    line[0].stop()
    portal = Portal(line[0].port)

    phone.press()
    phone.after(3)

    expect(tab.locator("#signal")).to_contain_text("This network asks for something first")
    expect(tab.locator("body")).not_to_contain_text("Welcome!")
    assert phone.waiting() == 1
    assert phone.counts_right()
    portal.stop()
    restarted(phone, line)
    phone.delivered()
    assert len(diary(base)) == 1


@pytest.mark.parametrize("host", [WORKER, PLAIN])
@pytest.mark.parametrize(
    ("status", "words"),
    [
        (401, "This link opens nothing any more"),
        (403, "This link opens nothing any more"),
        (404, "This link opens nothing any more"),
        (429, "The service is busy"),
        (503, "The service is busy"),
    ],
)
def test_what_our_own_server_does_not_take_is_kept_and_said(
    open_tab: Open, own: Served, host: str, status: int, words: str
) -> None:
    phone = Phone(open_tab(), own)
    phone.open(host=host)
    stamp = {"noonfare-now": own.door.now.isoformat()}
    phone.tab.route("**/diary", lambda r: r.fulfill(status=status, headers=stamp, body="{}"))

    phone.press()
    expect(phone.tab.locator("#signal")).to_contain_text(words)
    phone.after(0.5)

    assert phone.waiting() == 1
    phone.tab.unroute("**/diary")
    phone.delivered()
    assert len(diary(own.base)) == 1


def test_what_is_refused_is_shown_until_it_is_struck_out(open_tab: Open, own: Served) -> None:
    tab = open_tab()
    tab.goto(f"{own.base}/e/{EVENT}/stations/mirror-1")

    tab.locator("[name=reading]").first.fill("hot")
    tab.locator("form.read button").first.tap()
    expect(tab.locator("#signal")).to_contain_text("1 refused")
    tab.locator("[name=reading]").first.fill("78,5")
    tab.locator("form.read button").first.tap()
    tab.wait_for_function(ALL_DELIVERED)

    assert [s["entry"]["core_c"] for s in diary(own.base)] == [78.5]
    tab.locator("#signal summary").tap()
    expect(tab.locator("#signal")).to_contain_text("“hot” is not a number. Write 78 or 78.5.")
    tab.get_by_role("button", name="Strike it out").tap()
    expect(tab.locator("#signal")).to_be_hidden()


@pytest.mark.parametrize("host", [WORKER, PLAIN])
@pytest.mark.parametrize("ahead_min", [-20, 20])
def test_a_phone_whose_clock_is_off_counts_right_and_presses_get_their_true_time(
    open_tab: Open, line: list[Served], host: str, ahead_min: int
) -> None:
    phone = Phone(open_tab(), line[0], ahead=timedelta(minutes=ahead_min))
    phone.open(host=host)
    base = line[0].base
    phone.tab.clock.run_for(1_000)
    assert phone.counts_right()
    line[0].stop()

    pressed_at = phone.served.door.now
    phone.press()
    phone.after(10)
    assert phone.counts_right()
    restarted(phone, line)
    phone.delivered()

    assert abs(happened(base)[0] - pressed_at) < JUST


@pytest.mark.parametrize("host", [WORKER, PLAIN])
def test_a_slow_service_gets_each_press_once_and_teaches_no_wrong_time(
    open_tab: Open, own: Served, host: str
) -> None:
    phone = Phone(open_tab(), own)
    phone.open(host=host)
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    phone.tab.route("**/diary", hold)
    phone.tab.route("**/state", hold)
    pressed_at = own.door.now

    phone.press()
    phone.after(0.5)
    expect(phone.tab.locator("#signal")).to_contain_text("Sending 1 press")
    for route in held:
        route.continue_()
    phone.tab.unroute("**/diary")
    phone.tab.unroute("**/state")
    phone.delivered()

    assert abs(happened(own.base)[0] - pressed_at) < JUST
    assert len(diary(own.base)) == 1
    phone.after(1)
    assert phone.counts_right()


@pytest.mark.parametrize("host", [WORKER, PLAIN])
def test_a_phone_that_slept_an_hour_is_right_when_it_wakes(
    open_tab: Open, line: list[Served], host: str
) -> None:
    phone = Phone(open_tab(), line[0], ahead=timedelta(minutes=7))
    phone.open(host=host)
    phone.tab.clock.run_for(1_000)
    line[0].stop()

    phone.asleep(60)
    phone.tab.clock.run_for(2_000)

    assert phone.counts_right()
    expect(phone.tab.locator("#signal")).to_contain_text("No signal for 60 min")
    expect(phone.tab.locator("#signal")).to_contain_text("old: ask before you load")
    expect(phone.tab.locator(".clock")).to_have_text("11:32")
    restarted(phone, line)


def test_two_phones_of_one_helper_press_the_same_job_once(open_tab: Open, own: Served) -> None:
    phones = [Phone(open_tab(), own), Phone(open_tab(), own)]
    for phone in phones:
        phone.open()
        phone.tab.context.set_offline(True)
        phone.press()

    for phone in phones:
        phone.tab.context.set_offline(False)
        phone.delivered()

    assert len(diary(own.base)) == 1


def test_a_saved_page_opens_with_the_server_dead_says_its_age_and_counts_on(
    open_tab: Open, line: list[Served]
) -> None:
    phone = Phone(open_tab(service_workers="allow"), line[0])
    phone.open("jobs/asta")
    phone.saved()
    job = phone.tab.locator(TITLE).inner_text()
    line[0].stop()
    phone.asleep(15)

    phone.tab.reload()
    phone.tab.clock.run_for(2_000)

    assert phone.tab.locator(TITLE).inner_text() == job
    expect(phone.tab.locator("#signal")).to_contain_text("No signal for 15 min. This is from 10:32")
    assert phone.counts_right()
    phone.press()
    expect(phone.tab.locator("#signal")).to_contain_text("1 press waits")
    restarted(phone, line)
    phone.delivered()


@pytest.fixture(scope="module")
def process(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServiceProcess]:
    """Yield a server that can be stopped in the middle of what it does."""
    process = demo(tmp_path_factory.mktemp("data"), "--name", PLAIN)
    yield process
    process.stop()


@pytest.mark.parametrize("host", [WORKER, PLAIN])
def test_a_server_that_stops_in_the_middle_takes_each_press_once(
    open_tab: Open, process: ServiceProcess, host: str
) -> None:
    tab: Page = open_tab(service_workers="allow")
    before = len(diary(process.base))
    port = process.base.rpartition(":")[2]
    tab.goto(f"http://{host}:{port}/e/{EVENT}/jobs/bo")
    tab.wait_for_function("() => localStorage.getItem('noonfare-clock')")
    started = datetime.now()
    os.killpg(process.child.pid, signal.SIGSTOP)
    try:
        job = tab.locator(".current").get_attribute("id")
        while tab.locator(".current").get_attribute("id") == job:
            tab.locator(PRESS).tap()
        # It is being sent; on a slow machine the service has been silent for too long by then.
        expect(tab.locator("#signal")).to_contain_text(re.compile("Sending|wait"))
        expect(tab.locator(TITLE)).to_be_visible()
    finally:
        os.killpg(process.child.pid, signal.SIGCONT)
    took = datetime.now() - started

    tab.wait_for_function(ALL_DELIVERED)

    stored = diary(process.base)[before:]
    assert len(stored) == len({s["entry"]["job_id"] for s in stored}) > 0
    for s in stored:
        late = datetime.fromisoformat(s["received_at"]) - datetime.fromisoformat(s["happened_at"])
        assert late < took + JUST
    assert set(kinds(process.base)) <= {"aimed", "loaded", "lifted", "done", "served"}
