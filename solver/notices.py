"""What a plan refuses, warns of and weighs: kinds with figures; service/text has the words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Literal, Self

from pydantic import Field, model_validator

from solver.part import Part

RefusalKind = Literal[
    "makes-no-heat",  # an insulated box
    "no-oven",
    "not-for-this-dish",
    "kept-shut",
    "kept-out",  # by the organiser
    "held-elsewhere",  # by the organiser
    "out-of-action",
    "no-pot-for-it",
    "pots-too-small",
    "no-pot",
    "no-sun",
    "oven-too-cool",
    "never-done",
    "too-late",
    "too-long-warm",
    "stands-too-long",  # most of it once it is done
    "too-windy",
    "held-too-long",
    "closes-first",
    "goes-cold",
    "begun-not-done",
    "too-few-pots",  # pot_ids
    "batches-collide",  # cooker_ids
    "taken",  # cooker_ids, dish_ids: the dishes that are cooked there
    "nobody-free",  # cooker_ids
]


WarningKind = Literal[
    "no-weather",
    "sky-supposed",  # put in before any forecast reaches the day
    "fire-rules-unread",
    "nobody-to-call",
    "set-up-early",  # before the crew's hours
    "unmeasured",  # cooker_ids
    "beans-boil-cool",  # dish_ids: their beans were to be boiled beforehand
    "tipped-far",  # cooker_ids
    "late-on-a-poor-day",
    "late-on-gas",  # it is on a ring already
    "late-beyond-gas",  # no ring can cook it
    "do-not-serve",
    "warmed-again",  # after it was hot through
    "warm-long",
    "stands-long",
    "loaded-frozen",
    "boils-away",
    "boils-dry",
    "strong-wind",  # cooker_ids
    "food-rules",
    "too-few-rings",  # dish_ids; won_of_100, where it is known: what one more ring would win
    "pale",
]


TradeoffKind = Literal[
    "nothing-better",
    "dearer-elsewhere",  # than the cost `other`
    "cooker-taken",  # cooker_ids, rival_dish_ids
    "hands-or-pots-taken",  # cooker_ids
]


# The figures and instants without which a kind can't be said; those not here need none.
CARRIES: dict[RefusalKind | WarningKind | TradeoffKind, tuple[str, ...]] = {
    "no-oven": ("needed_c",),
    "kept-shut": ("stir_min",),
    "pots-too-small": ("batch_litres", "pot_litres"),
    "no-pot": ("batch_litres", "cooker_litres"),
    "oven-too-cool": ("reached_c", "empty_min", "needed_c"),
    "never-done": ("reached_c", "until_at"),
    "too-late": ("loaded_at", "done_at", "rest_min", "meal_at"),
    "too-long-warm": ("warm_min", "limit_min"),
    "stands-too-long": ("warm_min", "limit_min"),
    "too-windy": ("limit_m_s",),
    "held-too-long": ("limit_min",),
    "closes-first": ("done_at", "closes_at"),
    "goes-cold": ("reached_c", "limit_c"),
    "too-few-pots": ("needed_count", "stock_count"),
    "batches-collide": ("needed_count",),
    "sky-supposed": ("ahead_days",),
    "set-up-early": ("begins_at", "crew_at", "cooking_at"),
    "beans-boil-cool": ("boil_c",),
    "tipped-far": ("tipped_deg",),
    "do-not-serve": ("warm_min", "limit_min"),
    "warmed-again": ("reached_c", "limit_c"),
    "warm-long": ("warm_min", "limit_min", "away_min"),  # away: when it is thrown away
    "stands-long": ("standing_min", "hot_c"),
    "loaded-frozen": ("start_c",),
    "boils-away": ("water_kg",),
    "boils-dry": ("water_kg", "in_pot_kg"),
    "strong-wind": ("wind_m_s",),
    "food-rules": ("hot_c",),
    "pale": ("oven_c", "needed_c"),
    "dearer-elsewhere": ("other_figure",),
    "cooker-taken": ("loaded_at", "spared_figure"),
    "hands-or-pots-taken": ("loaded_at", "spared_figure"),
}


CostKey = Literal["missed", "gas", "short", "stale"]


class Notice(Part):
    """Something that people must be told: a code and its figures; words are chosen at the door.

    A figure's name ends in its unit. One that its kind asks for and that is not there is a fault:
    a plan that an earlier program stored without it can't be said, and is made anew.
    """

    kind: RefusalKind | WarningKind | TradeoffKind
    cooker_ids: tuple[str, ...] = ()
    dish_ids: tuple[str, ...] = ()
    pot_ids: tuple[str, ...] = ()
    placement_id: str | None = None
    figures: Mapping[str, float] = Field(default_factory=dict)
    instants: Mapping[str, datetime] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _can_be_said(self) -> Self:
        missing = set(CARRIES.get(self.kind, ())) - self.figures.keys() - self.instants.keys()
        if missing:
            raise ValueError(f"“{self.kind}” without {', '.join(sorted(missing))}")
        return self


class Refusal(Notice):
    """Why a dish can't go into a cooker; without a cooker it is the timetable's reason."""

    kind: RefusalKind
    cooker_id: str | None = None


class PlanWarning(Notice):
    """What to know before anybody trusts the plan."""

    kind: WarningKind


class Tradeoff(Notice):
    """A cost that some dishes pay, and what it is paid for."""

    kind: TradeoffKind
    cost: CostKey
    cost_figure: int  # minutes; of what is missed, in steps of 3 of 100 dishes
    other: CostKey | None = None
    rival_dish_ids: tuple[str, ...] = ()
