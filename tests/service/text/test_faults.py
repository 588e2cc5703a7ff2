"""A fault's sentence: its place as the file heads it, the value, the limit, what to do."""

from __future__ import annotations

from datetime import time
from pathlib import Path

import pytest

import events
import service
import solver
from events.errors import SITE, WHOLE_FILE, Fault, FaultyEvent, Place
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from service.text.faults import InFiles, fault_json, faults_text, said
from tests.conftest import replaced

US = InFiles("us", 12)
ROOMS = [Path(room.__file__ or "").parent for room in (events, solver, service)]
WORDS_OF_FAULTS = ("fault_words.py", "event_fault_words.py", "page_fault_words.py")
SOURCES = [
    file
    for room in ROOMS
    for file in sorted(room.rglob("*.py"))
    if file.name not in ("fault_kinds.py", *WORDS_OF_FAULTS)
]


@pytest.mark.parametrize(
    ("fault", "text"),
    [
        (
            Place("dish", 2, "stew").fault("portions", 0, "at-least", least=1),
            "[[dish]] 2 (stew) portions is 0: must be at least 1.",
        ),
        (SITE.fault("", "", "no-site"), "[site]: is missing. Give latitude_deg, longitude_deg."),
        (Place("row", 7).fault("at", 1, "time"), "row 7 at is 1: must be a time, as 12:30."),
        (
            Place("row", 1, "trees.csv").fault("", "a,b", "not-two-numbers"),
            "row 1 (trees.csv) is a,b: is not two numbers.",
        ),
        (Place("pot").fault("", "", "none"), "[[pot]]: there is none. Add a [[pot]]."),
        (WHOLE_FILE.fault("", "", "not-json-object"), "file: is not a JSON object."),
        (
            WHOLE_FILE.fault("tittle", "", "unknown-key", near="title"),
            'tittle: is not a key here. Did you mean "title"?',
        ),
        (
            WHOLE_FILE.fault("zzz", "", "unknown-key", near=""),
            "zzz: is not a key here. Remove it, or see noonfare schema.",
        ),
        (
            Place("talk").fault("speaker", "'al'", "not-in-file", known=("ann", "bo")),
            "[[talk]] speaker is 'al': is not in this file. There are: ann, bo.",
        ),
        (
            Place("talk").fault("speaker", "'al'", "not-in-file", known=()),
            "[[talk]] speaker is 'al': is not in this file. There are: none.",
        ),
        (SITE.fault("sunlit_pct", 3, "not-twelve"), "[site] sunlit_pct is 3 values: must be 12. "
         "Give one for each month, January first."),
        (
            WHOLE_FILE.fault("", 1_500_000, "too-many-bytes", most=500_000),
            "file is 1500000: bytes: 500000 is the most. One file holds one event.",
        ),
    ],
)  # fmt: skip
def test_a_fault_in_one_line(fault: Fault, text: str) -> None:
    assert said(fault).text == text
    assert fault_json(fault)["text"] == text


def test_beside_its_field_a_fault_leaves_its_place_out() -> None:
    fault = Place("dish", 2, "stew").fault("kidney_beans", "'raw'", "beans-boil", least=30)

    assert said(fault).advice == (
        "'raw': needs done = \"boil\" and hold_min of at least 30 (US FDA). "
        'Boil them first and write "boiled", or use tins.'
    )


def test_figures_are_said_in_the_units_and_by_the_clock_of_the_event() -> None:
    raw = Place("dish", 1, "stew").fault("core_c", 60.0, "raw-middle", least_c=74.0, edition="X")
    late = Place("meal", 1, "lunch").fault(
        "until", time(13), "not-after", first="from", start=time(14)
    )

    assert said(raw).advice == (
        "60: raw meat and fish must reach 74 °C in the middle (X). Write core_c = 74."
    )
    assert said(raw, US).limit == "raw meat and fish must reach 165 °F in the middle (X)"
    assert said(late).advice == "13:00: must be after from 14:00."
    assert said(late, US).advice == "1:00 pm: must be after from 2:00 pm."


def test_a_file_that_shows_us_units_is_refused_in_them() -> None:
    pairs = (("format = 1", 'format = 1\nunits = "us"\nclock_h = 12'), ("opens = 08", "opens = 23"))
    with pytest.raises(FaultyEvent) as refused:
        read_event(replaced(sample_text("harvest-lunch"), *pairs))

    assert any("must be after opens 11:00 pm" in line for line in faults_text(refused.value))


def test_a_fault_as_json_has_each_figure_by_itself() -> None:
    fault = Place("meal", 12, "tea").fault(
        "from", time(23), "outside-hours", opens=time(8), closes=time(20)
    )

    assert fault_json(fault) == {
        "table": "meal",
        "number": 12,
        "id": "tea",
        "key": "from",
        "value": "23:00",
        "kind": "outside-hours",
        "figures": {"opens": "08:00", "closes": "20:00"},
        "limit": "must be inside the site's opening hours, 08:00 to 20:00",
        "remedy": "Move the meal, or the hours of the site.",
        "text": "[[meal]] 12 (tea) from is 23:00: must be inside the site's opening hours, "
        "08:00 to 20:00. Move the meal, or the hours of the site.",
    }


def test_a_refused_file_lists_each_fault() -> None:
    error = FaultyEvent("a.toml", [WHOLE_FILE.fault("", "", "not-json-object")])

    assert faults_text(error) == ["a.toml: 1 fault(s)", "  file: is not a JSON object."]
    assert "not-json-object" in str(error)
