"""Run the physics forward along a finished plan: does it really come out?

Unlike the estimate, the replay turns each cooker when the plan turns it and loses what the sun
moves in between, in steps of half a minute. A plan that comes out later than it says is a bug.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from events.food_rules import clock_limit_min
from events.model import Cooker
from solver.notices import Refusal
from solver.plan import CurvePoint, Placement, Turn
from solver.simulation.day import Day
from solver.simulation.holding import cooked_c, hot_holding_c, standing_c
from solver.simulation.run import join, select
from solver.simulation.transfer import MOVE_MIN, transfer
from solver.solar.horizon import skyline_of
from solver.solar.irradiance import Sky, at_minute, beam_at, minute_of
from solver.solar.tracking import aim_position, factor
from solver.solar.turned import turned_share
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Bools, Ensemble, Forcing, Load
from solver.thermal.light import heating_w
from solver.thermal.safety import CLOCK_TO_C

STEP_S = 30.0
CURVE_MIN = 10
CURVE_STEPS = int(CURVE_MIN * 60 / STEP_S)
MOVE_STEPS = int(MOVE_MIN * 60 / STEP_S)
STEAM_RATE_S = 300  # a pot's rate of steam is smoothed over about so long
TOLERANCE_MIN = 5.0  # one slot of the timetable


@dataclass(frozen=True)
class PlannedLoad:
    """One load as the plan has it, until it is lifted, or served out of its second cooker."""

    cooker: Cooker
    load: Load
    turns: tuple[Turn, ...]
    preheat_at: datetime | None
    loaded_at: datetime
    lifted_at: datetime
    second: Cooker | None
    off_at: datetime | None  # when it leaves its second cooker
    last_plate_at: datetime


@dataclass(frozen=True)
class Track:
    """What one batch really does along the plan."""

    done_minute: float
    clock_min: float
    peak_c: float
    coldest_c: float  # its middle from done to the last plate
    steam_kg: float
    boil_dry_min: int | None  # left as it is when lifted; None: it does not boil
    curve: tuple[CurvePoint, ...]


@dataclass(frozen=True)
class History:
    """An ensemble before each step and after the last, by (step, pot, member)."""

    minute: Array  # (steps + 1, members)
    pot_c: Array
    core_c: Array
    body_c: Array  # (steps + 1, members)
    clock_min: Array
    steam_kg: Array
    ready: Bools  # after each step: (steps, pots, members)


@dataclass(frozen=True)
class Stage:
    """One member's stay in one cooker: its history from step 0 to `steps`."""

    history: History
    member: int
    steps: int


def pointing(day: Day, turns: Sequence[Turn], cooker: Cooker) -> Array:
    """Return, minute by minute, the share of full power the plan's turns leave the cooker."""
    sky = day.sky
    share = np.zeros(sky.beam_w_m2.size)
    for turn in sorted(turns, key=lambda t: t.at):
        minute = minute_of(sky, turn.at)
        azimuth, elevation = _aim(sky, turn, minute)
        span = slice(minute, share.size)
        suns_elevation, suns_azimuth = sky.elevation_deg[span], sky.azimuth_deg[span]
        if cooker.glass_tilt_deg is not None:
            share[span] = turned_share(cooker, suns_elevation, suns_azimuth - azimuth)
            continue
        error = _apart_deg(suns_elevation, suns_azimuth, elevation, azimuth)
        share[span] = factor(error, acceptance_deg=cooker.acceptance_deg, lost_deg=cooker.lost_deg)
    return share


def _aim(sky: Sky, turn: Turn, minute: int) -> tuple[float, float]:
    """Return (azimuth_deg, elevation_deg) of where a turn that is done at a minute points."""
    if turn.to_elevation_deg is not None:
        return turn.to_azimuth_deg, turn.to_elevation_deg
    # Known by the shadow only: from an earlier release, or done late.
    if turn.ring_min is None:
        aside_deg = 30.0 * (turn.clock_hour or 0.0)
        return float(sky.azimuth_deg[minute]) - aside_deg, float(sky.elevation_deg[minute])
    return aim_position(sky, minute, minute + int(2 * turn.ring_min))


