"""A fault's sentence: its place as the file heads it, the value, the limit, what to do."""

from __future__ import annotations

import pytest

from events.errors import SITE, WHOLE_FILE, Fault, FaultyEvent, Place
from service.text.faults import fault_advice, fault_json, fault_text, faults_text


@pytest.mark.parametrize(
    ("fault", "text"),
    [
        (
            Place("dish", 2, "stew").fault("portions", "0", "must be 1 to 5000"),
            "[[dish]] 2 (stew) portions is 0: must be 1 to 5000.",
        ),
        (SITE.fault("", "", "is missing", "Add it."), "[site]: is missing. Add it."),
        (Place("row", 7).fault("time", "'x'", "is no time"), "row 7 time is 'x': is no time."),
        (
            Place("row", 1, "trees.csv").fault("", "a,b", "is another header"),
            "row 1 (trees.csv) is a,b: is another header.",
        ),
        (
            Place("pot").fault("", "", "there is none", "Add a [[pot]]."),
            "[[pot]]: there is none. Add a [[pot]].",
        ),
        (WHOLE_FILE.fault("", "", "is empty"), "file: is empty."),
    ],
)
def test_a_fault_in_one_line(fault: Fault, text: str) -> None:
    assert fault_text(fault) == text
    assert fault_json(fault)["text"] == text


def test_beside_its_field_a_fault_leaves_its_place_out() -> None:
    fault = Place("dish", 2, "stew").fault("portions", "0", "must be over 0", "Or leave it out.")

    assert fault_advice(fault) == "0: must be over 0. Or leave it out."


def test_a_fault_as_json_has_each_figure_by_itself() -> None:
    fault = Place("dish", 12, "stew").fault("portions", "0", "must be over 0", "Mend it.")

    assert fault_json(fault) == {
        "table": "dish",
        "number": 12,
        "id": "stew",
        "key": "portions",
        "value": "0",
        "limit": "must be over 0",
        "remedy": "Mend it.",
        "text": "[[dish]] 12 (stew) portions is 0: must be over 0. Mend it.",
    }


def test_a_refused_file_lists_each_fault() -> None:
    error = FaultyEvent("a.toml", [WHOLE_FILE.fault("", "", "is empty")])

    assert faults_text(error) == ["a.toml: 1 fault(s)", "  file: is empty."]
    assert "is empty" in str(error)
