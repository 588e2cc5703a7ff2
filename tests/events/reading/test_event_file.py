"""Event files: what is read is what is written; every fault is said at once, with its place."""

from __future__ import annotations

import contextlib
import copy
import json
import tomllib
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema.validators import validator_for

from events.errors import FaultyEvent
from events.identity import fingerprint_of
from events.model import Event
from events.reading.event_file import read_event, read_table
from events.reading.samples import sample_text
from events.reading.schema import event_schema
from events.reading.write import event_table, write_event
from events.table import changed
from service.text.faults import said
from tests.conftest import SAMPLES, replaced, sample_event

HARVEST = sample_text("harvest-lunch")


def faults_of(text: str) -> list[str]:
    with pytest.raises(FaultyEvent) as caught:
        read_event(text, source="e.toml")
    return [said(f).text for f in caught.value.faults]


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_written_and_read_again_is_the_same_event(name: str) -> None:
    event = sample_event(name)

    assert read_event(write_event(event)) == event


@pytest.mark.parametrize("name", SAMPLES)
def test_the_tables_of_an_event_are_those_of_its_file(name: str) -> None:
    event, file = sample_event(name), write_event(sample_event(name))

    assert event_table(event) == tomllib.loads(file)
    read = read_table(event_table(event), source="its tables")
    assert fingerprint_of(read) == fingerprint_of(read_event(file))


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_as_json_is_the_same_event(name: str) -> None:
    table = json.loads(json.dumps(tomllib.loads(sample_text(name)), default=str))

    assert read_table(table, source="json") == sample_event(name)


@pytest.fixture(scope="module")
def printed_schema() -> Any:
    """Return what holds a table against the printed schema, itself held to its own draft."""
    schema = event_schema()
    kind = validator_for(schema)
    kind.check_schema(schema)
    return kind(schema)


@pytest.mark.parametrize("name", SAMPLES)
def test_samples_keep_to_the_printed_schema(name: str, printed_schema: Any) -> None:
    for text in (sample_text(name), write_event(sample_event(name))):
        table = json.loads(json.dumps(tomllib.loads(text), default=str))

        printed_schema.validate(table)


def test_the_schema_refuses_an_unknown_key(printed_schema: Any) -> None:
    table = json.loads(json.dumps(tomllib.loads(HARVEST), default=str))
    table["dish"][0]["spice"] = "cumin"

    with pytest.raises(jsonschema.ValidationError):
        printed_schema.validate(table)


def test_the_schema_takes_an_allergen_by_any_of_its_words(printed_schema: Any) -> None:
    table = json.loads(json.dumps(tomllib.loads(HARVEST), default=str))
    table["dish"][0]["allergens"] = ["tree nut", "soy", "wheat", "eggs"]

    printed_schema.validate(table)


def test_us_units_are_read_as_ours() -> None:
    text = replaced(
        HARVEST, ("altitude_m = 220", "altitude_ft = 722"), ("air_c = 18", "air_f = 64.4")
    )

    event = read_event(text)

    assert event.site.altitude_m == pytest.approx(220.0656)
    assert event.weather.hours[0].air_c == pytest.approx(18.0)


@pytest.mark.parametrize(
    ("key", "value", "field", "ours"),
    [
        ("diameter_in", "55", "aperture_m2", 1.533),
        ("spot_leaves_min", "16", "acceptance_deg", 4.0),
        ("diameter_m", "1.0", "aperture_m2", 0.7854),
    ],
)
def test_cookers_are_given_as_people_see_them(
    key: str, value: str, field: str, ours: float
) -> None:
    text = replaced(HARVEST, ('name = "Mirror 1"', f'name = "Mirror 1"\n{key} = {value}'))

    mirror = read_event(text).cookers[0]

    assert getattr(mirror, field) == pytest.approx(ours, abs=1e-3)


def test_a_larger_opening_scales_a_box_of_the_catalogue() -> None:
    plain = read_event(HARVEST).cookers[2]
    text = replaced(HARVEST, ('name = "Box 1"', 'name = "Box 1"\naperture_m2 = 1.2'))

    twice = read_event(text).cookers[2]

    assert twice.loss_w_k == pytest.approx(2 * (plain.loss_w_k or 0))
    assert twice.provenance["loss_w_k"].kind == "scaled"
    assert twice.provenance["aperture_m2"].kind == "given"


