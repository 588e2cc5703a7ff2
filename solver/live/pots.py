"""What could be served now, for an early crowd or a storm, and until when a pot can be saved."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.food_rules import clock_limit_min, rules_of
from solver.live.in_hand import PotInHand
from solver.live.load_run import EXPECTED, MEMBERS, WEAK
from solver.live.load_status import LoadStatus
from solver.live.status import DayStatus
from solver.plan import Placement
from solver.policy import SLOT_MIN
from solver.simulation.clock import usable_hours
from solver.simulation.day import Day
from solver.simulation.day_state import Stage
from solver.simulation.run import advance
from solver.simulation.transfer import finish, part_of, some_pots, transfer
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal import energy_balance as heat


class PotStatus(BaseModel):
    """One batch as it stands: how warm, ready when, until when it can be saved."""

    model_config = ConfigDict(frozen=True)

    placement_id: str
    dish_id: str
    cooker_id: str
    stage: Stage | Literal["in-hand"]  # in hand: out of a cooker that broke
    assumed: bool  # nobody pressed: taken from the plan
    portions: int
    core_c: float
    low_c: float
    high_c: float
    ready_at: datetime | None  # expected; None: not on this day where it stands
    fast_at: datetime | None
    cautious_at: datetime | None
    served_at: datetime
    spare_min: int | None  # expected
    sure_min: int | None  # under a poor rest of the day
    clock_min: int  # between 5 and 60 °C so far
    clock_limit_min: int | None  # None: not hazardous
    ready_now: bool
    gas_by: datetime | None  # last moment to move it to a ring, on a poor rest of the day
    gas_below_c: float | None
    off_heat_at: datetime | None = None  # of a pot in hand
    off_heat_c: float | None = None

    @property
    def may_be_late(self) -> bool:
        """Whether it is not surely done in time where it stands."""
        sure = self.sure_min is not None and self.sure_min >= 0
        return self.stage == "cooking" and not sure and not self.ready_now


@dataclass(frozen=True)
class LastMoment:
    """The last minute of the day at which a pot can go to a ring, and how warm it is then."""

    minute: int
    core_c: float


def pot_statuses(status: DayStatus) -> list[PotStatus]:
    """Return every batch that was loaded and is not eaten, soonest ready first."""
    pots = [_pot(status, load, n) for load in status.loads for n in range(len(load.placements))]
    pots += [_in_hand(status.day, hand) for hand in status.in_hand]
    return sorted(pots, key=lambda p: (p.ready_at is None, p.ready_at, p.placement_id))


def _pot(status: DayStatus, load: LoadStatus, n: int) -> PotStatus:
    day, p, in_progress = status.day, load.placements[n], load.in_progress
    dish, state = day.event.dish(p.dish_id), in_progress.state
    durations = in_progress.durations
    is_lifted = load.stage == "lifted"
    is_done = is_lifted or bool(heat.is_done(state)[n, EXPECTED])
    to_ring = None if is_done else _last_moment(status, load, n)
    clock_min = round(in_progress.clock_min[n])
    return PotStatus(
        placement_id=p.id,
        dish_id=dish.id,
        cooker_id=p.then_cooker_id if load.stage == "on-ring" and p.then_cooker_id else p.cooker_id,
        stage=load.stage,
        assumed=load.assumed,
        portions=p.portions,
        core_c=round(float(state.core_c[n, EXPECTED])),
        low_c=round(float(state.core_c[n].min())),
        high_c=round(float(state.core_c[n].max())),
        ready_at=_ready_at(day, load, p, float(durations.expected_min[n, 0])),
        fast_at=_ready_at(day, load, p, float(durations.fast_min[n, 0])),
        cautious_at=_ready_at(day, load, p, float(durations.cautious_min[n, 0])),
        served_at=p.promised_at,
        spare_min=_spare_min(day, load, p, float(durations.expected_min[n, 0])),
        sure_min=_spare_min(day, load, p, float(durations.cautious_min[n, 0])),
        clock_min=clock_min,
        clock_limit_min=clock_limit_min(day.event, dish) if dish.hazardous else None,
        ready_now=is_done and _may_be_served(day, load, n),
        gas_by=at_minute(day.sky, to_ring.minute) if to_ring else None,
        gas_below_c=to_ring.core_c if to_ring else None,
    )


def _in_hand(day: Day, hand: PotInHand) -> PotStatus:
    """Return a pot that stands in the open: warm as estimated, done or not as it came off."""
    p, came_off = hand.placement, hand.came_off
    dish = day.event.dish(p.dish_id)
    limit_min = clock_limit_min(day.event, dish) if dish.hazardous else None
    is_hot = not dish.serve_hot or hand.core_c >= rules_of(day.event).hot_holding_c
    is_safe = limit_min is None or (is_hot and round(hand.clock_min) <= limit_min)
    done_at = came_off.off_at if came_off.done else None
    return PotStatus(
        placement_id=p.id,
        dish_id=dish.id,
        cooker_id=p.cooker_id,
        stage="in-hand",
        assumed=False,
        portions=p.portions,
        core_c=round(hand.core_c),
        low_c=round(hand.low_c),
        high_c=round(hand.high_c),
        ready_at=done_at,
        fast_at=done_at,
        cautious_at=done_at,
        served_at=p.promised_at,
        spare_min=None,
        sure_min=None,
        clock_min=round(hand.clock_min),
        clock_limit_min=limit_min,
        ready_now=came_off.done and is_safe,
        gas_by=None,
        gas_below_c=None,
        off_heat_at=came_off.off_at,
        off_heat_c=came_off.off_c,
    )


def _ready_at(day: Day, load: LoadStatus, p: Placement, took_min: float) -> datetime | None:
    """Return when a pot is ready, or None where it never is; a lifted one was taken for ready."""
    if load.stage == "lifted":
        return p.done_at
    start = int(load.in_progress.durations.query.starts[0])
    return at_minute(day.sky, round(start + took_min)) if np.isfinite(took_min) else None


def _spare_min(day: Day, load: LoadStatus, p: Placement, took_min: float) -> int | None:
    """Return the minutes between ready, and rested, and promised; None where that says nothing."""
    if load.stage == "lifted" or not np.isfinite(took_min):
        return None
    start = int(load.in_progress.durations.query.starts[0])
    ready_by = minute_of(day.sky, p.promised_at) - day.event.dish(p.dish_id).rest_min
    return round(ready_by - start - took_min)


def _may_be_served(day: Day, load: LoadStatus, n: int) -> bool:
    """Return whether hazardous food was not too long between 5 and 60 °C, and is hot enough."""
    dish = day.event.dish(load.placements[n].dish_id)
    if not dish.hazardous:
        return True
    hot_c = rules_of(day.event).hot_holding_c if dish.serve_hot else 0.0
    is_hot = load.stage == "lifted" or load.in_progress.state.core_c[n, EXPECTED] >= hot_c
    return bool(is_hot and round(load.in_progress.clock_min[n]) <= clock_limit_min(day.event, dish))


def _last_moment(status: DayStatus, load: LoadStatus, n: int) -> LastMoment | None:
    """Return until when a pot, under a poor rest of the day, can still be saved on a ring."""
    day, p, whole = status.day, load.placements[n], load.in_progress.durations.query.load
    dish, pot = whole.dishes[n], whole.pots[n]
    rings = (c for c in day.event.cookers if c.on_gas and c.id not in status.unavailable)
    ring = next(rings, None)
    if ring is None or load.stage != "cooking":
        return None
    if ring.kind not in pot.fits or ring.kind not in dish.kinds:
        return None
    opens, closes = usable_hours(day, ring)
    ready_by = min(minute_of(day.sky, p.promised_at) - dish.rest_min, closes)
    state, alone = copy.deepcopy(load.in_progress.state), part_of(whole, [n])
    last: LastMoment | None = None
    for minute in range(max(status.minute, opens), ready_by, SLOT_MIN):
        lifted = np.full(MEMBERS, float(minute))
        advance(state, day.forcing, until=lifted, boil_c=day.boil_c)
        weak = np.asarray([WEAK])
        after = transfer(day, some_pots(state, [n]), alone, ring, members=weak, lifted=lifted[weak])
        end = finish(after, day.forcing, until=np.full(1, float(ready_by)), boil_c=day.boil_c)
        if not np.isfinite(end.done[0]):
            break
        last = LastMoment(minute, float(round(float(state.core_c[n, WEAK]))))
    return last
