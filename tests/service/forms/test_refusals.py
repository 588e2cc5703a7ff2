"""A fault by the field that it was typed in: its label, its row's name, its units, its clock."""

from __future__ import annotations

import re
from datetime import time

import pytest

from events.errors import SITE, Fault, Place
from service.forms.refusals import NONE_THERE, refusal_line
from service.forms.table_fields import ROWS
from service.forms.us_units import fields_of
from service.text.fault_words import FILE
from service.text.faults import WORDS
from service.text.form_fault_words import FORM

METRIC = {"units": "metric", "clock_h": 24, "meal": [{"id": "noon", "name": "Lunch"}]}
US = {**METRIC, "units": "us", "clock_h": 12}
TOO_HIGH = SITE.fault("altitude_m", "6096.0", "at-most", most=5500)
TOO_SOON = Place("meal", 1, "noon").fault(
    "until", time(13), "not-after", first="from", start=time(14)
)


@pytest.mark.parametrize(
    ("table", "high", "soon"),
    [
        (
            METRIC,
            "m: 6096 is too much. Type 5500 or less.",
            "Until: 13:00 is not after 14:00, when it begins. Type a later time.",
        ),
        (
            US,
            "ft: 20000 is too much. Type 18044 or less.",
            "Until: 1:00 pm is not after 2:00 pm, when it begins. Type a later time.",
        ),
    ],
)
def test_a_refusal_says_figures_as_its_form_has_them(
    table: dict[str, object], high: str, soon: str
) -> None:
    assert refusal_line(TOO_HIGH, table) == f"Altitude, {high}"
    assert refusal_line(TOO_SOON, table) == f"Lunch, {soon}"


@pytest.mark.parametrize(("table", "unit"), [(METRIC, "g"), (US, "oz")])
def test_a_field_is_named_in_a_refusal_as_its_form_names_it(
    table: dict[str, object], unit: str
) -> None:
    fault = Place("dish", 1, "d").fault("ingredients", "", "missing")

    assert f"Made of, {unit} for one: is empty." in refusal_line(fault, table)


def test_a_cold_box_is_as_cold_in_either_unit() -> None:
    # US FDA Food Code 2022, 3-501.16: cold food is kept at 5 °C (41 °F) or less.
    field = next(f for f in ROWS["dish"] if f.key == "start_c")

    assert (field.label, field.hint) == ("Put in at, °C", "5 or less from a cold box")
    (us,) = fields_of((field,), "us")
    assert (us.label, us.hint) == ("Put in at, °F", "41 or less from a cold box")


def test_what_is_no_number_stays_as_it_was_typed() -> None:
    fault = SITE.fault("altitude_m", "'high'", "number")

    assert (
        refusal_line(fault, US) == "Altitude, ft: “high” is not a number. Type one, as 12 or 2.5."
    )


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        (Place("meal", 1, "noon").fault("from", "", "missing"), "Type a time, as 12:30."),
        (Place("meal", 1, "noon").fault("portions", "", "missing"), "Type a number, as 12 or 2.5."),
        (Place("meal", 1, "noon").fault("name", "", "missing"), "Type a few words."),
        (Place("dish", 1, "new").fault("like", "", "missing"), "Choose one."),
        (Place("talk", 1, "t").fault("speaker", "", "missing"), "Choose one."),
    ],
)
def test_an_empty_field_says_how_it_is_typed(fault: Fault, says: str) -> None:
    assert refusal_line(fault, METRIC).endswith(f": is empty. {says}")


def test_a_limit_in_other_units_is_rounded_to_what_is_allowed() -> None:
    least = Place("cooker", 1, "m").fault("diameter_m", "0.1", "at-least", least=0.3)
    most = Place("cooker", 1, "m").fault("diameter_m", "9.0", "at-most", most=4.0)

    assert refusal_line(least, US).endswith("3.9 is too little. Type 11.9 or more.")  # 11.81 in
    assert refusal_line(most, US).endswith("354.3 is too much. Type 157.4 or less.")  # 157.48 in


# What only a file can have wrong: it is never typed into a field.
OF_FILES = {
    *(kind for kind in FILE if kind.startswith(("too-many", "too-long", "not-json", "log-"))),
    *(
        "empty-file",
        "too-deep",
        "no-folder",
        "unknown-key",
        "not-a-list",
        "not-one-table",
        "no-site",
        "no-contest",
    ),
    *("skyline-header", "forecast-header", "no-own-cookers", "too-many-own", "no-such-food"),
    *("over-cloud", "under-cloud", "lost-too-soon", "done-needs", "not-toml"),
}
IDIOM = re.compile(r"=|\[|\w_\w|\bkeys?\b|\bfiles?\b|noonfare schema")


def test_what_is_refused_on_a_page_never_speaks_as_a_file_does() -> None:
    shown = {**WORDS, **FORM}
    for kind in set(shown) - OF_FILES - set(NONE_THERE):
        for words in shown[kind]:
            bare = re.sub(r"\{[^}]*\}", "", words)
            assert not IDIOM.search(bare), (kind, words)
