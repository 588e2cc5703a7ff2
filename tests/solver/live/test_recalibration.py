"""What a day teaches about a cooker can be stored, and read again."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from events.model import Event
from events.quantities import RANGES
from events.storage.store import Store
from events.storage.tables import HOUSE, OwnCooker
from events.table import changed
from solver.live.recalibration import recalibrated
from solver.live.strength import StrengthEstimate
from tests.conftest import database_url

NOW = datetime(2026, 11, 28, 16, tzinfo=UTC)


@pytest.mark.parametrize("worth", [0.01, 0.8, 1.1, 1.4])
def test_a_strength_out_of_range_is_clipped_and_stored(
    harvest: Event, worth: float, tmp_path: Path
) -> None:
    cooker = changed(harvest.cookers[0], optical_efficiency=0.9)
    event = changed(harvest, cookers=(cooker, *harvest.cookers[1:]))
    said = StrengthEstimate(cooker.id, worth, low=worth * 0.9, high=worth * 1.1, readings=3)
    store = Store(database_url(tmp_path, f"sqlite:///{tmp_path / 'n.db'}"))
    low, high = RANGES["optical_efficiency"]

    (better,) = recalibrated(event, [said], "Harvest lunch")
    store.own_cookers.save(better, owner=HOUSE, source="Harvest lunch", now=NOW)

    assert better.optical_efficiency == pytest.approx(min(max(0.9 * worth, low), high), abs=1e-4)
    assert store.own_cookers.of([HOUSE]) == [OwnCooker(better, "Harvest lunch")]
    store.close()
