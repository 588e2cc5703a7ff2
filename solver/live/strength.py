"""What each cooker is worth today, and the day's haze, from the readings of the diary.

One haze for all cookers and one strength for each are estimated together (linear Gaussian), so
that all low is the sky and one low is that cooker. Near the boil a reading is a lower bound; one
reading moves a strength half its band at most; ten minutes of shade that nobody wrote down are
allowed for. Spreads are judged, none measured.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Cooker, Dish, changed
from solver.live.diary_index import DiaryIndex, ProbeReading
from solver.plan import Placement
from solver.simulation.durations import BAND_TO_SIGMA, Day
from solver.simulation.transfer import advance
from solver.solar.ensemble import CLOUD_ERROR, HAZE_ERROR
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Load

READING_C = 2.0  # probe, its place in the pot, and the start, taken together
UNSEEN_SHADE_MIN = 10.0  # of shade that nobody wrote down
BOIL_WITHIN_C = 2.0
SLOPE_LEAST_C = 5.0  # a reading that hangs on the strength less than this says nothing of it
GAINS = np.linspace(0.2, 1.8, 33)


@dataclass(frozen=True)
class StrengthEstimate:
    """What a cooker is worth today, against its description: 1 is as described."""

    cooker_id: str
    worth: float
    low: float  # 80 of 100 lie between low and high
    high: float
    readings: int


def load_of(day: Day, placements: Sequence[Placement]) -> Load:
    """Return what was put into a cooker together, and for how long that stood empty before."""
    first = placements[0]
    empty = (first.loaded_at - first.preheat_at).total_seconds() / 60 if first.preheat_at else 0
    return Load(
        tuple(_as_loaded(day.event.dish(p.dish_id), p) for p in placements),
        tuple(p.mass_kg for p in placements),
        tuple(day.event.pot(p.pot_id) for p in placements),
        int(empty),
    )


def _as_loaded(dish: Dish, p: Placement) -> Dish:
    """Return the dish as warm as it was when it was put in: a pot may come from another cooker."""
    return changed(dish, start_c=p.curve[0].core_c) if p.curve else dish


def start_ensemble(day: Day, cooker: Cooker, load: Load, minute: int, strength: Array) -> Ensemble:
    """Return lanes of one load from one minute of the day at several strengths."""
    at = np.full(strength.size, minute, dtype=np.int64)
    row = day.rows[cooker.id]
    body = heat.preheated_c(cooker, day.forcing, row, minutes=at, for_min=load.preheat_min)
    return heat.ensemble(
        cooker,
        load,
        minutes=at.astype(np.float64),
        row=np.full(strength.size, row, dtype=np.int64),
        body_c=body,
        strength=strength,
        boil_c=day.boil_c,
    )


def strengths_of(
    day: Day, told: DiaryIndex, begins: dict[str, tuple[int, bool] | None]
) -> tuple[tuple[StrengthEstimate, ...], float]:
    """Return each sun cooker's strength and the day's haze, from the readings."""
    sun = [c for c in day.event.cookers if c.on_sun]
    place = {c.id: n + 1 for n, c in enumerate(sun)}
    sigma = [c.strength_band_fraction * BAND_TO_SIGMA for c in sun]
    hazy = HAZE_ERROR + (CLOUD_ERROR / 2 if day.event.weather.hours else 0.0)
    prior = np.diag([hazy**2, *(s**2 for s in sigma)])
    rows, values, noises = [], [], []
    count: dict[str, int] = defaultdict(int)
    for r in told.readings:
        begun = begins[r.placement.id]
        if begun is None or r.placement.cooker_id not in place or r.minute <= begun[0] + 5:
            continue
        if r.placement.id in told.ringed or _is_late(told.lifted, r):
            continue
        seen = _seen_gain(day, r, begun[0])
        if seen is None:
            continue
        row = np.zeros(len(sun) + 1)
        row[0] = row[place[r.placement.cooker_id]] = 1.0
        rows.append(row)
        values.append(seen[0] - 1.0)
        noises.append(seen[1] ** 2 + (UNSEEN_SHADE_MIN / max(r.minute - begun[0], 10)) ** 2)
        count[r.placement.cooker_id] += 1
    mean, cover = np.zeros(len(sun) + 1), prior
    if rows:
        h = np.asarray(rows)
        gain = prior @ h.T @ np.linalg.inv(h @ prior @ h.T + np.diag(noises))
        mean, cover = gain @ np.asarray(values), prior - gain @ h @ prior
    out = []
    for n, c in enumerate(sun, 1):
        most = c.strength_band_fraction / 2 * max(count[c.id], 0)
        worth = 1.0 + float(np.clip(mean[n], -most, most))
        spread = float(np.sqrt(max(cover[n, n], 0.0))) / BAND_TO_SIGMA
        low, high = max(worth - spread, 0.3), worth + spread
        out.append(StrengthEstimate(c.id, max(worth, 0.3), low, high, count[c.id]))
    return tuple(out), max(1.0 + float(mean[0]), 0.3)


def _is_late(lifted: dict[str, int], r: ProbeReading) -> bool:
    """Return whether a reading was taken after its pot had left the cooker."""
    return r.placement.id in lifted and r.minute > lifted[r.placement.id] + 5


def _seen_gain(day: Day, r: ProbeReading, loaded: int) -> tuple[float, float] | None:
    """Return (strength, its standard deviation) that explains a reading, or None if none can."""
    cooker = day.event.cooker(r.placement.cooker_id)
    load = load_of(day, [r.placement])
    ensemble = start_ensemble(day, cooker, load, loaded, GAINS)
    advance(ensemble, day.forcing, until=np.full(GAINS.size, float(r.minute)), boil_c=day.boil_c)
    core = ensemble.core_c[0]
    value = min(r.core_c, day.boil_c)
    if value >= day.boil_c - BOIL_WITHIN_C:
        # As hot as it gets: at least so strong. Says something only where less was expected.
        least = float(np.interp(day.boil_c - BOIL_WITHIN_C, core, GAINS))
        return (least, 0.1) if least > 1.0 else None
    if value <= core[0] + 0.5:
        return (float(GAINS[0]), 0.2) if core[8] > value + READING_C else None
    gain = float(np.interp(value, core, GAINS))
    slope = float(np.interp(gain, GAINS, np.gradient(core, GAINS)))
    return (gain, READING_C / slope) if slope > SLOPE_LEAST_C else None
