"""Is hot food hot when it is eaten? Random cloudy, windy days in a world that shares no code.

`python -m tests.long held [events]`. Each plan's pots are followed in `tests/world.py`, a world
whose day goes as forecast, until their last plate. A pot that is done there must stay over the
hot-holding limit; one that its harsher cooker never gets done is counted apart, for it is not
served: the probe says so.
"""

from __future__ import annotations

import json
import math
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import time

import numpy as np

from events.food_rules import rules_of
from events.model import Event
from events.site import WeatherHour
from events.table import changed
from solver.planning.pipeline import make_plan
from tests.hands import from_plan
from tests.scale import grown
from tests.world import coldest, draw

EVENTS = 300
# This world warms a pot's middle by one time constant and steps by minutes: it may disagree by so
# much with a limit that is kept to the tenth of a degree elsewhere.
WORLD_K = 1.0


@dataclass(frozen=True)
class Followed:
    """What came of an event's hot pots."""

    pots: int
    undone: int
    cold: tuple[str, ...]


def windy_event(seed: int) -> Event:
    """Return a small random event under a random sky: clouds, gusts, cool air, waves."""
    luck = np.random.default_rng(seed)
    event = grown(
        int(luck.integers(2, 6)),
        int(luck.integers(2, 6)),
        int(luck.integers(2, 4)),
        full=int(luck.integers(0, 8)),
    )
    hours = tuple(
        WeatherHour(
            start=time(hour),
            cloud_pct=float(luck.uniform(0, 90)),
            air_c=float(luck.uniform(8, 28)),
            wind_m_s=float(luck.uniform(0, 8)),
        )
        for hour in range(7, 19, 2)
    )
    meals = tuple(
        changed(
            meal,
            waves=int(luck.integers(1, 4)),
            end=time(meal.start.hour + 1, 5 * int(luck.integers(0, 12))),
        )
        for meal in event.meals
    )
    site = changed(event.site, latitude_deg=float(luck.uniform(-50, 55)))
    weather = changed(event.weather, hours=hours)
    return changed(event, site=site, weather=weather, meals=meals, title=f"Windy {seed}")


def followed(seed: int) -> Followed:
    """Return what comes of one event's hot pots in the other world."""
    event = windy_event(seed)
    jobs = from_plan(event, json.loads(make_plan(event).model_dump_json()))
    luck = draw(event, seed, 1, kind=True)
    limit_c = rules_of(event).hot_holding_c - WORLD_K
    hot = [j for j in jobs if event.dish(j.dish_id).serve_hot]
    least = {j.id: float(coldest(event, j, luck)[0]) for j in hot}
    return Followed(
        pots=len(hot),
        undone=sum(math.isinf(c) for c in least.values()),
        cold=tuple(f"{seed} {name}: {c:.1f} °C" for name, c in least.items() if c < limit_c),
    )


def held(events: int = EVENTS) -> str:
    """Follow every hot pot of many events; raise if one is served cold."""
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(followed, range(events)))
    cold = [name for f in found for name in f.cold]
    assert not cold, cold
    pots, undone = sum(f.pots for f in found), sum(f.undone for f in found)
    return f"{events} events, {pots} pots served hot, none cold; {undone} never done in that world"
