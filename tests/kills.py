"""The service is killed hard, again and again: what it acknowledged is there, once, and planned.

Parts of `python -m tests.long`: `kill` on SQLite, `kill-postgres` on a server started here, each
NOONFARE_TEST_KILLS times. Each life of the service ends by kill -9 at a moment drawn by its number:
while it starts, while it brings a database of before forward, while presses come in from three
phones and an event is put in, or while it plans one that it has accepted: then the next life lasts
until that plan is there. A phone sends what was not acknowledged again, under the same id, as ours
do. Services are forked from one that has loaded the program: of the time
between two kills, nine tenths went into loading it.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import tempfile
import time
import urllib.error
import urllib.request
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import sqlalchemy as sa

from events.reading.samples import sample_text
from tests.postgres import postgres_server
from tests.process import ServiceProcess
from tests.zygote import Zygote

PORT = 54337
KILLS = int(os.environ.get("NOONFARE_TEST_KILLS", "500"))
PHONES = 3
EVENT_EVERY = 5  # lives
OPTIONS = ("--open", "--solvers", "1")  # fewer processes start sooner
DAY = sample_text("school-day")


# A database as it was five steps before, with a cooker of the house's own.
OWN = {
    "id": "m",
    "name": "Mirror",
    "kind": "parabolic",
    "litres": 5.0,
    "aperture_m2": 1.1,
    "optical_efficiency": 0.6,
    "marks": {"optical_efficiency": "measured on the day, 3 readings: Lunch"},
}
BEFORE = (
    *(f"DROP TABLE {name}" for name in ("contest_record", "used_code", "ballot", "work")),
    "DROP TABLE own_cooker",
    "CREATE TABLE own_cooker (id TEXT, kept_at TIMESTAMP, source TEXT, body TEXT)",
    "INSERT INTO own_cooker VALUES ('m', '2026-06-10 09:00:00', 'Lunch', :own)",
    "UPDATE alembic_version SET version_num = '0004'",
)


@dataclass
class Sent:
    """What was sent in all lives, and what was acknowledged of it."""

    starts_killed: int = 0
    steps_killed: int = 0
    steps_undone: int = 0  # of these: the database was as before
    kills: int = 0
    ready_s: float = 1.0  # so long the last start took
    plan_s: float = 1.0  # so long the first plan took
    presses: set[str] = field(default_factory=set)
    again: int = 0
    events: list[str] = field(default_factory=list)
    cut_short: int = 0  # of these: their service was killed before the plan was there


def post(service: ServiceProcess, path: str, body: str, kind: str) -> bytes | None:
    """Send something; None where the service was killed before it had acknowledged it."""
    request = urllib.request.Request(service.base + path, body.encode(), {"content-type": kind})
    try:
        with urllib.request.urlopen(request, timeout=20) as answer:
            return bytes(answer.read())
    except urllib.error.HTTPError as refused:
        # A database that starts again; or, in a long life, too many presses from one address.
        assert refused.code in (429, 500, 503), refused.code
        return None
    except (OSError, ValueError, http.client.HTTPException):
        return None


def press(service: ServiceProcess, name: str, key: str) -> bool:
    """Write a note into a day's diary; return whether it was acknowledged."""
    body = {"id": key, "kind": "note", "at": "2027-06-10T09:00:00Z", "note": key}
    path = f"/api/events/{name}/diary"
    return post(service, path, json.dumps(body), "application/json") is not None


@dataclass(frozen=True)
class Place:
    """Where lives are spent: a folder, its database, and what services are forked from."""

    data: Path
    url: str
    zygote: Zygote

    def service(self, *, ready: bool = True) -> ServiceProcess:
        """Start a service."""
        return ServiceProcess(self.data, *OPTIONS, ready=ready, zygote=self.zygote)

    def age(self) -> None:
        """Make the database one of before."""
        with self._begin() as db:
            for step in BEFORE:
                db.execute(sa.text(step), {"own": json.dumps(OWN)} if ":own" in step else {})

    def is_aged(self) -> bool:
        """Return whether it is as before."""
        with self._begin() as db:
            return db.execute(sa.text("SELECT version_num FROM alembic_version")).scalar() == "0004"

    def own_cookers(self) -> int:
        """Return how many own cookers it has."""
        with self._begin() as db:
            return int(db.execute(sa.text("SELECT count(*) FROM own_cooker")).scalar_one())

    @contextmanager
    def _begin(self) -> Iterator[sa.Connection]:
        engine = sa.create_engine(self.url)
        with engine.begin() as db:
            yield db
        engine.dispose()


