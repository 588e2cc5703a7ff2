"""Where things stand: every load that has begun, by plan and diary, walked on to its end.

Each is walked from its loading in three lanes (weak, expected, strong) through the sky as it was
written down and what each cooker is worth today; a probe reading is taken at its word.
"""

from __future__ import annotations

import copy
import dataclasses
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from events.diary import StoredEntry, standing
from events.model import Cooker, Event, changed
from solver.live.diary_index import CLOUD_LASTS_MIN, DiaryIndex, index_diary
from solver.live.strength import StrengthEstimate, load_of, start_ensemble, strengths_of
from solver.plan import CurvePoint, Placement, Plan
from solver.scheduling.batches import pools
from solver.simulation.day_state import LoadInProgress, PlannedUse, Preheating, ReplanState, Stage
from solver.simulation.durations import BAND_TO_SIGMA, LATE_HANDS_MIN, LATER_MIN, Day, make_day
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.simulation.transfer import transfer
from solver.solar.ensemble import CLOUD_ERROR
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Forcing, Load

STEP_S = 60.0
CURVE_MIN = 10
CLOUD_LEFT = 0.2  # of the clear beam under a cloud that somebody saw
QUANTILE = 0.84  # standard deviations from the middle to 20 and 80 of 100
LANES = 3  # weak, expected, strong


@dataclass(frozen=True)
class LoadStatus:
    """A load as it stands: where, since when, how warm, ready when. Minutes of the day."""

    placements: tuple[Placement, ...]
    stage: Stage
    assumed: bool  # nobody pressed "loaded": the plan was taken at its word
    in_progress: LoadInProgress


@dataclass(frozen=True)
class DayStatus:
    """The day at one moment: the haze, each cooker's strength, every load that has begun."""

    day: Day
    plan: Plan
    minute: int
    haze: float
    strengths: tuple[StrengthEstimate, ...]
    loads: tuple[LoadStatus, ...]
    gone: frozenset[str]  # batches served or thrown away
    out: frozenset[str]  # cookers out of action
    parked: frozenset[str]  # cookers turned away and covered
    cloudy: bool  # a cloud was seen that has not passed
    replan: ReplanState


def day_status(
    event: Event, plan: Plan, entries: Sequence[StoredEntry], now: datetime
) -> DayStatus:
    """Return the day as it stands at `now`, from its plan and its diary."""
    day = make_day(event)
    minute = min(max(minute_of(day.sky, now), 0), day.sky.air_c.size - 1)
    told = index_diary(
        event, plan, day.sky, [k for k in standing(list(entries)) if k.happened_at <= now]
    )
    day = _under(day, _power(day, told, minute))
    begins = {p.id: _loaded_at(day, p, told, plan, minute) for p in plan.placements}
    strengths, haze = strengths_of(day, told, begins)
    sure = {s.cooker_id: s for s in strengths}
    power = {
        c: day.availability[c] * sure[c].worth * haze if c in sure else day.availability[c]
        for c in day.availability
    }
    day = _under(make_day(event), power)
    strength_bands = {c: (s.high - s.low) / 2 / max(s.worth, 0.3) for c, s in sure.items()}
    day = dataclasses.replace(
        day, member_strength=_narrowed(day, strength_bands), strength_bands=strength_bands
    )
    loads = _loads(day, plan, told, begins, minute, sure)
    gone = frozenset(told.gone)
    since = _since(day, plan, told, loads, minute, gone)
    return DayStatus(
        day=dataclasses.replace(day, replan=since),
        plan=plan,
        minute=minute,
        haze=haze,
        strengths=strengths,
        loads=loads,
        gone=gone,
        out=frozenset(told.out),
        parked=frozenset(told.parked),
        cloudy=told.cloud is not None and minute <= told.cloud + CLOUD_LASTS_MIN,
        replan=since,
    )