def _apart_deg(elevation: Array, azimuth: Array, to_elevation: float, to_azimuth: float) -> Array:
    """Return the great-circle angle between the sun and where the cooker points."""
    a, b = np.radians(elevation), np.radians(to_elevation)
    turn = np.radians(azimuth - to_azimuth)
    cosine = np.sin(a) * np.sin(b) + np.cos(a) * np.cos(b) * np.cos(turn)
    apart: Array = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
    return apart


def replay(day: Day, loads: Sequence[PlannedLoad]) -> list[list[Track]]:
    """Return what each batch of each load does; loads of equal pot counts are run side by side."""
    by_pots: dict[int, list[int]] = {}
    for k, planned in enumerate(loads):
        by_pots.setdefault(len(planned.load.pots), []).append(k)
    tracks: dict[int, list[Track]] = {}
    for numbers in by_pots.values():
        group = [loads[k] for k in numbers]
        tracks.update(zip(numbers, _replay_group(day, group), strict=True))
    return [tracks[k] for k in range(len(loads))]


def _replay_group(day: Day, group: Sequence[PlannedLoad]) -> list[list[Track]]:
    watts = np.asarray([_watts(day, planned) for planned in group])
    forcing = Forcing(watts, day.sky.air_c, day.sky.wind_m_s)
    state = join([_loaded(day, p, forcing, row) for row, p in enumerate(group)])
    # A load that is moved on is lifted before its step; one that stays is run one step beyond.
    steps = [_steps(p.loaded_at, p.lifted_at) + (p.second is None) for p in group]
    leaving: dict[int, list[int]] = {}
    for member, (planned, count) in enumerate(zip(group, steps, strict=True)):
        if planned.second is not None:
            leaving.setdefault(count, []).append(member)
    history, lifted = _run(state, forcing, max(steps), boil_c=day.boil_c, leaving=leaving)
    tracks = []
    for member, (planned, count) in enumerate(zip(group, steps, strict=True)):
        stages = [Stage(history, member, count)]
        if planned.second is not None:
            stages.append(_second_stage(day, planned, planned.second, lifted[member]))
        tracks.append([_track(day, planned, pot, stages) for pot in range(len(planned.load.pots))])
    return tracks


def _watts(day: Day, planned: PlannedLoad) -> Array:
    cooker, sky = planned.cooker, day.sky
    watts = heating_w(
        cooker,
        beam_at(sky, skyline_of(day.event, cooker)),
        sky.diffuse_w_m2,
        elevation_deg=sky.elevation_deg,
    )
    if cooker.on_sun:
        watts = watts * pointing(day, planned.turns, cooker)
    return watts * day.availability[cooker.id]


def _steps(start_at: datetime, end_at: datetime) -> int:
    return int((end_at - start_at).total_seconds() / STEP_S)


def _loaded(day: Day, planned: PlannedLoad, forcing: Forcing, row: int) -> Ensemble:
    """Return the load as it goes in, its cooker preheated as the plan has it."""
    start = np.asarray([minute_of(day.sky, planned.loaded_at)])
    preheat_at = planned.preheat_at
    empty_min = int(start[0]) - minute_of(day.sky, preheat_at) if preheat_at else 0
    return heat.ensemble(
        planned.cooker,
        planned.load,
        minutes=start,
        row=np.full(1, row, dtype=np.int64),
        body_c=heat.preheated_c(planned.cooker, forcing, row, minutes=start, for_min=empty_min),
        strength=np.ones(1),
        boil_c=day.boil_c,
    )


