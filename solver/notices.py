"""What a plan refuses, warns of and weighs: kinds with figures; service/text has the words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from pydantic import Field

from solver.part import Part

RefusalKind = Literal[
    "makes-no-heat",  # an insulated box
    "no-oven",  # needed_c
    "not-for-this-dish",
    "kept-shut",  # stir_min
    "kept-out",  # by the organiser
    "held-elsewhere",  # by the organiser
    "out-of-action",
    "no-pot-for-it",
    "pots-too-small",  # batch_litres, pot_litres
    "no-pot",  # batch_litres, cooker_litres
    "no-sun",
    "oven-too-cool",  # reached_c, empty_min, needed_c
    "never-done",  # reached_c, until_at
    "too-late",  # loaded_at, done_at, rest_min, meal_at
    "too-long-warm",  # warm_min, limit_min
    "stands-too-long",  # warm_min, limit_min: most of it once it is done
    "too-windy",  # limit_m_s
    "held-too-long",  # limit_min
    "closes-first",  # done_at, closes_at
    "goes-cold",  # reached_c, limit_c
    "begun-not-done",
    "too-few-pots",  # needed_count, stock_count; pot_ids
    "batches-collide",  # cooker_ids, needed_count
    "taken",  # cooker_ids, dish_ids: the dishes that are cooked there
    "nobody-free",  # cooker_ids
]


WarningKind = Literal[
    "no-weather",
    "fire-rules-unread",
    "unmeasured",  # cooker_ids
    "tipped-far",  # cooker_ids, tipped_deg
    "late-on-a-poor-day",
    "do-not-serve",  # warm_min, limit_min
    "warm-long",  # warm_min, limit_min; away_min: when it is thrown away
    "stands-long",  # standing_min, hot_c
    "loaded-frozen",  # start_c
    "boils-away",  # water_kg
    "boils-dry",  # water_kg of in_pot_kg
    "strong-wind",  # cooker_ids, wind_m_s
    "food-rules",  # hot_c
    "too-few-rings",  # dish_ids; won_of_100: what one more ring would win, in all
    "pale",  # oven_c, needed_c
]


TradeoffKind = Literal[
    "nothing-better",
    "dearer-elsewhere",  # other_figure of the cost `other`
    "cooker-taken",  # cooker_ids, loaded_at, spared_figure; rival_dish_ids
    "hands-or-pots-taken",  # cooker_ids, loaded_at, spared_figure
]


CostKey = Literal["missed", "gas", "short", "stale"]


class Notice(Part):
    """Something that people must be told: a code and its figures; words are chosen at the door.

    A figure's name ends in its unit. The kinds name the figures that they carry.
    """

    cooker_ids: tuple[str, ...] = ()
    dish_ids: tuple[str, ...] = ()
    pot_ids: tuple[str, ...] = ()
    placement_id: str | None = None
    figures: Mapping[str, float] = Field(default_factory=dict)
    instants: Mapping[str, datetime] = Field(default_factory=dict)


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
