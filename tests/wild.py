"""Events that nobody made by hand: any place, day, kit, menu, crew and programme; all their pages.

`python -m tests.long wild`: each is put into a service, every page, paper and answer of its own is
asked for, then its day is pressed at random and planned again, and the pages are asked once more.
A plan that broke, a page of 500 or a plan that failed is a fault of ours.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import httpx
from fastapi.routing import APIRoute

from events.errors import FaultyEvent
from events.model import Event
from events.reading.catalogue import entries
from events.reading.event_file import read_table
from events.reading.write import write_event
from service.app import ROUTERS
from tests.app import HTML, Door, put_in

EVENTS = 60
PLACES = (  # latitude, longitude, altitude
    (-54.8, -68.3, 20),
    (69.6, 19.0, 10),
    (-16.5, -68.1, 3640),
    (0.3, 32.6, 1190),
    (28.6, 77.2, 216),
    (64.1, -21.9, 30),
    (-33.9, 18.4, 40),
    (35.7, -105.9, 2190),
    (52.5, 13.4, 40),
    (-36.8, 174.8, 30),
    (21.3, -157.9, 5),
    (31.6, 65.7, 1010),
    (-4.0, 39.7, 20),
    (47.9, 106.9, 1300),
    (-21.1, -175.2, 10),
    (40.4, -3.7, 660),
)
COOKERS, DISHES, POTS = (list(entries(kind)) for kind in ("cooker", "dish", "pot"))
PRESSES = ("aimed", "loaded", "stirred", "probed", "done", "lifted", "served", "discarded")
ABILITIES = ([], ["lift"], ["mirrors", "lift"], ["mirrors", "burner", "lift"])
DAY_PRESSES = ("cloud", "sun", "late", "out-of-action", "gone", "parked", "need-help")


@dataclass
class Found:
    """What came of the events."""

    events: int = 0
    refused: int = 0  # a file with a fault, or a day that is too large: said so
    pages: int = 0
    replans: int = 0
    placed: int = 0
    dishes: int = 0
    faults: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        return (
            f"{self.events} events ({self.refused} more refused in words), {self.placed} of "
            f"{self.dishes} dishes placed, {self.pages} pages, {self.replans} re-plans, "
            f"{len(self.faults)} faults {self.faults[:12]}"
        )


def wild_table(seed: int) -> dict[str, Any]:
    """Return the table of a random event."""
    dice = Random(seed)
    latitude, longitude, altitude = dice.choice(PLACES)
    opens, hours = dice.choice((6, 7, 8, 9)), dice.choice((6, 8, 11, 13))
    closes = min(opens + hours, 22)
    meals = _meals(dice, closes)
    stations = [
        {"id": f"s{k}", "name": f"Place {k}", "x_m": dice.uniform(0, 90), "y_m": 7.0 * k}
        for k in range(dice.randint(1, 3))
    ]
    cookers = [
        {"id": f"c{k}", "like": dice.choice(COOKERS), "name": f"Cooker {k}"}
        | {"station": dice.choice(stations)["id"]}
        for k in range(dice.choice((1, 3, 4, 5, 6, 8, 10)))
    ]
    helpers = [
        {
            "id": f"h{k}",
            "name": f"Helper {k}",
            "from": f"{max(opens - dice.randint(0, 1), 0):02d}:00",
            "until": f"{closes:02d}:30",
            "may": ["mirrors", "burner", "lift"] if k == 0 else dice.choice(ABILITIES),
            "adult": k == 0 or dice.random() < 0.8,
        }
        for k in range(dice.randint(1, 6))
    ]
    return {
        "format": 1,
        "title": f"Wild {seed}",
        "date": (date(2027, 1, 1) + timedelta(days=dice.randrange(730))).isoformat(),
        "units": dice.choice(("metric", "us")),
        "clock_h": dice.choice((12, 24)),
        "wanted_margin_min": dice.choice((0, 10, 20, 40)),
        "chance_pct": dice.choice((60, 80, 90)),
        "vulnerable_guests": dice.random() < 0.15,
        "site": {
            "name": "Meadow",
            "latitude_deg": latitude,
            "longitude_deg": longitude,
            "altitude_m": altitude,
            "opens": f"{opens:02d}:00",
            "closes": f"{closes:02d}:00",
            "turbidity": dice.uniform(2, 6),
            "food_rules": dice.choice(("strictest", "US", "EU", "UK", "UK-SCT", "AU", "NZ")),
            "skyline": [[0, 3], [90, dice.randint(0, 12)], [270, dice.randint(0, 12)]],
        },
        "weather": {
            "hours": [
                {
                    "start": f"{h:02d}:00",
                    "cloud_pct": dice.choice((0, 0, 5, 10, 10, 20, 40, 100)),
                    "air_c": dice.uniform(5, 35),
                    "wind_m_s": dice.choice((0.5, 1, 2, 3, 9)),
                }
                for h in range(opens, closes, 3)
            ]
        },
        "station": stations,
        "cooker": cookers,
        "pot": [{"id": p, "like": p, "count": dice.randint(1, 6)} for p in POTS],
        "meal": meals,
        "dish": [
            {
                "id": f"d{k}",
                "like": dice.choice(DISHES),
                "name": f"Dish {k}",
                "meal": dice.choice(meals)["id"],
                "portions": dice.choice((2, 4, 6, 8, 12, 40)),
                "priority": dice.randint(1, 9),
            }
            for k in range(dice.randint(1, 10))
        ],
        "helper": helpers,
    } | _programme(dice, helpers, cookers, opens, closes)


def _meals(dice: Random, closes: int) -> list[dict[str, Any]]:
    meals: list[dict[str, Any]] = []
    for k in range(dice.choice((1, 1, 2, 3))):
        start = min(60 * dice.choice((10, 11, 12, 13, 13, 14, 16, 18)), 60 * closes - 60)
        end = start + dice.choice((30, 60, 90, 120))
        meal = {"id": f"m{k}", "name": f"Meal {k}", "portions": dice.choice((8, 30, 80))}
        meal |= {"from": _clock(start), "until": _clock(end), "waves": dice.choice((1, 1, 2, 3))}
        meals.append(meal)
    return meals


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _programme(
    dice: Random, helpers: list[Any], cookers: list[Any], opens: int, closes: int
) -> dict[str, Any]:
    """Return talks, and at times groups that go round, for visitors."""
    more: dict[str, Any] = {}
    adults = [h["id"] for h in helpers if h["adult"]]
    if dice.random() < 0.4:
        moment = dice.choice(("first-steam", "boil", "over-100", "turn"))
        more["talk"] = [
            {"id": "t0", "name": "How it works", "minutes": 20, "times": dice.randint(1, 3)}
            | {"speakers": adults, "moment": moment}
        ]
    if dice.random() < 0.3:
        more["group"] = [
            {"id": f"g{k}", "name": f"Group {k}", "people": dice.randint(4, 20)}
            | {"young": dice.random() < 0.5, "adult": f"Teacher {k}"}
            for k in range(dice.randint(2, 4))
        ]
        more["stop"] = [
            {"id": f"p{k}", "name": f"Stop {k}", "cookers": [c["id"]], "station": c["station"]}
            | ({"guide": adults[0]} if k == 0 else {"do": "Look and ask"})
            for k, c in enumerate(cookers[:3])
        ]
        more["rota"] = {"from": f"{opens + 1:02d}:00", "until": f"{closes - 1:02d}:00"}
    return more


def pages(event: Event) -> Iterator[str]:
    """Yield the address of each page, paper and answer of an event, one of each sort."""
    some = {"cooker_id": event.cookers, "helper_id": event.helpers, "dish_id": event.dishes}
    some |= {"stop_id": event.stops, "group_id": event.groups}
    for router in ROUTERS:
        for route in router.routes:
            assert isinstance(route, APIRoute)
            keys = set(re.findall(r"\{(\w+)\}", route.path)) - {"name"}
            ended = route.path.endswith(("/live", "/state"))  # lines of news, which do not end
            if "GET" not in route.methods or "{name}" not in route.path or ended:
                continue
            if all(some.get(key) for key in keys):
                yield re.sub(
                    r"\{(\w+)\}", lambda m: m[0] if m[1] == "name" else some[m[1]][0].id, route.path
                )


def random_entry(event: Event, plan: dict[str, Any], now: datetime, dice: Random) -> dict[str, Any]:
    """Return a press of somebody on the day, by and large a sensible one."""
    body: dict[str, Any] = {"id": f"wild-{dice.getrandbits(40):010x}", "at": now.isoformat()}
    placements = plan["placements"]
    if placements and dice.random() < 0.75:
        placement = dice.choice(placements)
        body |= {"kind": dice.choice(PRESSES), "placement_id": placement["id"]}
        body |= {"cooker_id": placement["cooker_id"]}
        if body["kind"] == "probed":
            body["core_c"] = dice.choice((5, 31, 48, 66, 79, 94))
    else:
        body |= {"kind": dice.choice(DAY_PRESSES), "cooker_id": dice.choice(event.cookers).id}
        body |= {"helper_id": dice.choice(event.helpers).id, "minutes": dice.choice((10, 30, 90))}
    return body


async def _asked(client: httpx.AsyncClient, event: Event, name: str, found: Found) -> None:
    for path in pages(event):
        url = path.replace("{name}", name)
        answer = await client.get(url, headers=HTML if path.startswith("/e/") else {})
        found.pages += 1
        if answer.status_code >= 500:
            found.faults.append(f"{event.title}: {answer.status_code} {path}")


async def _day(client: httpx.AsyncClient, door: Door, seed: int, found: Found) -> None:
    try:
        event = read_table(wild_table(seed), source=f"wild {seed}")
    except FaultyEvent:
        found.refused += 1
        return
    dice = Random(seed)
    zone = ZoneInfo(event.site.timezone)
    door.now = datetime.combine(event.date, time(5), tzinfo=zone) - timedelta(days=1)
    made = await put_in(client, write_event(event))
    if made.status_code != 201:
        found.refused += made.status_code in (413, 422)
        if made.status_code not in (413, 422):
            found.faults.append(f"{event.title}: put in {made.status_code} {made.text[:80]}")
        return
    name = made.json()["id"]
    answer = await client.get(f"/api/events/{name}/plan")
    if answer.status_code != 200:
        found.faults.append(f"{event.title}: plan {answer.status_code} {answer.text[:80]}")
        return
    plan = answer.json()["plan"]
    found.events += 1
    found.dishes += len(event.dishes)
    found.placed += len({p["dish_id"] for p in plan["placements"]})
    await _asked(client, event, name, found)
    for _ in range(1 + seed % 2):
        door.now = datetime.combine(event.date, time(dice.randint(7, 16), 5), tzinfo=zone)
        for _ in range(dice.randint(1, 6)):
            body = random_entry(event, plan, door.now, dice)
            answer = await client.post(f"/api/events/{name}/diary", json=body)
            if answer.status_code >= 500:
                found.faults.append(f"{event.title}: press {body['kind']} {answer.status_code}")
        answer = await client.post(f"/e/{name}/replan", headers=HTML)
        found.replans += 1
        if answer.status_code >= 500 or "broke one of our own rules" in answer.text:
            found.faults.append(f"{event.title}: re-plan {answer.status_code}")
        await _asked(client, event, name, found)


def wild(events: int = EVENTS, first: int = 0) -> str:
    """Plan wild events, open all their pages, press and plan again; return what was found."""
    found = Found()
    with tempfile.TemporaryDirectory() as folder:
        door = Door(Path(folder))

        async def work(client: httpx.AsyncClient) -> None:
            for seed in range(first, first + events):
                await _day(client, door, seed, found)

        door(work)
    return str(found)
