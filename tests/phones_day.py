"""Eight phones on a bad network, a day long: none lost, none doubled, times and countdowns true.

Real pages in a real browser; the clocks of service and phones are moved by the script, a minute at
a time. Phones are up to twenty minutes off, one helper has two, one sleeps for an hour again and
again; half of them open the page over plain http. The network drops for seconds to twenty minutes,
or a captive portal answers in our place.
"""

from __future__ import annotations

import random
import tempfile
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
from playwright.sync_api import Browser, BrowserContext, Page, Route, sync_playwright

from events.reading.write import write_event
from tests.app import Door, Served, planned, put_in
from tests.browser.conftest import CHROMIUM
from tests.scale import grown

PRESSES = 2000
DAY_MIN = 600
SLACK = timedelta(seconds=5)
STEP_MIN = 2
# Time stands while anything is on its way: clocks that are moved one after the other would lie.
# News by the stream come at any time, so here phones only ask; tests/browser tries the stream.
COUNTED = """
delete window.EventSource;
window.onTheWay = 0;
const real = window.fetch;
window.fetch = async (...how) => {
  await window.gate; // while the clocks are moved nothing sets out
  window.onTheWay += 1;
  try { return await real(...how); } finally { window.onTheWay -= 1; }
};
"""
SKEWS_MIN = (-20, 20, 0, 7, -7, 12, -3, 0, 20)
ACT = """([what, text]) => {
  const before = new Set(Object.keys(localStorage));
  const press = ".current > .bar .done, .current .cur > .stop > .bar .done";
  const button = {
    press: () => {
      const due = Date.parse(document.querySelector(".job.current")?.dataset.at);
      const { low, high } = JSON.parse(localStorage["noonfare-clock"]);
      return due - Date.now() - (low + high) / 2 < 180_000 && document.querySelector(press);
    },
    undo: () => document.querySelector("form.undo.last:not([hidden]) button"),
    note: () => {
      const field = document.querySelector("#trouble [name=note]");
      field.value = text;
      return field.form.querySelector("button");
    },
    cloud: () => document.querySelector("#cloud-length button"),
    sun: () => document.querySelector("#trouble button[value=sun]"),
  }[what]();
  if (!button) return [];
  button.disabled = false; // a hand takes longer than this script
  button.click();
  if (location.hash) location.hash = "";
  return Object.keys(localStorage)
    .filter((key) => key.startsWith("noonfare-press-") && !before.has(key));
}"""
LEFT = """() => {
  const job = document.querySelector(".job.current");
  return job && [job.dataset.at, job.querySelector(".left span").textContent,
    job.querySelector(".left small").textContent];
}"""
KEPT = """() => Object.entries(localStorage).filter(([key]) => key.startsWith("noonfare-press-"))
  .map(([key, text]) => [key, JSON.parse(text)])"""


@dataclass
class HelpersPhone:
    """One phone: its page, how its network is, and what was pressed on it, by key."""

    helper_id: str
    context: BrowserContext
    tab: Page
    bad_until: datetime | None = None
    asleep_min: int = 0
    pressed: dict[str, datetime] = field(default_factory=dict)
    off_by: list[float] = field(default_factory=list)


def phones_day(presses: int = PRESSES, seed: int = 7) -> str:
    """Play the day; return what was measured. Raises AssertionError where a press is lost."""
    event = grown(12, 9, 8)
    with tempfile.TemporaryDirectory() as data, sync_playwright() as tool:
        door = Door(Path(data))

        async def put(client: httpx.AsyncClient) -> dict[str, Any]:
            name = (await put_in(client, write_event(event))).json()["id"]
            return {"name": name, "plan": await planned(client, name)}

        made = door(put)
        first = min(datetime.fromisoformat(j["at"]) for j in made["plan"]["jobs"])
        door.now = first - timedelta(minutes=20)
        served = Served(door)
        browser = tool.chromium.launch(
            executable_path=str(CHROMIUM),
            args=["--no-sandbox", "--host-resolver-rules=MAP farm.test 127.0.0.1"],
        )
        try:
            helpers = [h.id for h in event.helpers]
            phones = [
                _opened(browser, served, made["name"], helper_id, k)
                for k, helper_id in enumerate((*helpers, helpers[0]))
            ]
            _play(phones, door, random.Random(seed), presses)
            _deliver(phones, door)
            return _judged(phones, served, made["name"])
        finally:
            browser.close()
            served.stop()


def _opened(
    browser: Browser, served: Served, name: str, helper_id: str, number: int
) -> HelpersPhone:
    plain = number % 2 == 1
    context = browser.new_context(service_workers="block" if plain else "allow", has_touch=True)
    tab = context.new_page()
    tab.add_init_script(COUNTED)
    at = served.door.now + timedelta(minutes=SKEWS_MIN[number])
    tab.clock.install(time=at - timedelta(seconds=1))
    tab.clock.pause_at(at)
    host = "farm.test" if plain else "127.0.0.1"
    tab.goto(f"http://{host}:{served.port}/e/{name}/jobs/{helper_id}")
    tab.wait_for_function("() => localStorage.getItem('noonfare-clock')")
    return HelpersPhone(helper_id, context, tab)


