"""Files that were written in older words are read as they were meant."""

from __future__ import annotations

import pytest

from events.provenance import Provenance
from events.reading.event_file import read_event
from events.reading.old_spellings import provenance_of
from events.reading.samples import sample_text
from tests.conftest import replaced

HARVEST = sample_text("harvest-lunch")


@pytest.mark.parametrize(
    ("mark", "kind", "note"),
    [
        ("given", "given", ""),
        ("measured", "measured", ""),
        ("measured in the field", "measured", "in the field"),
        ("measured on the day, 3 readings: Lunch", "learnt", "3 readings: Lunch"),
        ("computed from its shape", "computed", "from its shape"),
        ("by its size", "geometry", "by its size"),
        ("typical", "typical", ""),
        ("typical: until tender", "typical", "until tender"),
        ("fitted to: empty heat, scaled by aperture", "scaled", "empty heat"),
        ("a friend said so", "typical", "a friend said so"),
    ],
)
def test_the_text_of_a_mark_becomes_a_record(mark: str, kind: str, note: str) -> None:
    assert provenance_of(mark) == {"kind": kind, "note": note}


def test_marks_and_lids_of_older_files_are_read() -> None:
    text = replaced(
        HARVEST,
        ('name = "Box 1"', 'name = "Box 1"\nmarks = { litres = "measured" }'),
        ("[[pot]]", "[[pot]]\nlid = true"),
    )

    event = read_event(text)

    box = next(c for c in event.cookers if c.name == "Box 1")
    assert box.provenance["litres"] == Provenance(kind="measured")
    assert event.pots == read_event(HARVEST).pots
