"""Walk the physics forward along a finished plan: does it really come out?

Unlike the estimate, the replay turns each cooker when the plan turns it and loses what the sun
moves in between, in steps of half a minute. A plan that comes out later than it says is a bug.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from events.model import Cooker
from solver.plan import CurvePoint, Placement, Turn
from solver.policy import CLOCK_LIMIT_MIN
from solver.simulation.durations import Day, join, skyline_of
from solver.simulation.transfer import MOVE_MIN, transfer
from solver.solar.irradiance import at_minute, beam_at, minute_of
from solver.solar.tracking import aim_position, factor
from solver.thermal import energy_balance as heat
from solver.thermal import food
from solver.thermal.energy_balance import Array, Forcing, Load
from solver.thermal.light import heating_w

STEP_S = 30.0
CURVE_MIN = 10
TOLERANCE_MIN = 5.0  # one slot of the timetable


@dataclass(frozen=True)
class Track:
    """What one batch really does along the plan."""

    done_minute: float
    clock_min: float
    peak_c: float
    steam_kg: float
    boil_dry_min: int | None  # left as it is when lifted; None: it does not boil
    curve: tuple[CurvePoint, ...]


def pointing(day: Day, turns: list[Turn], cooker: Cooker) -> Array:
    """Return, minute by minute, the share of full power the plan's turns leave the cooker."""
    sky = day.sky
    share = np.zeros(sky.beam_w_m2.size)
    for turn in sorted(turns, key=lambda t: t.at):
        minute, holds = minute_of(sky, turn.at), minute_of(sky, turn.holds_until)
        azimuth, elevation = aim_position(sky, minute, holds)
        span = slice(minute, share.size)
        error = _apart_deg(sky.elevation_deg[span], sky.azimuth_deg[span], elevation, azimuth)
        share[span] = factor(error, acceptance_deg=cooker.acceptance_deg, lost_deg=cooker.lost_deg)
    return share


def _apart_deg(elevation: Array, azimuth: Array, to_elevation: float, to_azimuth: float) -> Array:
    """Return the great-circle angle between the sun and where the cooker points."""
    a, b = np.radians(elevation), np.radians(to_elevation)
    turn = np.radians(azimuth - to_azimuth)
    cosine = np.sin(a) * np.sin(b) + np.cos(a) * np.cos(b) * np.cos(turn)
    apart: Array = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
    return apart


def replay(
    day: Day,
    cooker: Cooker,
    load: Load,
    *,
    turns: list[Turn],
    preheat_at: datetime | None,
    loaded_at: datetime,
    lifted_at: datetime,
    then: Cooker | None = None,
    served_at: datetime | None = None,
) -> list[Track]:
    """Return what each batch of a load does from loading to lifting.

    With a second cooker (`then`), from loading until it is served out of that.
    """
    sky = day.sky
    light = heating_w(
        cooker,
        beam_at(sky, skyline_of(day.event, cooker)),
        sky.diffuse_w_m2,
        elevation_deg=sky.elevation_deg,
    )
    if cooker.on_sun:
        light = light * pointing(day, turns, cooker)
    drive = Forcing((light * day.availability[cooker.id])[None, :], sky.air_c, sky.wind_m_s)
    start, end = minute_of(sky, loaded_at), minute_of(sky, lifted_at)
    empty = start - minute_of(sky, preheat_at) if preheat_at else 0
    at = np.asarray([start])
    state = heat.ensemble(
        cooker,
        load,
        minutes=at,
        row=np.zeros(1, dtype=np.int64),
        body_c=heat.preheated_c(cooker, drive, 0, minutes=at, for_min=empty),
        strength=np.ones(1),
        boil_c=day.boil_c,
    )
    pots = len(load.pots)
    done, clock = np.full(pots, np.inf), np.zeros(pots)
    points: list[list[CurvePoint]] = [[] for _ in range(pots)]
    peak, steam = state.core_c[:, 0].copy(), state.steam_kg[:, 0].copy()
    rate = np.zeros(pots)
    served = minute_of(sky, served_at) if then is not None and served_at is not None else end
    last, moved = int((served - start) * 60 / STEP_S), int((end - start) * 60 / STEP_S)
    for n in range(last + 1):
        if then is not None and n == moved + int(MOVE_MIN * 60 / STEP_S):
            lifted = state.minute - MOVE_MIN
            state = transfer(day, state, load, then, which=np.asarray([0]), lifted=lifted)
            drive = day.forcing
        elif then is not None and moved <= n < moved + int(MOVE_MIN * 60 / STEP_S):
            state.minute = state.minute + STEP_S / 60
            continue
        if n % int(CURVE_MIN * 60 / STEP_S) == 0 or n == last:
            for p in range(pots):
                points[p].append(_point(day, state, p, has_body=cooker.is_oven))
        heat.step(state, drive, dt_s=STEP_S, boil_c=day.boil_c)
        # Kilograms of steam a minute, smoothed over about five.
        rate += ((state.steam_kg[:, 0] - steam) * 60 / STEP_S - rate) * STEP_S / 300
        steam = state.steam_kg[:, 0].copy()
        now = float(state.minute[0])
        ready = heat.is_done(state)[:, 0]
        done = np.where(ready, np.minimum(done, now), done)
        clock = state.clock_min[:, 0].copy()
        peak = np.maximum(peak, state.core_c[:, 0])
    return [
        Track(
            float(done[p]),
            float(clock[p]),
            float(peak[p]),
            float(steam[p]),
            _dry_min(load, p, float(steam[p]), float(rate[p])),
            tuple(points[p]),
        )
        for p in range(pots)
    ]


