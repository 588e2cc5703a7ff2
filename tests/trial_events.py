"""Random events for tests/trial.py and tests/played.py: places, dates, skies, cookers and menus."""

from __future__ import annotations

from typing import Any

import numpy as np

from events.model import Event
from events.reading.event_file import read_table

PLACES = (
    (28.3, -16.5, 600.0, "Atlantic/Canary"),
    (34.0, -6.8, 80.0, "Africa/Casablanca"),
    (37.4, -6.0, 10.0, "Europe/Madrid"),
    (40.4, -3.7, 650.0, "Europe/Madrid"),
    (44.8, 11.6, 10.0, "Europe/Rome"),
)
SUN_COOKERS = (
    *("mirror-140cm", "mirror-120cm", "mirror-120cm", "mirror-90cm", "box-large", "box-large"),
    *("box-better", "box-hot", "panel-deep"),
)
POT_DISHES = (
    *("bean-stew", "lentil-soup", "rice", "potatoes", "beetroot", "plum-compote", "hard-eggs"),
    *("vegetable-curry", "chicken-stew", "polenta", "chickpea-stew", "pumpkin-soup", "ratatouille"),
    "beef-stew",
)
BOX_DISHES = ("apple-cake", "herb-loaf", "baked-apples", "egg-bake", "banana-bread")
POTS = ("pot-1l", "pot-3l", "pot-5l", "pot-8l", "pot-12l", "loaf-tin")
CLOUDS = (5.0, 10.0, 15.0, 30.0, 45.0, 60.0, 70.0)


def is_tight(seed: int) -> bool:
    """Every second event is tight: more dishes, for more people, than its cookers like."""
    return bool(seed % 2)


def random_event(seed: int) -> Event:
    """Return a random event."""
    return read_table(event_table(seed), source=f"trial {seed}")


def event_table(seed: int) -> dict[str, Any]:
    """Return the table of a random event: two in five have a gas ring, two in five a hay box."""
    luck = np.random.default_rng(seed)
    tight = is_tight(seed)
    latitude, longitude, altitude, zone = PLACES[int(luck.integers(len(PLACES)))]
    cookers = [
        str(c) for c in luck.choice(SUN_COOKERS, int(luck.integers(*((3, 6) if tight else (4, 7)))))
    ]
    cookers += ["hay-box"] * int(luck.random() < 0.4) + ["gas-ring"] * int(luck.random() < 0.4)
    dishes = int(luck.integers(5, 9)) if tight else int(luck.integers(4, 7))
    meal = int(luck.integers(25, 28))  # half hours: half past twelve to half past one
    portions = luck.integers(*((10, 19) if tight else (7, 13)), dishes)
    starts = ("08:00", "11:00", "13:00")
    return {
        "format": 1,
        "title": f"Trial {seed}",
        "date": f"2027-{int(luck.integers(5, 9)):02d}-{int(luck.integers(1, 29)):02d}",
        "site": {
            "name": "Meadow",
            "latitude_deg": latitude,
            "longitude_deg": longitude,
            "altitude_m": altitude,
            "timezone": zone,
            "opens": "08:00",
            "closes": "20:00",
        },
        "weather": {
            "hours": [
                {"start": s, "cloud_pct": float(c), "air_c": 22.0, "wind_m_s": 1.0}
                for s, c in zip(starts, luck.choice(CLOUDS[: 7 if tight else 5], 3), strict=True)
            ]
        },
        "cooker": [
            {"id": f"c{n}", "like": like, "name": f"Cooker {n}"} for n, like in enumerate(cookers)
        ],
        "pot": [{"id": p, "like": p, "count": 4} for p in POTS],
        "meal": [
            {
                "id": "lunch",
                "name": "Lunch",
                "from": f"{meal // 2:02d}:{30 * (meal % 2):02d}",
                "until": f"{(meal + 1) // 2:02d}:{30 * ((meal + 1) % 2):02d}",
                "portions": 60,
            }
        ],
        "dish": [
            {
                "id": f"d{n}",
                "like": str(like),
                "name": f"Dish {n}",
                "meal": "lunch",
                "portions": int(portions[n]),
                "priority": 3 + n % 5,
            }
            for n, like in enumerate(_menu(luck, dishes, sum("box-" in c for c in cookers)))
        ],
        "helper": [
            {
                "id": f"h{n}",
                "name": f"Helper {n}",
                "from": "08:00",
                "until": "20:00",
                "may": ["mirrors", "burner", "lift"],
            }
            for n in range(4)
        ],
    }


def _menu(luck: np.random.Generator, dishes: int, boxes: int) -> list[str]:
    """Return what is cooked: no more that only a box does than there are boxes."""
    baked = int(luck.integers(0, min(boxes, 2) + 1))
    pots = luck.choice(POT_DISHES, dishes - baked, replace=False)
    return [str(d) for d in (*pots, *luck.choice(BOX_DISHES, baked, replace=False))]
