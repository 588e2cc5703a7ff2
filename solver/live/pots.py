"""What could be served now, for an early crowd or a storm; and until when each pot can be saved."""

from __future__ import annotations

import copy
from datetime import datetime

import numpy as np
from pydantic import BaseModel, ConfigDict

from solver.live.status import DayStatus, LoadStatus
from solver.policy import CLOCK_LIMIT_MIN, SLOT_MIN
from solver.simulation.transfer import (
    advance,
    finish,
    part_of,
    some_pots,
    transfer,
)
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal import energy_balance as heat
from solver.thermal.food import HOT_HOLDING_C


class PotStatus(BaseModel):
    """One batch as it stands: how warm, ready when, until when it can be saved."""

    model_config = ConfigDict(frozen=True)

    placement_id: str
    dish_id: str
    cooker_id: str
    stage: str
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


def pots_now(day_status: DayStatus) -> list[PotStatus]:
    """Return every batch that has begun and is not eaten, soonest ready first."""
    out = [
        _pot(day_status, load, n) for load in day_status.loads for n in range(len(load.placements))
    ]
    return sorted(out, key=lambda p: (p.ready_at is None, p.ready_at, p.placement_id))


def _pot(day_status: DayStatus, load: LoadStatus, n: int) -> PotStatus:
    day, p = day_status.day, load.placements[n]
    dish = day.event.dish(p.dish_id)
    told, state = load.in_progress.durations, load.in_progress.state
    start = int(told.ask.starts[0])

    def instant(minutes: float) -> datetime | None:
        return at_minute(day.sky, round(start + minutes)) if np.isfinite(minutes) else None

    usual, slow = float(told.expected_min[n, 0]), float(told.cautious_min[n, 0])
    fast = float(told.fast_min[n, 0])
    lifted = load.stage == "lifted"
    serve = minute_of(day.sky, p.promised_at) - dish.rest_min
    done = lifted or bool(heat.is_done(state)[n, 1])
    hot = HOT_HOLDING_C[day.event.site.food_rules] if dish.serve_hot else 0.0
    warm = float(state.core_c[n, 1])
    clock = round(load.in_progress.clock_min[n])
    safe = not dish.hazardous or clock <= CLOCK_LIMIT_MIN
    holds = lifted or not dish.hazardous or warm >= hot
    gas = None if lifted or done else _gas_by(day_status, load, n)
    return PotStatus(
        placement_id=p.id,
        dish_id=dish.id,
        cooker_id=p.then_cooker_id if load.stage == "on-ring" and p.then_cooker_id else p.cooker_id,
        stage=load.stage,
        assumed=load.assumed,
        portions=p.portions,
        core_c=round(warm),
        low_c=round(float(state.core_c[n].min())),
        high_c=round(float(state.core_c[n].max())),
        ready_at=p.done_at if lifted else instant(usual),
        fast_at=p.done_at if lifted else instant(fast),
        cautious_at=p.done_at if lifted else instant(slow),
        served_at=p.promised_at,
        spare_min=None if lifted or not np.isfinite(usual) else round(serve - start - usual),
        sure_min=None if lifted or not np.isfinite(slow) else round(serve - start - slow),
        clock_min=clock,
        clock_limit_min=CLOCK_LIMIT_MIN if dish.hazardous else None,
        ready_now=done and safe and holds,
        gas_by=at_minute(day.sky, gas[0]) if gas else None,
        gas_below_c=gas[1] if gas else None,
    )


def _gas_by(day_status: DayStatus, load: LoadStatus, n: int) -> tuple[int, float] | None:
    """Return (last minute, °C then) at which a pot, on its weak way, can go to a ring."""
    day, p = day_status.day, load.placements[n]
    ring = next((c for c in day.event.cookers if c.on_gas and c.id not in day_status.out), None)
    dish = load.in_progress.durations.ask.load.dishes[n]
    pot = load.in_progress.durations.ask.load.pots[n]
    fits = ring is not None and ring.kind in pot.fits and ring.kind in dish.kinds
    if ring is None or not fits or load.stage != "cooking":
        return None
    ready_by = minute_of(day.sky, p.promised_at) - dish.rest_min
    state = copy.deepcopy(load.in_progress.state)
    alone = part_of(load.in_progress.durations.ask.load, [n])
    last: tuple[int, float] | None = None
    for mark in range(day_status.minute, ready_by, SLOT_MIN):
        advance(state, day.forcing, until=np.full(3, float(mark)), boil_c=day.boil_c)
        after = transfer(
            day,
            some_pots(state, [n]),
            alone,
            ring,
            which=np.asarray([0]),
            lifted=np.full(1, float(mark)),
        )
        end = finish(after, day.forcing, until=np.full(1, float(ready_by)), boil_c=day.boil_c)
        if not np.isfinite(end.done[0]):
            break
        last = (mark, float(round(float(state.core_c[n, 0]))))
    return last
