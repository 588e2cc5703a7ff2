"""Where the day stands at one moment: its sun, each cooker's strength, every load.

Each load is run from its loading, weak, expected and strong, through the sky as it was written
down and at what each cooker is worth today; a probe reading is taken as true.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from events.diary import StoredEntry, effective_entries
from events.model import Event
from solver.live.availability import availability, recalibrated_day
from solver.live.diary_index import index_diary
from solver.live.in_hand import PotInHand, pots_in_hand
from solver.live.load_status import LoadStatus, load_statuses
from solver.live.loadings import loadings
from solver.live.replan_state import replan_state
from solver.live.strength import StrengthEstimate, estimate_strengths
from solver.plan import Plan
from solver.simulation.day import Day, make_day, scaled
from solver.solar.irradiance import minute_of


@dataclass(frozen=True)
class DayStatus:
    """The day at one moment; `day.replan` is what planning again starts from."""

    day: Day
    plan: Plan
    minute: int
    haze: float  # the sun today against the forecast's: 1 is as forecast
    strengths: tuple[StrengthEstimate, ...]
    loads: tuple[LoadStatus, ...]
    in_hand: tuple[PotInHand, ...]  # out of a cooker that broke
    finished_ids: frozenset[str]  # batches served or thrown away
    unavailable: frozenset[str]  # cookers out of action
    parked: frozenset[str]  # cookers turned away and covered
    cloudy: bool  # by a report that still holds


def day_status(
    event: Event, plan: Plan, entries: Sequence[StoredEntry], now: datetime
) -> DayStatus:
    """Return the day as it stands at `now`, from its plan and its diary."""
    plain = make_day(event)
    minute = min(max(minute_of(plain.sky, now), 0), plain.sky.air_c.size - 1)
    counting = [k for k in effective_entries(list(entries)) if k.happened_at <= now]
    diary = index_diary(event, plan, plain.sky, counting)
    left = availability(plain, diary, minute)
    by_diary = scaled(plain, left)
    loaded = loadings(by_diary, plan, diary, minute)
    estimates = estimate_strengths(by_diary, diary, loaded)
    day = recalibrated_day(plain, left, estimates)
    loads = load_statuses(day, plan, diary, loaded, minute)
    in_hand = pots_in_hand(day, plan, diary, loaded, minute)
    return DayStatus(
        day=dataclasses.replace(day, replan=replan_state(day, plan, diary, loads, in_hand, minute)),
        plan=plan,
        minute=minute,
        haze=estimates.haze,
        strengths=estimates.cookers,
        loads=loads,
        in_hand=in_hand,
        finished_ids=diary.finished_ids,
        unavailable=frozenset(diary.out_of_action),
        parked=frozenset(diary.parked),
        cloudy=any(s.start <= minute < s.end for s in diary.shades),
    )
