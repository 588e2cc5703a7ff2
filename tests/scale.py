"""Synthetic events of the sizes the bench speaks of: a scenario of our own, grown by number."""

from __future__ import annotations

from events.model import Event
from events.reading.event_file import read_table

_DISHES = (
    *("bean-stew", "rice", "beetroot", "plum-compote", "lentil-soup"),
    *("potatoes", "vegetable-curry", "hard-eggs", "polenta", "baked-apples"),
)
_COOKERS = ("mirror-140cm", "box-large", "mirror-120cm", "box-hot", "panel-deep")


def grown(dishes: int, cookers: int, helpers: int, *, full: int = 0) -> Event:
    """Return an event of a size; `full` makes every dish that many portions larger."""
    meals = (dishes + 14) // 15
    return read_table(
        {
            "format": 1,
            "title": f"{dishes} dishes",
            "date": "2027-06-20",
            "site": {
                "name": "Meadow",
                "latitude_deg": 40.0,
                "longitude_deg": 0.5,
                "timezone": "Europe/Madrid",
                "opens": "08:00",
                "closes": "20:00",
            },
            "weather": {"hours": [{"start": "08:00", "cloud_pct": 15, "air_c": 24}]},
            "cooker": [
                {"id": f"c{k}", "like": _COOKERS[k % 5], "name": f"Cooker {k}"}
                for k in range(cookers - 1)
            ]
            + [{"id": "ring", "like": "gas-ring", "name": "Gas ring"}],
            "pot": [
                {"id": p, "like": p, "count": max(4, dishes // 2)}
                for p in ("pot-1l", "pot-3l", "pot-5l", "pot-8l", "pot-12l")
            ],
            "meal": [
                {
                    "id": f"m{k}",
                    "name": f"Meal {k}",
                    "from": f"{13 + k * 5 // max(meals, 1)}:{30 * (k % 2):02d}",
                    "until": f"{14 + k * 5 // max(meals, 1)}:{30 * (k % 2):02d}",
                    "portions": 100,
                }
                for k in range(meals)
            ],
            "dish": [
                {
                    "id": f"d{k}",
                    "like": _DISHES[k % len(_DISHES)],
                    "name": f"Dish {k}",
                    "meal": f"m{k % meals}",
                    "portions": 8 + (k * 7) % 8 + full,
                    "priority": 3 + k % 5,
                }
                for k in range(dishes)
            ],
            "helper": [
                {
                    "id": f"h{k}",
                    "name": f"Helper {k}",
                    "from": "08:00",
                    "until": "20:00",
                    "may": ["mirrors", "burner", "lift"] if k % 2 == 0 else ["mirrors", "lift"],
                }
                for k in range(helpers)
            ],
        },
        source=f"{dishes}x{cookers}x{helpers}",
    )