def _life(place: Place, name: str, sent: Sent, number: int) -> None:
    """Start the service, send to it, kill it at a moment drawn by its number."""
    dice, steps = random.Random(number), number % 5 == 3
    if steps:
        place.age()
    began = time.monotonic()
    service = place.service(ready=False)
    if steps or number % 10 == 9:
        time.sleep(dice.random() * sent.ready_s * (1.2 if steps else 1.0))  # in the middle
        service.kill()
        sent.starts_killed += not steps
        sent.steps_killed += steps
        sent.steps_undone += steps and place.is_aged()
        return
    service.wait_until_ready()
    sent.ready_s = time.monotonic() - began
    sent.cut_short += sum(not service.is_planned(event) for event in sent.events[-1:])
    service.wait_for_plans(*sent.events[-1:])
    puts_in = number % EVENT_EVERY == 0
    waits = puts_in and dice.random() < 0.8  # until its event is taken; else it is killed before
    lasts_s = dice.random() * (sent.plan_s if waits else 1.2)

    def phone(k: int) -> tuple[set[str], int]:
        acknowledged, again = set[str](), 0
        for n in range(100_000):
            key = f"life{number:05d}-{k}-{n:05d}"
            if not press(service, name, key):
                break
            acknowledged.add(key)
            if n % 7 == 0:  # the answer was lost on the way: sent once more
                again += press(service, name, key)
        return acknowledged, again

    with ThreadPoolExecutor(PHONES + 1) as hands:
        phones = [hands.submit(phone, k) for k in range(PHONES)]
        if puts_in:
            text = DAY.replace("School day", f"Day {number}")
            made = hands.submit(post, service, "/api/events", text, "application/toml")
            if waits:
                made.result()
        time.sleep(lasts_s)
        service.kill()
        for one in phones:
            acknowledged, again = one.result()
            sent.presses |= acknowledged
            sent.again += again
        if puts_in and (answer := made.result()) is not None:
            sent.events.append(str(json.loads(answer)["id"]))
    sent.kills += 1


def _killed(place: Place) -> str:
    sent, began = Sent(), time.monotonic()
    service = place.service()
    name = service.put_in(DAY)
    put_in_at = time.monotonic()
    service.wait_for_plans(name)
    sent.plan_s = time.monotonic() - put_in_at
    service.stop()
    place.age()
    for number in range(KILLS):
        _life(place, name, sent, number)
        if number % 50 == 49:
            print(f"  {number + 1} kills in {time.monotonic() - began:.0f} s", flush=True)
    service = place.service()
    diary = service.get(f"/api/events/{name}/diary")
    assert isinstance(diary, list)
    stored = Counter(entry["stored"]["entry"]["id"] for entry in diary)
    numbers = [entry["stored"]["number"] for entry in diary]
    service.wait_for_plans(*sent.events)
    service.stop()
    lost = sorted(sent.presses - stored.keys())
    doubled = [key for key, times in stored.items() if times > 1]
    said = (
        f"{sent.kills} kills at work, {sent.starts_killed} while starting, {sent.steps_killed} "
        f"while bringing a database forward ({sent.steps_undone} of these before it was done); "
        f"{len(sent.presses)} presses acknowledged ({sent.again} sent twice), {len(lost)} lost, "
        f"{len(doubled)} doubled; {len(sent.events)} events accepted, all planned, "
        f"{sent.cut_short} of them by the life after the kill"
    )
    assert not lost, (said, lost[:5])
    assert not doubled, (said, doubled[:5])
    assert len(numbers) == len(set(numbers)), said
    assert place.own_cookers() == 1, said
    return said


def kill() -> str:
    """Kill a service on SQLite."""
    with tempfile.TemporaryDirectory() as folder, closing(Zygote()) as zygote:
        return _killed(Place(Path(folder), f"sqlite:///{folder}/noonfare.db", zygote))


def kill_postgres() -> str:
    """Kill a service on PostgreSQL."""
    with (
        postgres_server(PORT) as server,
        tempfile.TemporaryDirectory() as folder,
        closing(Zygote()) as zygote,
    ):
        url = os.environ["NOONFARE_DATABASE"] = server.database("noonfare")
        try:
            return _killed(Place(Path(folder), url, zygote))
        finally:
            del os.environ["NOONFARE_DATABASE"]


PARTS: dict[str, Callable[[], str]] = {"kill": kill, "kill-postgres": kill_postgres}
