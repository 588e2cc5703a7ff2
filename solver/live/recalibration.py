"""Recalibration: the strengths that a day showed, as figures for the next event."""

from __future__ import annotations

from collections.abc import Sequence

from events.model import Cooker, Event
from events.provenance import Provenance
from events.quantities import clip
from events.table import changed
from solver.live.strength import StrengthEstimate
from solver.thermal.calibration import calibrated

READINGS_LEAST = 2  # one reading is an anecdote


def recalibrated(event: Event, strengths: Sequence[StrengthEstimate], source: str) -> list[Cooker]:
    """Return the cookers of which the day's readings said enough, with their strength put right."""
    known = {s.cooker_id: s for s in strengths if s.readings >= READINGS_LEAST}
    cookers = []
    for cooker in event.cookers:
        s = known.get(cooker.id)
        if s is None:
            continue
        resolved = calibrated(cooker)  # the day's strength is against what was measured before
        efficiency = resolved.optical_efficiency * s.strength
        band = s.strength_band
        learnt = Provenance(kind="learnt", note=f"{s.readings} readings: {source}")
        cookers.append(
            changed(
                resolved,
                optical_efficiency=round(clip("optical_efficiency", efficiency), 4),
                strength_band_fraction=round(min(band, cooker.strength_band_fraction), 3),
                station=None,
                provenance={**cooker.provenance, "optical_efficiency": learnt},
            )
        )
    return cookers
