"""How strong each cooker is today, and the day's haze, from the readings of the diary.

One haze for all cookers and one strength for each are estimated together (linear Gaussian):
low readings everywhere are attributed to the sky, at one cooker to that cooker. Near the boil a
reading is a lower bound; one reading moves a strength half its band at most; ten minutes of shade
that nobody wrote down are allowed for. Spreads are judged, none measured.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from solver.live.diary_index import DiaryIndex, ProbeReading
from solver.live.loadings import Loading, load_of
from solver.simulation.cooker_draws import BAND_TO_SIGMA
from solver.simulation.day import Day, loaded
from solver.simulation.run import advance
from solver.solar.ensemble import HAZE_ERROR, cloud_error
from solver.thermal.energy_balance import Array

READING_C = 2.0  # probe, its place in the pot, and the start, taken together
UNSEEN_SHADE_MIN = 10.0  # of shade that nobody wrote down
BOIL_WITHIN_C = 2.0
SLOPE_LEAST_C = 5.0  # a reading that depends on the strength less than this says nothing of it
SETTLED_MIN = 5  # a reading in the first minutes, or after the pot has left, says nothing
STRENGTHS = np.linspace(0.2, 1.8, 33)
STRENGTH_LEAST = 0.3


@dataclass(frozen=True)
class StrengthEstimate:
    """A cooker's strength today, against its description: 1 is as described."""

    cooker_id: str
    strength: float
    low: float  # 80 of 100 lie between low and high
    high: float
    readings: int

    @property
    def strength_band(self) -> float:
        """Return half of what 80 of 100 lie in, as a fraction of the strength."""
        return (self.high - self.low) / 2 / self.strength


@dataclass(frozen=True)
class StrengthEstimates:
    """The sun today against the forecast's (1 is as forecast), and each sun cooker's strength."""

    haze: float
    cookers: tuple[StrengthEstimate, ...]


@dataclass(frozen=True)
class Evidence:
    """The strength (haze included) that explains one reading, and its variance."""

    cooker_id: str
    strength: float
    variance: float


def estimate_strengths(
    day: Day, diary: DiaryIndex, loadings: Mapping[str, Loading]
) -> StrengthEstimates:
    """Return the day's haze and each sun cooker's strength, from the readings."""
    sun = [c for c in day.event.cookers if c.on_sun]
    evidence = [
        e
        for reading in diary.readings
        for e in [_evidence(day, diary, loadings, reading)]
        if e is not None
    ]
    prior = _prior(day, sun)
    mean, covariance = np.zeros(len(sun) + 1), prior
    if evidence:
        rows = _observations(sun, evidence)
        noise = np.diag([e.variance for e in evidence])
        gain = prior @ rows.T @ np.linalg.inv(rows @ prior @ rows.T + noise)
        mean = gain @ np.asarray([e.strength - 1.0 for e in evidence])
        covariance = prior - gain @ rows @ prior
    readings = Counter(e.cooker_id for e in evidence)
    return StrengthEstimates(
        haze=max(1.0 + float(mean[0]), STRENGTH_LEAST),
        cookers=tuple(
            _estimate(c, float(mean[n]), float(covariance[n, n]), readings[c.id])
            for n, c in enumerate(sun, 1)
        ),
    )


def _prior(day: Day, sun: Sequence[Cooker]) -> Array:
    """Return the covariance before any reading: the haze, then each cooker."""
    haze = HAZE_ERROR + (
        cloud_error(day.event.weather) / 2 if day.event.weather.is_forecast else 0.0
    )
    return np.diag([haze**2, *((c.strength_band_fraction * BAND_TO_SIGMA) ** 2 for c in sun)])


def _observations(sun: Sequence[Cooker], evidence: Sequence[Evidence]) -> Array:
    """Return, by reading, what it is the sum of: the haze and its cooker's strength."""
    column = {c.id: n for n, c in enumerate(sun, 1)}
    rows = np.zeros((len(evidence), len(sun) + 1))
    rows[:, 0] = 1.0
    rows[np.arange(len(evidence)), [column[e.cooker_id] for e in evidence]] = 1.0
    return rows


def _estimate(cooker: Cooker, mean: float, variance: float, readings: int) -> StrengthEstimate:
    most = cooker.strength_band_fraction / 2 * readings
    strength = 1.0 + float(np.clip(mean, -most, most))
    spread = float(np.sqrt(max(variance, 0.0))) / BAND_TO_SIGMA
    return StrengthEstimate(
        cooker_id=cooker.id,
        strength=max(strength, STRENGTH_LEAST),
        low=max(strength - spread, STRENGTH_LEAST),
        high=strength + spread,
        readings=readings,
    )


def _evidence(
    day: Day, diary: DiaryIndex, loadings: Mapping[str, Loading], reading: ProbeReading
) -> Evidence | None:
    """Return what a reading says of its cooker, or None where it says nothing."""
    batch_id = reading.placement.id
    cooker = day.event.cooker(reading.placement.cooker_id)
    loading = loadings.get(batch_id)
    if loading is None or not cooker.on_sun or reading.minute <= loading.minute + SETTLED_MIN:
        return None
    lifted = diary.lifted.get(batch_id)
    if batch_id in diary.to_ring or (lifted is not None and reading.minute > lifted + SETTLED_MIN):
        return None
    load = load_of(day, [reading.placement])
    minutes = np.full(STRENGTHS.size, loading.minute, dtype=np.int64)
    state = loaded(day, cooker, load, minutes, strength=STRENGTHS)
    until = np.full(STRENGTHS.size, float(reading.minute))
    advance(state, day.forcing, until=until, boil_c=day.boil_c)
    core_c = state.core_c[0]
    strength = _explaining_strength(core_c, min(reading.core_c, day.boil_c), day.boil_c)
    if strength is None:
        return None
    unseen = UNSEEN_SHADE_MIN / max(reading.minute - loading.minute, 10)
    return Evidence(cooker.id, strength.value, strength.deviation**2 + unseen**2)


@dataclass(frozen=True)
class _Explanation:
    value: float
    deviation: float  # standard deviation


def _explaining_strength(core_c: Array, reading_c: float, boil_c: float) -> _Explanation | None:
    """Return the strength whose core (`core_c`, by `STRENGTHS`) is the reading's, if any is."""
    if reading_c >= boil_c - BOIL_WITHIN_C:
        # As hot as it gets: at least so strong. Says something only where less was expected.
        least = float(np.interp(boil_c - BOIL_WITHIN_C, core_c, STRENGTHS))
        return _Explanation(least, 0.1) if least > 1.0 else None
    if reading_c <= core_c[0] + 0.5:
        colder = core_c[8] > reading_c + READING_C
        return _Explanation(float(STRENGTHS[0]), 0.2) if colder else None
    strength = float(np.interp(reading_c, core_c, STRENGTHS))
    slope_c = float(np.interp(strength, STRENGTHS, np.gradient(core_c, STRENGTHS)))
    return _Explanation(strength, READING_C / slope_c) if slope_c > SLOPE_LEAST_C else None
