"""One who subscribes to a calendar, and days that change: what a calendar must bear."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta

import httpx
from icalendar import Calendar
from icalendar import Event as Entry

from events.model import Event
from events.reading.samples import sample_text
from events.reading.write import write_event
from events.table import changed
from service.text.run_sheet import RunSheetItem, items_of_helper
from solver.plan import Plan
from tests.app import TOML, Door, put_in
from tests.conftest import sample_event

SAMPLE = "school-day"
Line = tuple[datetime, datetime, str]


@dataclass
class Subscriber:
    """A calendar that takes in each feed as an update: nothing is dropped unless cancelled."""

    entries: dict[str, Entry] = field(default_factory=dict)

    def take(self, feed: bytes) -> None:
        """Take a feed in, as RFC 5546 says: a newer sequence replaces, an older one is ignored."""
        for entry in Calendar.from_ical(feed).walk("VEVENT"):
            uid, old = str(entry["uid"]), self.entries.get(str(entry["uid"]))
            if old is not None and _content(old) != _content(entry):
                assert entry["sequence"] > old["sequence"], uid
                assert entry["dtstamp"].dt > old["dtstamp"].dt, uid
            if old is None or entry["sequence"] >= old["sequence"]:
                self.entries[uid] = entry

    def lines(self) -> list[Line]:
        """Return what stands in it: when, until when, what."""
        return sorted(
            (e["dtstart"].dt, e["dtend"].dt, str(e["summary"]))
            for e in self.entries.values()
            if str(e["status"]) == "CONFIRMED"
        )


def _content(entry: Entry) -> tuple[str, ...]:
    keys = ("dtstart", "dtend", "summary", "description", "status")
    return tuple(str(entry[k].dt if hasattr(entry.get(k), "dt") else entry.get(k)) for k in keys)


def lines_of(items: Sequence[RunSheetItem]) -> list[Line]:
    """Return what a calendar must hold for these items."""
    return sorted((i.at, i.ends_at, f"{i.title} {i.food}".strip()) for i in items)


def other_day(event: Event, rng: random.Random) -> Event:
    """Return an event changed in some of what organisers change."""
    shift = timedelta(minutes=15 * rng.randint(-2, 3))

    def moved(clock: time) -> time:
        return (datetime.combine(event.date, clock) + shift).time()

    meals = tuple(changed(m, start=moved(m.start), end=moved(m.end)) for m in event.meals)
    kept = [d for d in event.dishes if rng.random() < 0.8] or list(event.dishes)[:1]
    share = rng.uniform(0.6, 1.1)
    dishes = tuple(changed(d, portions=max(1, round(d.portions * share))) for d in kept)
    ids = {d.id for d in dishes}
    talks = tuple(
        changed(t, at=moved(t.at), dish=None, stage=None)
        for t in event.talks
        if t.dish is None or t.dish in ids
    )
    return changed(event, meals=meals, dishes=dishes, talks=talks)


async def followed(door: Door, client: httpx.AsyncClient, times: int, seed: int = 0) -> str:
    """Change a day many times; after each change every calendar equals the plan."""
    rng, event = random.Random(seed), sample_event(SAMPLE)
    name = (await put_in(client, sample_text(SAMPLE))).json()["id"]
    addresses = {h.id: await _address(client, name, h.id) for h in event.helpers}
    subscribers = {h: Subscriber() for h in addresses}
    changes, cancelled = 0, 0
    for _ in range(times):
        door.now += timedelta(minutes=7)
        today = other_day(event, rng)
        etag = (await client.get(f"/api/events/{name}")).headers["etag"]
        headers = {**TOML, "if-match": etag}
        put = await client.put(f"/api/events/{name}", content=write_event(today), headers=headers)
        assert put.status_code in (200, 202), put.text
        changes += 1
        answer = (await client.get(f"/api/events/{name}/plan")).json()
        assert answer["state"] == "done", answer
        plan = Plan.model_validate(answer["plan"])
        for helper_id, subscriber in subscribers.items():
            feed = await client.get(addresses[helper_id])
            assert feed.status_code == 200, feed.text
            subscriber.take(feed.content)
            assert subscriber.lines() == lines_of(items_of_helper(today, plan, helper_id))
            assert feed.content == (await client.get(addresses[helper_id])).content
    for subscriber in subscribers.values():
        cancelled += sum(str(e["status"]) == "CANCELLED" for e in subscriber.entries.values())
    return f"{changes} changes, {len(addresses)} calendars equal to the plan, {cancelled} cancelled"


async def _address(client: httpx.AsyncClient, name: str, helper_id: str) -> str:
    await client.post(f"/e/{name}/links", data={"role": f"helper:{helper_id}"})
    page = await client.get(f"/e/{name}/jobs/{helper_id}/calendar")
    start = page.text.index("webcal://here") + len("webcal://here")
    return page.text[start : page.text.index('"', start)]