def _play(phones: list[HelpersPhone], door: Door, chance: random.Random, presses: int) -> None:
    """Let the day go by, a minute at a time."""
    each = STEP_MIN * presses / (DAY_MIN * len(phones))
    for _ in range(DAY_MIN // STEP_MIN):
        for phone in phones:
            phone.tab.evaluate(
                "() => { window.gate = new Promise((go) => { window.open_ = go; }); }"
            )
        for phone in phones:
            phone.tab.wait_for_function("() => !window.onTheWay", polling=10)
        door.now += timedelta(minutes=STEP_MIN)
        for phone in phones:
            if phone is phones[7] and not phone.asleep_min and chance.random() < 0.01:
                phone.asleep_min = 60
            if phone.asleep_min:
                phone.asleep_min -= STEP_MIN
                if phone.asleep_min:
                    continue
                phone.tab.clock.fast_forward(60 * 60_000)
            else:
                phone.tab.clock.fast_forward(STEP_MIN * 60_000)
            phone.tab.evaluate("() => window.open_?.()")
            _network(phone, door.now, chance)
            _look(phone, door.now)
            wanted = each * 2.5  # some find nothing to press
            while sum(len(p.pressed) for p in phones) < presses and chance.random() < wanted:
                _act(phone, door, chance)
                wanted -= 1


def _network(phone: HelpersPhone, now: datetime, chance: random.Random) -> None:
    """Have the network go, come back, or answer in our place."""
    if phone.bad_until is not None and now >= phone.bad_until:
        phone.context.set_offline(False)
        phone.tab.unroute("**/*")
        phone.bad_until = None
    elif phone.bad_until is None and chance.random() < 0.06:
        phone.bad_until = now + timedelta(seconds=chance.choice([10, 60, 180, 600, 1200]))
        if chance.random() < 0.4:
            phone.tab.route("**/*", _portal)
        else:
            phone.context.set_offline(True)


def _portal(route: Route) -> None:
    route.fulfill(status=200, content_type="text/html", body="<main>Log in first</main>")


def _look(phone: HelpersPhone, now: datetime) -> None:
    """Note how far the countdown is from the truth, in seconds beyond its own minute."""
    shown = phone.tab.evaluate(LEFT)
    if shown is None or shown[2] not in ("", "min"):
        return
    left_s = (datetime.fromisoformat(shown[0]) - now).total_seconds()
    if shown[1] == "Now":
        phone.off_by.append(max(left_s, 0.0))
        return
    minutes = int(shown[1])
    phone.off_by.append(max(left_s - 60 * minutes, 60 * (minutes - 1) - left_s, 0.0))


def _act(phone: HelpersPhone, door: Door, chance: random.Random) -> None:
    """Press something: mostly the job that is now, sometimes its undo, trouble or words."""
    what = chance.choices(("press", "undo", "note", "cloud", "sun"), (45, 20, 25, 5, 5))[0]
    made = phone.tab.evaluate(ACT, [what, f"note {chance.random()}"])
    phone.pressed |= dict.fromkeys(made, door.now)


def _deliver(phones: list[HelpersPhone], door: Door) -> None:
    """Have every network back, and wait until nothing waits."""
    for phone in phones:
        if phone.asleep_min:
            phone.tab.clock.fast_forward((60 - phone.asleep_min) * 60_000)
        phone.tab.evaluate("() => window.open_?.()")
        phone.context.set_offline(False)
        phone.tab.unroute("**/*")
    waits = "() => [...Object.entries(localStorage)].some(([key, text]) => "
    waits += "key.startsWith('noonfare-press-') && JSON.parse(text).number === null)"
    for phone in phones:
        while phone.tab.evaluate(waits):
            phone.tab.wait_for_function("() => !window.onTheWay", polling=10)
            phone.tab.clock.fast_forward(12_000)
            door.now += timedelta(seconds=12)


def _what(stored: dict[str, Any]) -> tuple[str, str, str]:
    return stored["entry"]["job_id"], stored["entry"]["kind"], stored["happened_at"]


def _judged(phones: list[HelpersPhone], served: Served, name: str) -> str:
    lines = httpx.get(f"{served.base}/api/events/{name}/diary", timeout=None).json()
    stored = {d["stored"]["number"]: d["stored"] for d in lines}
    told: dict[int, list[datetime]] = defaultdict(list)
    lost = 0
    for phone in phones:
        kept = dict(phone.tab.evaluate(KEPT))
        for key, at in phone.pressed.items():
            entry = stored.get(kept[key]["number"])
            if entry is None or entry["entry"]["kind"] != kept[key]["fields"]["kind"]:
                lost += 1
            else:
                told[entry["number"]].append(at)
    pressed = [s for s in stored.values() if s["entry"]["kind"] != "seen"]
    # A press that goes on under another number, as an undoing of an earlier one came in later.
    heard = {_what(stored[n]) for n in told}
    doubled = sum(s["number"] not in told and _what(s) not in heard for s in pressed)
    undone = {s["entry"]["undoes"] for s in pressed}
    standing = [
        s["entry"]["job_id"]
        for s in pressed
        if s["entry"]["job_id"] and s["entry"]["id"] not in undone
    ]
    doubled += len(standing) - len(set(standing))
    wrong_s = [
        min(
            abs((datetime.fromisoformat(stored[n]["happened_at"]) - at).total_seconds())
            for at in ats
        )
        for n, ats in told.items()
    ]
    off = [s for phone in phones for s in phone.off_by]
    made = sum(len(phone.pressed) for phone in phones)
    assert lost == 0, f"{lost} of {made} presses lost"
    assert doubled == 0, f"{doubled} presses doubled"
    assert max(wrong_s) <= SLACK.total_seconds(), f"a press is {max(wrong_s):.0f} s wrong"
    assert max(off) <= SLACK.total_seconds(), f"a countdown is {max(off):.0f} s wrong"
    return (
        f"{made} presses on {len(phones)} phones, {len(pressed)} in the diary, none lost, none "
        f"doubled; times within {max(wrong_s):.1f} s, {len(off)} countdowns within {max(off):.1f} s"
    )