def test_the_zone_is_found_from_the_coordinates() -> None:
    assert read_event(HARVEST).site.timezone == "Africa/Johannesburg"


@pytest.mark.parametrize(
    ("pairs", "said"),
    [
        ([("latitude_deg = -34.6", "latitude_deg = -134.6")], ["latitude_deg", "-134.6", "-90"]),
        ([("altitude_m = 220", "altitude_m = nan")], ["altitude_m", "nan", "number"]),
        ([("altitude_m = 220", "altitude_m = 220\naltitude_ft = 5")], ["altitude_ft", "Keep one"]),
        ([("portions = 24", "portions = 24\nportion = 3")], ["portion", "Did you mean"]),
        ([('like = "rice"', 'like = "ryce"')], ["ryce", 'Did you mean "rice"']),
        ([("from = 12:30:00", 'from = "12:3"')], ["12:3", "is not a time", "12:30"]),
        ([("from = 12:30:00", "from = 07:30:00")], ["from", "07:30", "08:00 to 16:00"]),
        ([('station = "pump"', 'station = "pomp"')], ["station", "pomp", "gate, pump, wall"]),
        ([('like = "gas-ring"', 'like = "gas-ring"\npower_w = "two"')], ["power_w", "two"]),
        ([('may = ["mirrors", "burner", "lift"]', 'may = ["lift"]')], ["gas-ring", "burner"]),
        ([('id = "rice"', 'id = "Rice!"')], ["id", "Rice!"]),
        ([("date = 2026-11-28", 'date = "28 November"')], ["date", "28 November", "2026-11-28"]),
        ([("format = 1", "format = 2")], ["format", "2"]),
        ([("date = 2026-11-28", "")], ["date", "is missing"]),
    ],
)
def test_a_fault_is_named_with_value_limit_and_what_to_do(
    pairs: list[tuple[str, str]], said: list[str]
) -> None:
    found = faults_of(replaced(HARVEST, *pairs))

    assert any(all(word in fault for word in said) for fault in found), found


def test_all_faults_are_told_together() -> None:
    text = replaced(
        HARVEST,
        ("altitude_m = 220", "altitude_m = 9999"),
        ('like = "rice"', 'like = "ryce"'),
        ("cloud_pct = 10", "cloud_pct = 110"),
        ("from = 12:30:00", 'from = "noon"'),
    )

    found = faults_of(text)

    for word in ("altitude_m", "ryce", "cloud_pct", "noon"):
        assert sum(word in fault for fault in found) == 1, (word, found)


@pytest.mark.parametrize("text", ["", "   \n", "hello", "= 3", "a = [", "x" * 1_000_001, "a=1"])
def test_what_is_no_event_file_is_refused_in_words(text: str) -> None:
    assert faults_of(text)


@pytest.mark.parametrize("kind", ["cooker", "pot", "meal", "dish", "helper"])
def test_an_event_without_any_of_a_kind_is_refused(kind: str) -> None:
    tables = tomllib.loads(HARVEST)
    tables[kind] = []

    with pytest.raises(FaultyEvent) as caught:
        read_table(tables, source="e")

    assert any(f.table == kind and "none" in said(f).limit for f in caught.value.faults)


def test_five_hundred_dishes_are_too_many_and_the_limit_is_said() -> None:
    dish = '[[dish]]\nid = "d{}"\nlike = "rice"\nmeal = "lunch"\nportions = 2\n'

    found = faults_of(HARVEST + "".join(dish.format(k) for k in range(500)))

    assert any("400" in fault for fault in found), found


def test_raw_kidney_beans_that_are_not_boiled_are_refused() -> None:
    # Source: US FDA, at least 30 minutes at the boil.
    text = replaced(HARVEST, ('like = "bean-stew"', 'like = "bean-stew"\nkidney_beans = "raw"'))

    assert any("30" in f and "boiled" in f for f in faults_of(text))


