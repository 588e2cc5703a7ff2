"""The chosen candidates as placements, with what their replay says."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from events.table import changed
from solver.notices import Refusal
from solver.plan import CurvePoint, Placement, Turn
from solver.policy import SLOT_MIN
from solver.scheduling.columns import Candidate, Second, heat_ends
from solver.scheduling.pricing import missed_fraction
from solver.simulation.clock import ceil_to_slot
from solver.simulation.day import Day
from solver.simulation.holding import is_warmed_again
from solver.simulation.replay import PlannedLoad, Track, disagreements, replay
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal.safety import CLOCK_FROM_C, CLOCK_TO_C


@dataclass(frozen=True)
class Replayed:
    """Placements in order of time, and which candidates the replay does not bear out, and why."""

    placements: tuple[Placement, ...]
    refuted: tuple[tuple[Candidate, Refusal], ...]


def place(day: Day, chosen: Sequence[Candidate], turns: Sequence[Turn]) -> Replayed:
    """Return the placements of the chosen candidates, those still to come replayed."""
    fresh = [c for c in chosen if c.in_progress is None]
    placements = [p for c in chosen if c.in_progress is not None for p in _going_on(day, c)]
    refuted: list[tuple[Candidate, Refusal]] = []
    tracks = replay(day, [_planned(day, c, turns) for c in fresh])
    for candidate, of_load in zip(fresh, tracks, strict=True):
        for pot, track in enumerate(of_load):
            placement = _placement(day, candidate, pot, track)
            placements.append(placement)
            refuted += [(candidate, why) for why in disagreements(day, placement, track)]
    return Replayed(tuple(sorted(placements, key=lambda p: (p.loaded_at, p.id))), tuple(refuted))


def _planned(day: Day, candidate: Candidate, turns: Sequence[Turn]) -> PlannedLoad:
    column, load = candidate.column, candidate.load
    begins_at = at_minute(day.sky, column.occupies[0] * SLOT_MIN)
    loaded_at = at_minute(day.sky, column.load_slot * SLOT_MIN)
    lifted_at = at_minute(day.sky, column.lift_slot * SLOT_MIN)
    own = [t for t in turns if t.cooker_id == column.cooker_id and begins_at <= t.at < lifted_at]
    return PlannedLoad(
        cooker=load.cooker,
        load=load.durations.query.load,
        turns=tuple(own),
        preheat_at=begins_at if begins_at < loaded_at else None,
        loaded_at=loaded_at,
        lifted_at=lifted_at,
        second=candidate.second,
        off_at=at_minute(day.sky, column.then_occupies[1] * SLOT_MIN)
        if column.then_occupies
        else None,
        last_plate_at=at_minute(day.sky, load.serve_end),
    )


def _placement(day: Day, candidate: Candidate, pot: int, track: Track) -> Placement:
    column, load, batch = candidate.column, candidate.load, candidate.batches[pot]
    durations, index = load.durations, load.index
    start, done = load.start, load.done[pot]
    slow_min = float(durations.cautious_min[pot, index])
    hot = min(ceil_to_slot(start + float(durations.hot_min[pot, index])), done)
    fast = min(ceil_to_slot(start + float(durations.fast_min[pot, index])), done)
    before = column.occupies[0] < column.load_slot

    def at(minute: int) -> datetime:
        return at_minute(day.sky, minute)

    return Placement(
        id=batch.id,
        dish_id=batch.dish.id,
        batch=batch.number,
        batches=batch.of,
        mass_kg=round(batch.mass_kg, 3),
        litres=round(batch.litres, 2),
        portions=batch.portions,
        pot_id=column.pot_ids[pot],
        cooker_id=column.cooker_id,
        fill=f"{column.cooker_id}-{start // 60:02d}{start % 60:02d}-{column.batch_ids[0]}",
        route=column.route,
        then_cooker_id=column.then_cooker_id,
        preheat_at=at(column.occupies[0] * SLOT_MIN) if before else None,
        loaded_at=at(start),
        hot_at=at(hot),
        done_at=at(done),
        fast_at=at(fast),
        cautious_at=at(ceil_to_slot(start + slow_min)) if np.isfinite(slow_min) else None,
        lifted_at=at(column.lift_slot * SLOT_MIN),
        off_at=at(column.then_occupies[1] * SLOT_MIN) if column.then_occupies else None,
        promised_at=at(batch.serve_minute),
        served_at=at(batch.serve_minute),
        last_plate_at=at(batch.serve_end),
        held_min=batch.serve_minute - done,
        margin_min=batch.serve_minute - done - batch.dish.rest_min,
        missed_fraction=missed_fraction(day, load, pot, _heat_ends(candidate)),
        peak_c=round(track.peak_c, 1),
        spent_min=round(day.spent(batch.id)),
        between_5_and_60_min=round(track.clock_min + day.spent(batch.id)),
        water_lost_kg=round(track.steam_kg, 2),
        boil_dry_min=track.boil_dry_min,
        curve=track.curve,
    )


def _heat_ends(candidate: Candidate) -> int | None:
    column, second = candidate.column, None
    if candidate.second is not None and column.then_occupies is not None:
        second = Second(candidate.second, column.then_occupies[1] * SLOT_MIN)
    return heat_ends(candidate.load, column.lift_slot * SLOT_MIN, second)


def _going_on(day: Day, candidate: Candidate) -> Iterator[Placement]:
    """Yield the placements of a load in progress: where each is and since when stays."""
    for pot in range(len(candidate.batches)):
        yield _goes_on(day, candidate, pot)


def _goes_on(day: Day, candidate: Candidate, pot: int) -> Placement:
    column, load, batch = candidate.column, candidate.load, candidate.batches[pot]
    durations, in_progress = load.durations, candidate.in_progress
    assert in_progress is not None
    before = in_progress.placements[pot]
    start, stage = minute_of(day.sky, before.loaded_at), in_progress.stage
    at_promise = tuple(
        dataclasses.replace(b, serve_minute=minute_of(day.sky, p.promised_at))
        for b, p in zip(load.batches, in_progress.placements, strict=True)
    )
    promised = dataclasses.replace(load, batches=at_promise)
    done = ceil_to_slot(start + float(durations.expected_min[pot, 0]))
    slow_min = float(durations.cautious_min[pot, 0])
    slow = max(done, ceil_to_slot(start + slow_min)) if np.isfinite(slow_min) else None
    if stage == "lifted":  # it was taken for done when it was lifted
        on_ring = before.route == "sun+burner"
        left = minute_of(day.sky, (before.off_at if on_ring else None) or before.lifted_at)
        slow = done = min(max(minute_of(day.sky, before.done_at), start + SLOT_MIN), left)

    def at(minute: int) -> datetime:
        return at_minute(day.sky, minute)

    cooking, lift = stage == "cooking", column.lift_slot * SLOT_MIN
    is_unsafe = is_warmed_again(day, in_progress, pot, lift)
    missed = missed_fraction(day, promised, pot, _heat_ends(candidate))
    return changed(
        before,
        route=column.route if cooking else before.route,
        then_cooker_id=column.then_cooker_id if cooking else before.then_cooker_id,
        hot_at=at(min(ceil_to_slot(start + float(durations.hot_min[pot, 0])), done)),
        done_at=at(done),
        fast_at=at(min(ceil_to_slot(start + float(durations.fast_min[pot, 0])), done)),
        cautious_at=at(slow) if slow is not None else None,
        lifted_at=at(lift) if cooking else before.lifted_at,
        off_at=_off_at(day, candidate, before, batch.serve_end),
        served_at=at(batch.serve_minute),
        last_plate_at=at(batch.serve_end),
        held_min=batch.serve_minute - done,
        margin_min=batch.serve_minute - done - batch.dish.rest_min,
        missed_fraction=1.0 if is_unsafe else missed,
        between_5_and_60_min=round(
            in_progress.clock_min[pot]
            + _warm_to_come_min(day, in_progress.curves[pot], min(done, lift))
        ),
        curve=in_progress.curves[pot],
    )


def _warm_to_come_min(day: Day, curve: Sequence[CurvePoint], until: int) -> float:
    """Return the minutes between 5 and 60 °C on a curve from now to a minute, at its grain."""
    now = day.replan.minute if day.replan else 0
    warm_min = 0.0
    for a, b in itertools.pairwise(curve):
        if CLOCK_FROM_C < (a.core_c + b.core_c) / 2 < CLOCK_TO_C:
            start, end = max(minute_of(day.sky, a.at), now), min(minute_of(day.sky, b.at), until)
            warm_min += max(0, end - start)
    return warm_min


def _off_at(day: Day, candidate: Candidate, before: Placement, serve_end: int) -> datetime | None:
    """Return when a load in progress leaves its second cooker, if it has one."""
    column, in_progress = candidate.column, candidate.in_progress
    if in_progress is None or in_progress.stage == "cooking":
        off = column.then_occupies
        return at_minute(day.sky, off[1] * SLOT_MIN) if off else None
    if before.route == "sun+insulated":
        return at_minute(day.sky, serve_end)
    if in_progress.stage == "on-ring":
        return at_minute(day.sky, column.lift_slot * SLOT_MIN)
    return before.off_at
