"""What a newcomer types into the first page, and an event as the API returns it."""

from __future__ import annotations

from typing import Any

import httpx

from tests.app import EVENT

FIRST = {
    "where": "https://maps.example/@51.48,0.02,15z",
    "title": "Youth day",
    "date": "2027-06-12",
    "meal": "13:00",
    "mealname": "Lunch",
    "people": "12",
    "units": "us",
    "helpers": "Ida, Per",
    "count.mirror-140cm": "2",
    "count.box-large": "1",
    "count.gas-ring": "1",
    "pot.pot-5l": "4",
    "pot.pot-8l": "2",
    "dish": ["rice", "lentil-soup"],
}


async def event(client: httpx.AsyncClient, name: str = EVENT) -> dict[str, Any]:
    return dict((await client.get(f"/api/events/{name}")).json())