@dataclass(frozen=True)
class Walk:
    """One load to be walked from its loading until it is lifted."""

    cooker: Cooker
    load: Load
    turns: list[Turn]
    preheat_at: datetime | None
    loaded_at: datetime
    lifted_at: datetime


def replay_all(day: Day, walks: Sequence[Walk]) -> list[list[Track]]:
    """Return what `replay` returns for each load that is not moved on; all walked side by side."""
    out: list[list[Track]] = [[] for _ in walks]
    by_pots: dict[int, list[int]] = {}
    for k, walk in enumerate(walks):
        by_pots.setdefault(len(walk.load.pots), []).append(k)
    for which in by_pots.values():
        for k, tracks in zip(which, _together(day, [walks[k] for k in which]), strict=True):
            out[k] = tracks
    return out


def _together(day: Day, walks: list[Walk]) -> list[list[Track]]:
    sky = day.sky
    watts, parts, lasts = [], [], []
    for n, w in enumerate(walks):
        light = heating_w(
            w.cooker,
            beam_at(sky, skyline_of(day.event, w.cooker)),
            sky.diffuse_w_m2,
            elevation_deg=sky.elevation_deg,
        )
        if w.cooker.on_sun:
            light = light * pointing(day, w.turns, w.cooker)
        row = (light * day.availability[w.cooker.id])[None, :]
        watts.append(row)
        start, end = minute_of(sky, w.loaded_at), minute_of(sky, w.lifted_at)
        empty = start - minute_of(sky, w.preheat_at) if w.preheat_at else 0
        at = np.asarray([start])
        parts.append(
            heat.ensemble(
                w.cooker,
                w.load,
                minutes=at,
                row=np.full(1, n, dtype=np.int64),
                body_c=heat.preheated_c(
                    w.cooker, Forcing(row, sky.air_c, sky.wind_m_s), 0, minutes=at, for_min=empty
                ),
                strength=np.ones(1),
                boil_c=day.boil_c,
            )
        )
        lasts.append(int((end - start) * 60 / STEP_S))
    state, drive = join(parts), Forcing(np.concatenate(watts), sky.air_c, sky.wind_m_s)
    seen: list[tuple[Array, ...]] = []  # before each step; the last entry is after the last step
    ready: list[heat.Bools] = []

    def look() -> None:
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

    look()
    for _ in range(max(lasts) + 1):
        heat.step(state, drive, dt_s=STEP_S, boil_c=day.boil_c)
        look()
        ready.append(heat.is_done(state))
    minute, pot_c, core_c, body_c, clock, steam = (np.asarray(v) for v in zip(*seen, strict=True))
    is_ready = np.asarray(ready)
    out = []
    for k, (w, last) in enumerate(zip(walks, lasts, strict=True)):
        marks = sorted({*range(0, last + 1, int(CURVE_MIN * 60 / STEP_S)), last})
        tracks = []
        for p in range(len(w.load.pots)):
            done = np.flatnonzero(is_ready[: last + 1, p, k])
            gone = np.diff(steam[: last + 2, p, k]) * 60 / STEP_S
            rate = 0.0
            for g in gone.tolist():
                rate += (g - rate) * STEP_S / 300
            curve = tuple(
                CurvePoint(
                    at=at_minute(sky, round(float(minute[n, k]))),
                    food_c=round(float(pot_c[n, p, k]), 1),
                    core_c=round(float(core_c[n, p, k]), 1),
                    body_c=round(float(body_c[n, k]), 1) if w.cooker.is_oven else None,
                )
                for n in marks
            )
            boiled = float(steam[last + 1, p, k])
            tracks.append(
                Track(
                    float(minute[done[0] + 1, k]) if done.size else np.inf,
                    float(clock[last + 1, p, k]),
                    float(core_c[: last + 2, p, k].max()),
                    boiled,
                    _dry_min(w.load, p, boiled, rate),
                    curve,
                )
            )
        out.append(tracks)
    return out


def _dry_min(load: Load, pot: int, steam_kg: float, rate_kg_min: float) -> int | None:
    """Return how long a pot could be left as it stands until its water is gone."""
    if rate_kg_min < 1e-4:
        return None
    water_kg = load.masses_kg[pot] * load.dishes[pot].composition.water - steam_kg
    return max(0, int(water_kg / rate_kg_min))


def _point(day: Day, state: heat.Ensemble, pot: int, *, has_body: bool) -> CurvePoint:
    return CurvePoint(
        at=at_minute(day.sky, round(float(state.minute[0]))),
        food_c=round(float(state.pot_c[pot, 0]), 1),
        core_c=round(float(state.core_c[pot, 0]), 1),
        body_c=round(float(state.body_c[0]), 1) if has_body else None,
    )


def breaches(day: Day, placement: Placement, track: Track) -> list[str]:
    """Return where the replay disagrees with what the plan says of a batch."""
    said = minute_of(day.sky, placement.done_at)
    out = []
    if track.done_minute > said + TOLERANCE_MIN:
        out.append(
            f"{placement.id}: replay is done at minute {track.done_minute}, plan says {said}"
        )
    dish = day.event.dish(placement.dish_id)
    if dish.hazardous and track.clock_min > CLOCK_LIMIT_MIN:
        out.append(f"{placement.id}: {track.clock_min:.0f} min between 5 and 60 °C in the replay")
    last = track.curve[-1].core_c
    hot = food.HOT_HOLDING_C[day.event.site.food_rules]
    if dish.hazardous and dish.serve_hot and last < hot:
        out.append(f"{placement.id}: lifted at {last:.0f} °C, hot holding starts at {hot:.0f} °C")
    return out