def _run(
    state: Ensemble,
    forcing: Forcing,
    steps: int,
    *,
    boil_c: float,
    leaving: Mapping[int, Sequence[int]] | None = None,
) -> tuple[History, dict[int, Ensemble]]:
    """Return the history of all members, and those that are `leaving` before a step, as then."""
    seen: list[tuple[Array, ...]] = []
    ready: list[Bools] = []
    lifted: dict[int, Ensemble] = {}
    for n in range(steps + 1):
        for member in (leaving or {}).get(n, ()):
            lifted[member] = select(state, np.asarray([member]))
        seen.append(
            (
                state.minute,
                state.pot_c,
                state.core_c,
                state.body_c,
                state.clock_min.copy(),
                state.steam_kg.copy(),
            )
        )
        if n < steps:
            heat.step(state, forcing, dt_s=STEP_S, boil_c=boil_c)
            ready.append(heat.is_done(state))
    minute, pot_c, core_c, body_c, clock_min, steam_kg = map(np.asarray, zip(*seen, strict=True))
    history = History(minute, pot_c, core_c, body_c, clock_min, steam_kg, np.asarray(ready))
    return history, lifted


def _second_stage(day: Day, planned: PlannedLoad, second: Cooker, lifted: Ensemble) -> Stage:
    """Return the stay in the second cooker, from five minutes after lifting until served."""
    state = transfer(
        day,
        lifted,
        planned.load,
        second,
        members=np.zeros(1, dtype=np.int64),
        lifted=lifted.minute,
    )
    off_at = planned.off_at or planned.last_plate_at
    steps = _steps(planned.lifted_at, off_at) - MOVE_STEPS + 1
    history, _ = _run(state, day.forcing, steps, boil_c=day.boil_c)
    return Stage(history, 0, steps)


def _track(day: Day, planned: PlannedLoad, pot: int, stages: Sequence[Stage]) -> Track:
    last = stages[-1]
    done_minute = min(_first_ready(stage, pot) for stage in stages)
    steam = [s.history.steam_kg[: s.steps + 1, pot, s.member] for s in stages]
    rate_kg_min = 0.0
    for lost in np.concatenate([np.diff(kg) for kg in steam]).tolist():
        rate_kg_min += (lost * 60 / STEP_S - rate_kg_min) * STEP_S / STEAM_RATE_S
    steam_kg = float(steam[-1][-1])
    curve, standing = _curve(day, planned, pot, stages), _standing(day, planned, pot, last)
    limit_c = cooked_c(day, planned.load.dishes[pot])
    cooked_minute = min(done_minute, *(_first_over(stage, pot, limit_c) for stage in stages))
    coldest_c = min(_coldest_c(stage, pot, cooked_minute) for stage in stages)
    return Track(
        done_minute=done_minute,
        clock_min=float(last.history.clock_min[last.steps, pot, last.member])
        + _warm_min([*curve[-1:], *standing]),
        peak_c=max(float(s.history.core_c[: s.steps + 1, pot, s.member].max()) for s in stages),
        coldest_c=min([coldest_c, *(p.core_c for p in standing)]),
        steam_kg=steam_kg,
        boil_dry_min=_dry_min(planned.load, pot, steam_kg, rate_kg_min),
        curve=(*curve, *standing),
    )


def _warm_min(standing: Sequence[CurvePoint]) -> float:
    """Return the minutes under 60 °C of a pot that stands, by a straight line between points."""
    warm_min = 0.0
    for a, b in itertools.pairwise(standing):
        if b.core_c < CLOCK_TO_C:
            fell_k = max(a.core_c, CLOCK_TO_C) - b.core_c
            share = min(1.0, (CLOCK_TO_C - b.core_c) / fell_k)
            warm_min += share * (b.at - a.at).total_seconds() / 60
    return warm_min


def _first_over(stage: Stage, pot: int, limit_c: float) -> float:
    """Return the minute at which a pot's middle first reaches a limit in a stage; inf if never."""
    core_c = stage.history.core_c[: stage.steps + 1, pot, stage.member]
    over = stage.history.minute[: stage.steps + 1, stage.member][core_c >= limit_c]
    return float(over[0]) if over.size else np.inf


def _coldest_c(stage: Stage, pot: int, since_minute: float) -> float:
    """Return the coldest middle of a pot in a stage since a minute; inf if that is later."""
    minute = stage.history.minute[: stage.steps + 1, stage.member]
    core_c = stage.history.core_c[: stage.steps + 1, pot, stage.member]
    return float(np.min(core_c[minute >= since_minute], initial=np.inf))