def _power(day: Day, told: DiaryIndex, minute: int) -> dict[str, Array]:
    """Return what clouds seen, cookers parked and cookers broken leave of each cooker's sun."""
    clear = np.maximum(day.sky.clear_beam_w_m2, 1e-9)
    seen = np.ones(day.sky.air_c.size)
    for start, end in told.shade:
        under = CLOUD_LEFT * clear[start:end] / np.maximum(day.sky.beam_w_m2[start:end], 1e-9)
        seen[start:end] = np.minimum(seen[start:end], under)
    out = {}
    for c in day.event.cookers:
        power = seen.copy() if c.on_sun else np.ones_like(seen)
        if c.id in told.out:
            power[told.out[c.id] :] = 0.0
        if c.id in told.parked and c.on_sun:
            # Parked until somebody brings it back; planned as if that were in a quarter of an hour.
            power[told.parked[c.id] : minute + 15] = 0.0
        out[c.id] = power
    return out


def _under(day: Day, power: dict[str, Array]) -> Day:
    """Return the day with each cooker's sun multiplied by what is left of it."""
    rows = np.asarray([power[c.id] for c in day.event.cookers])
    draws = day.members.watts * np.tile(rows, (day.members.watts.shape[0] // rows.shape[0], 1))
    return dataclasses.replace(
        day,
        forcing=Forcing(day.forcing.watts * rows, day.sky.air_c, day.sky.wind_m_s),
        members=Forcing(draws, day.sky.air_c, day.sky.wind_m_s),
        availability=power,
        on_sun={c: lit & (power[c] > 0) if c in power else lit for c, lit in day.on_sun.items()},
    )


def _loaded_at(
    day: Day, p: Placement, told: DiaryIndex, plan: Plan, minute: int
) -> tuple[int, bool] | None:
    """Return (minute, assumed) at which a batch was loaded, or None where it still waits.

    Where nobody pressed, the plan is taken at its word, unless the cooker was out of use by then
    or the one who was to load it had said to be late.
    """
    if p.id in told.loaded:
        return told.loaded[p.id], False
    at = minute_of(day.sky, p.loaded_at)
    if p.id in plan.started_ids:
        return at, False
    job = next((j for j in plan.jobs if j.kind == "load" and p.id in j.placement_ids), None)
    for away in told.away:
        if job is not None and away.helper_id in job.helper_ids and away.start <= at < away.end:
            return None
    if at > minute or any(
        p.cooker_id in d and d[p.cooker_id] <= at for d in (told.out, told.parked)
    ):
        return None
    return at, True


def _narrowed(day: Day, strength_bands: dict[str, float]) -> Array:
    """Return the draws of strength about what is known now: 1 is what `power` has already."""
    out = day.member_strength.copy()
    for c in day.event.cookers:
        if c.id in strength_bands and c.strength_band_fraction > 0:
            k = day.rows[c.id]
            out[:, k] = 1 + (out[:, k] - 1) * min(
                strength_bands[c.id] / c.strength_band_fraction, 1.0
            )
    return np.maximum(out, 0.3)


def _loads(
    day: Day,
    plan: Plan,
    told: DiaryIndex,
    begins: dict[str, tuple[int, bool] | None],
    minute: int,
    sure: dict[str, StrengthEstimate],
) -> tuple[LoadStatus, ...]:
    fills: dict[tuple[str, bool], list[Placement]] = defaultdict(list)
    for p in plan.placements:
        if p.id not in told.gone and begins[p.id] is not None:
            fills[(p.fill, p.id in told.ringed)].append(p)
    return tuple(
        _standing(day, plan, told, fill, begins[fill[0].id], minute, sure)
        for fill in fills.values()
    )


def _standing(
    day: Day,
    plan: Plan,
    told: DiaryIndex,
    fill: list[Placement],
    begins: tuple[int, bool] | None,
    minute: int,
    sure: dict[str, StrengthEstimate],
) -> LoadStatus:
    assert begins is not None
    start, assumed = begins
    first = fill[0]
    cooker = day.event.cooker(first.cooker_id)
    load = load_of(day, fill)
    s = sure.get(cooker.id)
    half = (s.high - s.low) / 2 / s.worth if s else 0.0
    strength_band = float(np.hypot(half, CLOUD_ERROR / 2)) * QUANTILE * BAND_TO_SIGMA
    strengths = np.asarray([max(1 - strength_band, 0.2), 1.0, 1 + strength_band])
    ensemble = start_ensemble(day, cooker, load, min(start, minute), strengths)
    stage, leaves = _stage(day, told, fill, minute)
    marks = [(r.minute, r) for r in told.readings if r.placement in fill and r.minute <= minute]
    end = min(minute, leaves if leaves is not None else minute)
    curves: list[list[CurvePoint]] = [[] for _ in fill]
    walker = _Walker(day, ensemble, curves, has_body=cooker.is_oven)
    for at, reading in sorted(marks, key=lambda m: m[0]):
        if start < at <= end:
            walker.to(at)
            walker.correct(fill.index(reading.placement), reading.core_c)
    walker.to(end)
    ring = next((c for c in day.event.cookers if c.on_gas), None)
    where = cooker
    if stage == "on-ring" and ring is not None:
        where = day.event.cooker(first.then_cooker_id) if first.then_cooker_id else ring
        walker.onto(where, load, end)
        walker.to(minute)
    here = copy.deepcopy(walker.ensemble)
    spent = np.asarray([[p.spent_min] for p in fill], dtype=np.float64)
    clock = tuple(float(c) for c in (here.clock_min + spent)[:, 1])
    until = minute_of(day.sky, first.promised_at) + 2 * LATER_MIN
    run = walker.on(until)
    serve = until - LATER_MIN
    told_from = DurationEstimate(
        DurationQuery(where, load, np.asarray([start], dtype=np.int64), serve),
        expected_min=run[:, 1:2] - start,
        fast_min=np.minimum(run[:, 2:3], run[:, 1:2]) - start,
        cautious_min=np.maximum(run[:, 0:1] - start + LATE_HANDS_MIN, run[:, 1:2] - start),
        hot_min=walker.hot[:, 1:2] - start,
        clock_min=(walker.ensemble.clock_min + spent)[:, 1:2],
        peak_c=here.core_c[:, 1:2],
        body_peak_c=here.body_c[1:2],
    )
    real = tuple(_as_it_was(day, p, start, assumed, stage, leaves) for p in fill)
    begun = LoadInProgress(real, stage, told_from, here, clock, tuple(tuple(c) for c in curves))
    return LoadStatus(real, stage, assumed, begun)


def _as_it_was(
    day: Day, p: Placement, start: int, assumed: bool, stage: Stage, leaves: int | None
) -> Placement:
    change: dict[str, object] = {} if assumed else {"loaded_at": at_minute(day.sky, start)}
    if stage != "cooking" and leaves is not None:
        change["lifted_at"] = at_minute(day.sky, leaves)
    if stage == "on-ring" and p.then_cooker_id is None:
        ring = next(c for c in day.event.cookers if c.on_gas)
        change |= {"then_cooker_id": ring.id, "route": "sun+burner", "off_at": p.served_at}
        change["fill"] = f"{p.fill}-ring"
    return changed(p, **change)


def _stage(
    day: Day,
    told: DiaryIndex,
    fill: list[Placement],
    minute: int,
) -> tuple[Stage, int | None]:
    """Return where a load is, and the minute at which it left its cooker, if it did."""
    first = fill[0]
    if first.id in told.ringed:
        return "on-ring", told.ringed[first.id]
    planned = minute_of(day.sky, first.lifted_at)
    then = day.event.cooker(first.then_cooker_id) if first.then_cooker_id else None
    left = told.lifted.get(first.id)
    if left is None and minute >= planned:
        left = planned  # nobody pressed: the plan is taken at its word
    if left is None:
        return "cooking", None
    if then is not None and then.on_gas:
        off = minute_of(day.sky, first.off_at) if first.off_at else minute
        return ("on-ring", left) if minute < off else ("lifted", left)
    return "lifted", left


class _Walker:
    """A load's three lanes on their way through the day: weak, expected, strong."""

    def __init__(
        self, day: Day, ensemble: Ensemble, curves: list[list[CurvePoint]], *, has_body: bool
    ) -> None:
        self.day, self.ensemble, self.curves, self.has_body = day, ensemble, curves, has_body
        self.done = np.full(ensemble.pot_c.shape, np.inf)
        self.hot = np.full(ensemble.pot_c.shape, np.inf)
        self.next_point = float(ensemble.minute[1])

    def to(self, minute: int) -> None:
        """Walk on to a minute of the day, noting the curve."""
        while self.ensemble.minute[1] < minute - 1e-6:
            self._note()
            heat.step(self.ensemble, self.day.forcing, dt_s=STEP_S, boil_c=self.day.boil_c)
            now = self.ensemble.minute
            self.done = np.where(heat.is_done(self.ensemble), np.minimum(self.done, now), self.done)
            self.hot = np.where(self.ensemble.core_c >= 60, np.minimum(self.hot, now), self.hot)

    def _note(self) -> None:
        if self.ensemble.minute[1] < self.next_point:
            return
        self.next_point = float(self.ensemble.minute[1]) + CURVE_MIN
        for p, curve in enumerate(self.curves):
            curve.append(
                CurvePoint(
                    at=at_minute(self.day.sky, round(float(self.ensemble.minute[1]))),
                    food_c=round(float(self.ensemble.pot_c[p, 1]), 1),
                    core_c=round(float(self.ensemble.core_c[p, 1]), 1),
                    body_c=round(float(self.ensemble.body_c[1]), 1) if self.has_body else None,
                )
            )

    def correct(self, pot: int, core_c: float) -> None:
        """Take a reading at its word: from here on the food is as warm as the probe said."""
        off = min(core_c, self.day.boil_c) - self.ensemble.core_c[pot]
        self.ensemble.pot_c[pot] = np.minimum(self.ensemble.pot_c[pot] + off, self.day.boil_c)
        self.ensemble.core_c[pot] += off
        self.next_point = float(self.ensemble.minute[1])

    def onto(self, ring: Cooker, load: Load, minute: int) -> None:
        """Let the load go on on a ring."""
        self.ensemble = transfer(
            self.day,
            self.ensemble,
            load,
            ring,
            which=np.arange(LANES),
            lifted=np.full(LANES, float(minute)),
        )
        self.has_body = False

    def on(self, until: int) -> Array:
        """Walk on to the last minute; return when each pot is done, by (pot, lane)."""
        self.to(until)
        return self.done


def _since(
    day: Day,
    plan: Plan,
    told: DiaryIndex,
    loads: tuple[LoadStatus, ...],
    minute: int,
    gone: frozenset[str],
) -> ReplanState:
    heads = {m: head for head, members in pools(day).items() for m in members}
    aimed = dict(told.aimed)
    for turn in plan.turns:
        at = minute_of(day.sky, turn.at)
        if at <= minute and turn.cooker_id not in told.aimed:
            aimed[turn.cooker_id] = max(at, aimed.get(turn.cooker_id, 0))
    here = gone | {p.id for load in loads for p in load.placements}
    preheating = {
        p.cooker_id: Preheating(
            minute_of(day.sky, p.preheat_at),
            minute_of(day.sky, p.loaded_at) - minute_of(day.sky, p.preheat_at),
        )
        for p in plan.placements
        if p.preheat_at is not None
        and minute_of(day.sky, p.preheat_at) <= minute
        and p.id not in here
        and p.cooker_id not in told.out
        and p.cooker_id not in told.parked
    }
    warm: dict[str, float] = {}
    spent: dict[str, float] = {}
    for p in (p for p in plan.placements if p.spent_min and p.id not in here):
        warm[p.id], spent[p.id] = p.curve[0].core_c, p.spent_min  # it stands between two cookers
    begun = []
    for load in loads:
        first = load.placements[0]
        if load.stage == "cooking" and first.cooker_id in told.out:
            for n, p in enumerate(load.placements):
                warm[p.id] = round(float(load.in_progress.state.core_c[n, 1]), 1)
                spent[p.id] = load.in_progress.clock_min[n]
        else:
            begun.append(load.in_progress)
    return ReplanState(
        plan=plan,
        minute=minute,
        in_progress=tuple(begun),
        warm_c=warm,
        spent_min=spent,
        finished_ids=gone,
        unavailable=frozenset(told.out),
        absences=tuple(told.away),
        aimed_at=aimed,
        preheating=preheating,
        representatives={c.id: heads.get(c.id, c.id) for c in day.event.cookers},
        planned_uses={
            p.id: PlannedUse(
                heads.get(p.cooker_id, p.cooker_id),
                minute_of(day.sky, p.loaded_at),
                minute_of(day.sky, p.lifted_at),
            )
            for p in plan.placements
        },
    )
