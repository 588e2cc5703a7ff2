"""Cookers told in four ways come to the same parameters; foods mix; forecasts and skylines read."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from events.errors import WHOLE_FILE, Fault, FaultyEvent, Place
from events.measured import Measured
from events.provenance import Provenance
from events.reading.cooker_facts import WATER_J_KG_K, to_parameters
from events.reading.event_file import load_event, read_event
from events.reading.forecast_file import weather_from
from events.reading.recipes import from_ingredients
from events.reading.samples import sample_text
from service.text.faults import faults_text, said
from tests.conftest import replaced

HARVEST = sample_text("harvest-lunch")
ETA, AREA, LOSS = 0.45, 0.5, 2.0  # the cooker that every way must find again


def told(**facts: float | str) -> dict[str, object]:
    faults: list[Fault] = []
    out = to_parameters({"kind": "box", "aperture_m2": AREA, **facts}, Place("cooker", 1), faults)
    assert faults == []
    return out


def test_the_line_of_the_water_test_gives_the_cooker_back() -> None:
    box = told(
        line_intercept_w=700 * ETA * AREA, line_slope_w_k=-LOSS * 700 / 820, line_sun_w_m2=820
    )

    assert box["optical_efficiency"] == pytest.approx(ETA, rel=1e-3)
    assert box["loss_w_k"] == pytest.approx(LOSS, rel=1e-3)
    assert box["provenance"] == {
        key: {"kind": "measured"}
        for key in ("optical_efficiency", "strength_band_fraction", "loss_w_k")
    }


def test_two_field_facts_give_the_cooker_back() -> None:
    sun, air, litres, low, high = 780.0, 22.0, 2.5, 20.0, 85.0
    power, capacity = ETA * AREA * sun, litres * WATER_J_KG_K
    seconds = (
        capacity / LOSS * math.log((power - LOSS * (low - air)) / (power - LOSS * (high - air)))
    )

    box = told(
        empty_c=air + power / LOSS,
        empty_air_c=air,
        empty_sun_w_m2=sun,
        heat_litres=litres,
        heat_from_c=low,
        heat_to_c=high,
        heat_min=seconds / 60,
        heat_sun_w_m2=sun,
        heat_air_c=air,
    )

    assert box["optical_efficiency"] == pytest.approx(ETA, rel=2e-3)
    assert box["loss_w_k"] == pytest.approx(LOSS, rel=2e-3)


def test_a_deep_mirror_keeps_the_pot_lit_longer_than_a_flat_one() -> None:
    deep, flat = (
        to_parameters({"kind": "parabolic", "aperture_m2": 1.539, "focal_m": f}, WHOLE_FILE, [])
        for f in (0.35, 0.8)
    )

    assert float(str(deep["acceptance_deg"])) > float(str(flat["acceptance_deg"])) > 1
    # A depth of D² / (16 f) says the same as the focal length.
    by_depth = to_parameters(
        {"kind": "parabolic", "aperture_m2": 1.539, "depth_m": 1.4**2 / 16 / 0.35}, WHOLE_FILE, []
    )
    assert by_depth["acceptance_deg"] == pytest.approx(deep["acceptance_deg"], rel=0.01)


def test_an_insulated_box_is_told_by_one_reading() -> None:
    box = to_parameters({"kind": "insulated", "litres": 10.0, "kept_c": 70.0}, WHOLE_FILE, [])

    left = 20 + 75 * math.exp(-float(str(box["loss_w_k"])) * 4 * 3600 / (10 * WATER_J_KG_K))
    assert left == pytest.approx(70, abs=0.05)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"line_intercept_w": 100.0}, "line_slope_w_k"),
        ({"line_intercept_w": 100.0, "line_slope_w_k": 1.0}, "not below 0"),
        ({"line_intercept_w": 900.0, "line_slope_w_k": -1.0}, "of the light"),
        ({"empty_c": 10.0}, "above the air"),
        ({"heat_litres": 1.0, "heat_from_c": 20.0, "heat_to_c": 60.0}, "heat_min"),
        ({"kept_c": 99.0, "litres": 5.0}, "between the air and 95"),
        ({"focal_m": 0.35, "pot_width_m": 0.01}, "smaller than the bright spot"),
        ({"empty_c": "hot"}, "is not a number"),
        ({"depth_m": 0.0}, "over 0"),
        (
            {
                "heat_litres": 1,
                "heat_from_c": 9,
                "heat_to_c": 60,
                "heat_min": 9,
                "heat_sun_w_m2": 0,
            },
            "over 0",
        ),
    ],
)
def test_what_can_not_be_is_a_fault_with_its_figures(facts: dict[str, object], words: str) -> None:
    faults: list[Fault] = []

    to_parameters({"kind": "box", "aperture_m2": 0.5, **facts}, Place("cooker", 1, "x"), faults)

    assert any(words in said(f).text for f in faults), faults


def test_in_a_file_measured_facts_take_the_place_of_typical_ones() -> None:
    text = replaced(HARVEST, ('name = "Box 1"', 'name = "Box 1"\nempty_c = 150\nempty_air_c = 25'))

    box = read_event(text).cookers[2]

    assert box.provenance["loss_w_k"] == Provenance(kind="measured", note="in the field")
    assert box.measured == Measured(empty_c=150, empty_air_c=25)


def test_a_mix_is_what_its_parts_are() -> None:
    faults: list[Fault] = []

    dish = from_ingredients(
        {
            "ingredients": [
                {"food": "potato", "portion_kg": 0.3},
                {"food": "water", "portion_kg": 0.1},
            ]
        },
        WHOLE_FILE,
        faults,
    )

    assert faults == []
    assert dish["portion_kg"] == pytest.approx(0.4)
    water = dish["composition"]["water"]  # type: ignore[index]
    assert water == pytest.approx((0.3 * 0.7925 + 0.1) / 0.4, abs=1e-3)


def test_an_unknown_food_is_named() -> None:
    text = replaced(
        HARVEST,
        ('like = "rice"', 'like = "rice"\ningredients = [{ food = "ryce", portion_kg = 0.1 }]'),
    )

    with pytest.raises(FaultyEvent, match="ryce"):
        read_event(text)


CSV = "time,cloud_pct,air_f,wind_km_h\n2026-11-28T09:00,20,68,9\n2026-11-28T10:00,40,70,18\n"
FEED = """{"hourly_units": {"wind_speed_10m": "km/h", "temperature_2m": "°F"},
 "hourly": {"time": ["2026-11-28T09:00", "2026-11-28T10:00", "2026-11-29T09:00"],
 "cloud_cover": [20, 40, 99], "temperature_2m": [68, 70, 0], "wind_speed_10m": [9, 18, 0]}}"""


@pytest.mark.parametrize("text", [CSV, FEED])
def test_a_forecast_reads_the_same_from_table_and_feed(text: str) -> None:
    found = weather_from(
        text, source="f", day=date(2026, 11, 28), zone=ZoneInfo("Africa/Johannesburg")
    )

    assert [(f"{h.start:%H:%M}", h.cloud_pct) for h in found.hours] == [
        ("08:30", 20.0),
        ("09:30", 40.0),
    ]
    assert [h.air_c for h in found.hours] == pytest.approx([20.0, 21.111], abs=1e-3)
    assert [h.wind_m_s for h in found.hours] == pytest.approx([2.5, 5.0], abs=1e-3)


def test_a_feed_in_utc_is_told_in_the_sites_time() -> None:
    text = CSV.replace("T09:00", "T09:00+00:00").replace("T10:00", "T10:00Z")

    found = weather_from(
        text, source="f", day=date(2026, 11, 28), zone=ZoneInfo("Africa/Johannesburg")
    )

    assert [f"{h.start:%H:%M}" for h in found.hours] == ["10:30", "11:30"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a,b\n1,2\n", "header"),
        (CSV.replace("20,68", "x,68"), "row 2"),
        (CSV.replace("20,68", "120,68"), "120"),
        (CSV.replace("2026-11-28T09", "28 Nov"), "28 Nov"),
        (CSV.replace("11-28", "11-20"), "no hour of 2026-11-28"),
        ("{", "is not JSON"),
        ('{"hourly": 3}', "lists"),
    ],
)
def test_a_bad_forecast_names_row_and_value(text: str, words: str) -> None:
    with pytest.raises(FaultyEvent) as refused:
        weather_from(text, source="f", day=date(2026, 11, 28), zone=ZoneInfo("Africa/Johannesburg"))

    assert words in "".join(faults_text(refused.value))


def test_a_file_may_name_a_skyline_and_a_forecast_beside_it(tmp_path: Path) -> None:
    (tmp_path / "horizon.csv").write_text("azimuth_deg,elevation_deg\n0,2\n90,30\n180,5\n")
    (tmp_path / "forecast.csv").write_text(CSV)
    start, end = HARVEST.index("[weather]"), HARVEST.index("[[station]]")
    text = HARVEST[:start] + '[weather]\nfile = "forecast.csv"\n\n' + HARVEST[end:]
    line = next(row for row in text.splitlines() if row.startswith("skyline"))
    (tmp_path / "e.toml").write_text(text.replace(line, 'skyline = "horizon.csv"'))

    event = load_event(tmp_path / "e.toml")

    assert event.site.skyline == ((0, 2), (90, 30), (180, 5))
    assert [h.cloud_pct for h in event.weather.hours] == [20, 40]
    with pytest.raises(FaultyEvent) as refused:
        read_event((tmp_path / "e.toml").read_text())
    assert any(f.kind == "no-folder" for f in refused.value.faults)


@pytest.mark.parametrize(
    ("turbidity", "value"), [('"dusty"', 6.0), ("[2,2,2,3,3,3,4,4,3,3,2.5,2]", 2.5)]
)
def test_haze_is_told_in_a_word_or_by_month(turbidity: str, value: float) -> None:
    text = replaced(HARVEST, ("altitude_m = 220", f"altitude_m = 220\nturbidity = {turbidity}"))

    assert read_event(text).site.turbidity == value