def _standing(day: Day, planned: PlannedLoad, pot: int, last: Stage) -> tuple[CurvePoint, ...]:
    """Return a lifted pot as it stands lid on, every ten minutes to its last plate."""
    load, history = planned.load, last.history
    start = round(float(history.minute[last.steps - 1, last.member]))
    end = minute_of(day.sky, planned.last_plate_at)
    from_c = float(history.core_c[last.steps - 1, pot, last.member])
    points = []
    for minute in [*range(start + CURVE_MIN, end, CURVE_MIN), *([end] if end > start else [])]:
        warm_c = standing_c(
            day,
            load.dishes[pot],
            load.masses_kg[pot],
            load.pots[pot],
            from_c=from_c,
            start=start,
            end=minute,
        )
        at, rounded_c = at_minute(day.sky, minute), round(float(warm_c), 1)
        points.append(CurvePoint(at=at, food_c=rounded_c, core_c=rounded_c, body_c=None))
    return tuple(points)


def _first_ready(stage: Stage, pot: int) -> float:
    """Return the minute of the day at which a pot is done, inf if not in this stage."""
    ready = np.flatnonzero(stage.history.ready[: stage.steps, pot, stage.member])
    return float(stage.history.minute[ready[0] + 1, stage.member]) if ready.size else np.inf


def _dry_min(load: Load, pot: int, steam_kg: float, rate_kg_min: float) -> int | None:
    """Return how long a pot could be left as it stands until its water is gone."""
    if rate_kg_min < 1e-4:
        return None
    water_kg = load.masses_kg[pot] * load.dishes[pot].composition.water - steam_kg
    return max(0, int(water_kg / rate_kg_min))


def _curve(
    day: Day, planned: PlannedLoad, pot: int, stages: Sequence[Stage]
) -> tuple[CurvePoint, ...]:
    """Return a point every ten minutes from loading, and one at the end."""
    points = []
    first = 0  # steps from loading to this stage's beginning
    for n, stage in enumerate(stages):
        ends = n == len(stages) - 1
        last = first + stage.steps - 1
        for step in range(first, last + 1):
            if step % CURVE_STEPS == 0 or (ends and step == last):
                points.append(_point(day, planned, pot, stage, step - first))
        first += stage.steps + MOVE_STEPS
    return tuple(points)


def _point(day: Day, planned: PlannedLoad, pot: int, stage: Stage, step: int) -> CurvePoint:
    h, member = stage.history, stage.member
    has_body = planned.cooker.is_oven
    return CurvePoint(
        at=at_minute(day.sky, round(float(h.minute[step, member]))),
        food_c=round(float(h.pot_c[step, pot, member]), 1),
        core_c=round(float(h.core_c[step, pot, member]), 1),
        body_c=round(float(h.body_c[step, member]), 1) if has_body else None,
    )


def disagreements(day: Day, placement: Placement, track: Track) -> list[Refusal]:
    """Return where the replay disagrees with what the plan says of a batch, and why it can't be."""
    said, dish = minute_of(day.sky, placement.done_at), day.event.dish(placement.dish_id)
    out = []
    if track.done_minute > said + TOLERANCE_MIN:
        peak_c, until_at = float(round(track.peak_c)), placement.done_at
        out.append(
            Refusal(
                kind="never-done", figures={"reached_c": peak_c}, instants={"until_at": until_at}
            )
        )
    limit_min = clock_limit_min(day.event, dish)
    if dish.hazardous and track.clock_min > limit_min:
        figures = {"warm_min": float(round(track.clock_min)), "limit_min": float(limit_min)}
        out.append(Refusal(kind="too-long-warm", figures=figures))
    hot_c = hot_holding_c(day, dish)
    if track.coldest_c < hot_c:
        figures = {"reached_c": float(round(track.coldest_c)), "limit_c": hot_c}
        out.append(Refusal(kind="goes-cold", figures=figures))
    return out
