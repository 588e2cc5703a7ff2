"""What clouds, parking, breakdowns and readings leave of each cooker's sun today."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np

from solver.live.diary_index import DiaryIndex
from solver.live.strength import STRENGTH_LEAST, StrengthEstimates
from solver.simulation.day import Day, scaled
from solver.thermal.energy_balance import Array

CLOUD_LEFT = 0.2  # of the clear beam under a cloud that somebody saw
PARKED_MORE_MIN = 15  # a parked cooker is planned as if it were brought back this soon


def availability(day: Day, diary: DiaryIndex, now: int) -> dict[str, Array]:
    """Return, by cooker and minute, the share of its power that the diary leaves."""
    clear = np.maximum(day.sky.clear_beam_w_m2, 1e-9)
    shaded = np.ones(day.sky.air_c.size)
    for shade in diary.shades:
        span = slice(shade.start, shade.end)
        under = CLOUD_LEFT * clear[span] / np.maximum(day.sky.beam_w_m2[span], 1e-9)
        shaded[span] = np.minimum(shaded[span], under)
    left = {}
    for c in day.event.cookers:
        share = shaded.copy() if c.on_sun else np.ones_like(shaded)
        if c.id in diary.out_of_action:
            share[diary.out_of_action[c.id] :] = 0.0
        if c.id in diary.parked and c.on_sun:
            share[diary.parked[c.id] : now + PARKED_MORE_MIN] = 0.0
        left[c.id] = share
    return left


def recalibrated_day(day: Day, left: Mapping[str, Array], estimates: StrengthEstimates) -> Day:
    """Return the day under its haze and with each cooker as strong, and as sure, as readings say.

    The sampled strengths are spread about what is known now: 1 is what `availability` has already.
    """
    known = {s.cooker_id: s for s in estimates.cookers}
    share = {
        c: left[c] * known[c].strength * estimates.haze if c in known else left[c] for c in left
    }
    strength = day.member_strength.copy()
    for c in day.event.cookers:
        if c.id in known and c.strength_band_fraction > 0:
            narrower = min(known[c.id].strength_band / c.strength_band_fraction, 1.0)
            row = day.rows[c.id]
            strength[:, row] = 1 + (strength[:, row] - 1) * narrower
    return dataclasses.replace(
        scaled(day, share),
        member_strength=np.maximum(strength, STRENGTH_LEAST),
        strength_bands={c: s.strength_band for c, s in known.items()},
    )
