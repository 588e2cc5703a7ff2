"""Lists typed a line each: skyline, trees and walls, shade seen; out as they came in."""

from __future__ import annotations

import pytest

from events.errors import FaultyEvent
from events.files import read_table
from service.drafts import lines_of, table_of, with_site
from tests.conftest import sample_event

FORM = {
    "skyline": "0 4\n90, 24\n180 3",
    "obstacles": "60 9 20 6\n75 4 12",
    "shade": "2026-11-20 08:40",
}


@pytest.mark.parametrize("units", ["metric", "us"])
def test_lists_come_out_as_they_were_typed(units: str) -> None:
    event = sample_event("harvest-lunch").model_copy(update={"units": units})

    kept = read_table(with_site(event, FORM), source="typed")

    tree = kept.site.obstacles[0]
    far = 0.3048 if units == "us" else 1.0
    assert (tree.bearing_deg, tree.distance_m) == (60, pytest.approx(20 * far))
    assert kept.site.obstacles[1].width_m == 5.0  # nobody said how wide: as the model has it
    site = table_of(kept)["site"]
    assert isinstance(site, dict)
    shown = lines_of(site, units)
    assert shown["skyline"] == "0 4\n90 24\n180 3"
    assert shown["obstacles"].splitlines()[0] == "60 9 20 6"
    assert shown["shade"] == "2026-11-20 08:40"
    assert read_table(with_site(kept, shown), source="again").site == kept.site


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        ("skyline", "90", "skyline"),
        ("skyline", "ninety 24", "skyline"),
        ("obstacles", "60 9", "distance_m"),
        ("obstacles", "60 nine 20", "height_m"),
        ("obstacles", "60 9 20 6 7", "width_m"),
        ("shade", "2026-11-20", "at"),
        ("shade", "yesterday 08:40", "date"),
    ],
)
def test_a_line_that_can_not_be_read_is_named(key: str, text: str, says: str) -> None:
    event = sample_event("harvest-lunch")

    with pytest.raises(FaultyEvent) as refusal:
        read_table(with_site(event, {key: text}), source="typed")

    assert says in str(refusal.value)
