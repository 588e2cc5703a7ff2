"""What a jurisdiction asks of hot food, and how long food may be neither hot nor cold.

Every limit is from memory of the edition it names; the organiser's own authority comes first.
"""

from __future__ import annotations

from dataclasses import dataclass

from events.model import Dish, Event
from events.site import Jurisdiction

# Minutes between 5 and 60 °C, added up: over this food is not served (US 4 h; AU and NZ 2 h/4 h).
CLOCK_LIMIT_MIN = 240
COLD_C = 8.0  # chilled food is at most this warm (UK; others ask for 5)
# Cooked food that is to be cold comes from 57 °C to this within so many minutes, and to 5 °C within
# four hours more (US FDA Food Code 2022, 3-501.14). Ice water does it: common kitchen practice.
CHILLED_C, CHILLED_WITHIN_MIN = 21.0, 120
# For guests who are very young, pregnant, old or ill: judgement of ours, no published source.
VULNERABLE_CLOCK_MIN = 120
VULNERABLE_HOLDING_MIN = 120
# Under this the boil itself is too cool to rely on for dry kidney beans: 80 °C makes their lectin
# stronger (Bender & Reaidi 1982). Judgement of ours; water boils at 95 °C at about 1490 m.
KIDNEY_BEANS_BOIL_C = 95.0
KIDNEY_BEANS_HIGHEST_M = 1490.0
KIDNEY_BEANS_MIN = 30  # at the boil (US FDA)


@dataclass(frozen=True)
class FoodRules:
    """What a jurisdiction asks of hot food, and where that stands."""

    hot_holding_c: float
    middle_c: float  # poultry and other raw meat, in the middle
    reheat_c: float  # food that was cooked before, in the middle
    reheat_within_min: int  # from the cold box to there
    off_heat_min: int  # how long hot food may stand off the heat while it is served
    edition: str


FOOD_RULES: dict[Jurisdiction, FoodRules] = {
    "strictest": FoodRules(
        63.0, 75.0, 82.0, 120, 120, "the strictest of US, UK, Scotland, AU and NZ figures"
    ),
    "US": FoodRules(57.0, 73.9, 73.9, 120, 240, "US FDA Food Code 2022"),
    "EU": FoodRules(
        63.0, 75.0, 75.0, 240, 120, "EU: no common figure; the strictest national ones"
    ),
    "UK": FoodRules(
        63.0, 70.0, 75.0, 240, 120, "UK: 63 °C by regulation (1995); 70 °C for 2 min (FSA)"
    ),
    "UK-SCT": FoodRules(
        63.0, 75.0, 82.0, 240, 120, "Scotland: 63 °C, and 82 °C when reheated (2006 regulations)"
    ),
    "AU": FoodRules(60.0, 75.0, 75.0, 240, 240, "AU: Food Standards Code 3.2.2"),
    "NZ": FoodRules(60.0, 75.0, 75.0, 240, 240, "NZ: Food Standards Code; MPI guidance"),
}


def rules_of(event: Event) -> FoodRules:
    """Return the rules an event keeps: the strictest of all where guests are vulnerable."""
    return FOOD_RULES["strictest" if event.vulnerable_guests else event.site.food_rules]


def clock_limit_min(event: Event, dish: Dish) -> int:
    """Return how many minutes between 5 and 60 °C a hazardous dish may have, added up."""
    limit = VULNERABLE_CLOCK_MIN if event.vulnerable_guests else CLOCK_LIMIT_MIN
    return min(limit, rules_of(event).reheat_within_min) if dish.done_mode.cooked_before else limit


def least_middle_c(event: Event, dish: Dish) -> float:
    """Return what the middle of a hazardous dish must reach before it counts as safe."""
    rules = rules_of(event)
    return max(
        rules.reheat_c if dish.done_mode.cooked_before else rules.middle_c, dish.core_c or 0.0
    )