@given(st.text(max_size=300))
def test_any_text_is_an_event_or_a_list_of_faults(text: str) -> None:
    """Whatever is handed in, the answer is an event or faults: never another error."""
    try:
        assert isinstance(read_event(text), Event)
    except FaultyEvent as error:
        assert error.faults


_values = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=20),
    st.lists(st.integers(), max_size=3),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
)


@given(
    table=st.sampled_from(["site", "weather", "cooker", "dish", "meal", "helper", "talk", "pot"]),
    key=st.sampled_from(
        ["id", "like", "name", "from", "until", "portions", "latitude_deg", "hours", "may", "kind"]
    ),
    value=_values,
)
def test_any_value_at_any_key_is_read_or_faulted(table: str, key: str, value: object) -> None:
    """A wrong type or unit at any key is a fault with its place."""
    tables = tomllib.loads(HARVEST)
    target = tables[table]
    (target[0] if isinstance(target, list) else target)[key] = value

    try:
        read_table(tables, source="e")
    except FaultyEvent as error:
        assert all(said(f).limit for f in error.faults)


@pytest.mark.slow
@given(
    name=st.text(min_size=1, max_size=60).filter(lambda s: s.strip() == s and s.isprintable()),
    portions=st.integers(1, 60),
    cloud=st.floats(0, 100),
)
def test_any_event_survives_writing_and_reading(name: str, portions: int, cloud: float) -> None:
    """Names in any script and any figure inside its range come back as they were."""
    tables = tomllib.loads(HARVEST)
    tables["title"] = name
    tables["dish"][0] |= {"name": name, "portions": portions}
    tables["weather"]["hours"][0]["cloud_pct"] = cloud
    event = read_table(tables, source="e")

    assert read_event(write_event(event)) == event


def test_a_typed_diameter_is_kept_and_gives_the_area() -> None:
    text = replaced(HARVEST, ('name = "Mirror 1"', 'name = "Mirror 1"\ndiameter_in = 55'))

    event = read_event(text)

    mirror = next(c for c in event.cookers if c.name == "Mirror 1")
    assert (mirror.diameter_m, mirror.aperture_m2) == (1.397, 1.5328)
    assert mirror.opening_width_m == 1.397
    assert read_event(write_event(event)) == event


def test_two_openings_that_disagree_are_a_fault() -> None:
    both = 'name = "Mirror 1"\ndiameter_m = 1.4\naperture_m2 = 2.0'

    found = faults_of(replaced(HARVEST, ('name = "Mirror 1"', both)))

    assert any("diameter_m is 1.4" in fault and "Keep one" in fault for fault in found), found


def test_another_area_puts_the_diameter_out(harvest: Event) -> None:
    mirror = changed(harvest.cookers[0], diameter_m=1.4, aperture_m2=None)
    assert (mirror.diameter_m, mirror.aperture_m2) == (1.4, 1.5394)

    larger = changed(mirror, aperture_m2=2.0)

    assert larger.diameter_m is None
    assert larger.opening_width_m == pytest.approx(1.5958, abs=1e-4)


STRANGE = ([], None, True, float("nan"), 10**12, "x" * 300, {"a": [1]})


def places(table: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    pairs = (
        table.items()
        if isinstance(table, dict)
        else enumerate(table)
        if isinstance(table, list)
        else ()
    )
    return [q for k, v in pairs for q in ((*path, k), *places(v, (*path, k)))]


@pytest.mark.parametrize("strange", STRANGE, ids=lambda value: repr(value)[:12])
def test_a_strange_value_anywhere_is_a_fault_and_never_a_crash(strange: object) -> None:
    file = tomllib.loads(write_event(read_event(HARVEST)))
    whole: Any = {k: v[:1] if isinstance(v, list) else v for k, v in file.items()}
    whole["dish"][0]["ingredients"] = [{"food": "potato", "portion_kg": 0.1}]
    whole["cooker"][0] |= {"line_intercept_w": 300.0, "line_slope_w_k": -2.0, "marks": {}}
    assert len(places(whole)) > 150

    for path in places(whole):
        table = copy.deepcopy(whole)
        inner: Any = table
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = strange
        with contextlib.suppress(FaultyEvent):
            read_table(table, source="strange")
