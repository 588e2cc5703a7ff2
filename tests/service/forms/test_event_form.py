"""Lists typed a line each: skyline, trees and walls, shade seen; out as they came in."""

from __future__ import annotations

from datetime import date

import pytest

from events.errors import FaultyEvent
from events.kitchen import Dish
from events.model import Event
from events.reading.event_file import read_table
from events.table import changed
from service.forms.event_form import (
    rows_of,
    table_of,
    with_rows,
    with_site,
)
from service.forms.fields import clock_24
from service.forms.multiline import lines_of
from service.forms.sky_table import sky_rows
from tests.conftest import sample_event
from tests.service.forms.sending import sent, sent_rows

FORM = {
    "skyline": "0 4\n90, 24\n180 3",
    "obstacles": "60 9 20 6\n75 4 12",
    "shade": "2026-11-20 08:40",
}


@pytest.mark.parametrize("units", ["metric", "us"])
def test_lists_come_out_as_they_were_typed(units: str) -> None:
    event = changed(sample_event("harvest-lunch"), units=units)

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


@pytest.mark.parametrize(
    ("text", "as_file"),
    [
        *(("1:30 pm", "13:30"), ("12 am", "00:00"), ("12:05PM", "12:05"), ("730 a.m.", "07:30")),
        *(("13:30", "13:30"), ("13 pm", "13 pm"), ("noon", "12:00")),
        *(
            ("9", "09:00"),
            ("17", "17:00"),
            ("9.30", "09:30"),
            ("17h30", "17:30"),
            ("9 am", "09:00"),
        ),
        *(("2", "2"), ("25", "25"), ("soon", "soon")),  # by day or by night? it is asked back
    ],
)
def test_a_clock_time_may_be_typed_as_am_and_pm(text: str, as_file: str) -> None:
    assert clock_24(text) == as_file


def test_a_meal_that_is_moved_keeps_its_length() -> None:
    event = sample_event("harvest-lunch")
    form = {"lunch.id": "lunch", "lunch.from": "1:15 pm", "lunch.until": "13:30"}

    moved = read_table(with_rows(event, "meal", form, {}), source="typed").meals[0]
    longer = read_table(
        with_rows(event, "meal", form | {"lunch.until": "15:00"}, {}), source="typed"
    ).meals[0]

    assert (f"{moved.start:%H:%M}", f"{moved.end:%H:%M}") == ("13:15", "14:15")
    assert f"{longer.end:%H:%M}" == "15:00"


def sky(event: Event, **typed: str) -> dict[str, str]:
    """Return the forecast's table as a browser sends it: what is not typed is empty."""
    cells = {cell.name: "" for row in sky_rows(event) for cell in row.cells}
    assert {f"sky.{key}" for key in typed} <= set(cells)
    return cells | {f"sky.{key}": text for key, text in typed.items()}


@pytest.mark.parametrize(
    ("units", "air", "wind", "air_c", "wind_m_s"),
    [("metric", "24", "2", 24, 2), ("us", "75", "5", 23.9, 2.235)],
)
def test_the_sky_is_typed_by_the_hour(
    units: str, air: str, wind: str, air_c: float, wind_m_s: float
) -> None:
    event = changed(sample_event("harvest-lunch"), units=units)
    first_row = {"09:00.cloud": "20", "09:00.air": air, "09:00.wind": wind}

    form = sky(event, **first_row, **{"13:00.cloud": "60"})
    kept = read_table(with_site(event, form), source="typed")

    first, second = kept.weather.hours
    assert (first.cloud_pct, second.cloud_pct) == (20, 60)
    assert first.air_c == pytest.approx(air_c, abs=0.1)
    assert first.wind_m_s == pytest.approx(wind_m_s, abs=0.01)
    assert (second.air_c, second.wind_m_s) == (first.air_c, first.wind_m_s), "as the hour before"
    shown = {cell.name: cell.text for row in sky_rows(kept) for cell in row.cells}
    assert shown["sky.09:00.air"] == air
    assert read_table(with_site(kept, shown), source="again").weather == kept.weather
    assert not read_table(with_site(kept, sky(kept)), source="none").weather.hours


def test_a_sky_that_was_not_touched_stays_as_it_was() -> None:
    event = changed(sample_event("harvest-lunch"), units="us")
    sent = {cell.name: cell.text for row in sky_rows(event) for cell in row.cells}

    kept = read_table(with_site(event, sent), source="typed")

    assert kept.weather == event.weather


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ({"09:00.air": "24"}, "hours.0.cloud_pct"),
        ({"09:00.cloud": "clear"}, "hours.0.cloud_pct"),
        ({"09:00.cloud": "120"}, "hours.0.cloud_pct"),
        ({"09:00.cloud": "20", "10:00.wind": "gusty"}, "hours.1.wind_m_s"),
    ],
)
def test_what_no_forecast_can_be_is_asked_back(typed: dict[str, str], key: str) -> None:
    event = sample_event("harvest-lunch")

    with pytest.raises(FaultyEvent) as refused:
        read_table(with_site(event, sky(event, **typed)), source="typed")

    assert [(f.table, f.key) for f in refused.value.faults] == [("weather", key)]


@pytest.mark.parametrize(
    ("today", "ahead", "is_forecast"),
    [
        (date(2026, 11, 28), 0, True),
        (date(2026, 11, 12), 16, True),
        (date(2026, 11, 11), 17, False),
    ],
)
def test_a_sky_in_words_is_as_old_as_the_days_it_is_typed_ahead(
    today: date, ahead: int, is_forecast: bool
) -> None:
    event = sample_event("harvest-lunch")
    form = {"sky_words": "clear", "days_ahead": str(event.weather.days_ahead)}

    kept = read_table(with_site(event, form, today), source="typed")
    own = read_table(with_site(event, form | {"days_ahead": "5"}, today), source="typed")

    assert (kept.weather.days_ahead, kept.weather.is_forecast) == (ahead, is_forecast)
    assert own.weather.days_ahead == 5


def test_the_age_of_a_forecast_is_typed_and_stays_with_hours_that_were_not_touched() -> None:
    event = sample_event("harvest-lunch")
    sent = {cell.name: cell.text for row in sky_rows(event) for cell in row.cells}

    kept = read_table(with_site(event, sent | {"days_ahead": "3"}), source="typed")

    assert kept.weather == changed(event.weather, days_ahead=3)
    with pytest.raises(FaultyEvent, match="days_ahead"):
        read_table(with_site(event, sent | {"days_ahead": "x"}), source="typed")


def test_a_helper_may_be_asked_for_nothing() -> None:
    event = sample_event("harvest-lunch")
    form = {"wim.id": "wim", "wim.may": "", "wim.adult": "on"}

    wim = read_table(with_rows(event, "helper", form, {}), source="typed").helper("wim")

    assert wim.may == ()
    assert wim.works == frozenset()


def test_allergens_are_typed_as_phrases() -> None:
    event = sample_event("harvest-lunch")
    form = {"rice.id": "rice", "rice.allergens": "tree nuts, soy", "rice.also_contains": "kiwi"}

    rice = read_table(with_rows(event, "dish", form, {}), source="typed").dish("rice")

    assert rice.allergens == ("nuts", "soya")
    assert rice.also_contains == ("kiwi",)


def test_so_many_pots_of_a_kind_are_one_row() -> None:
    form = {"new.like": "pot-8l", "new.name": "Big", "new.count": "3"}

    big = read_table(with_rows(sample_event("harvest-lunch"), "pot", form, {}), source="typed")

    assert [(p.name, p.count) for p in big.pots if p.name.startswith("Big")] == [("Big", 3)]


def dish_typed(like: str, **typed: str) -> Dish:
    """Return the harvest lunch's compote, made another kind, after its form was typed over."""
    event = sample_event("harvest-lunch")
    table = table_of(event)
    given = {"id": "it", "like": like, "meal": "lunch", "portions": 5}
    table["dish"] = [given | {"name": "It"}]
    event = read_table(table, source="before")
    row = rows_of(table_of(event), "dish")[0]
    form = sent(event, "dish", "it", row) | {f"it.{key}": text for key, text in typed.items()}
    return read_table(with_rows(event, "dish", form, {}), source="typed").dish("it")


@pytest.mark.parametrize(
    ("like", "typed", "raw"),
    [
        ("vegetable-curry", {}, False),
        ("vegetable-curry", {"name": "Chicken curry", "out_min": "0"}, True),
        ("vegetable-curry", {"name": "Chicken curry", "start_c": "5"}, True),
        ("vegetable-curry", {"name": "Chicken curry", "raw_meat": "False"}, False),
        ("vegetable-curry", {"raw_meat": "True", "out_min": "10"}, True),
        ("chicken-stew", {}, True),
        ("chicken-stew", {"name": "Sunday pot"}, True),
        ("chicken-stew", {"raw_meat": "False"}, False),
    ],
)
def test_a_dish_is_raw_by_its_name_until_somebody_says_how_it_is(
    like: str, typed: dict[str, str], *, raw: bool
) -> None:
    assert dish_typed(like, **typed).raw_meat is raw


def test_raw_meat_over_the_cold_is_asked_how_long_it_has_been_out() -> None:
    """UK Food Safety and Hygiene Regulations 2013, schedule 4: chilled food at 8 °C or less."""
    with pytest.raises(FaultyEvent) as warm:
        dish_typed("vegetable-curry", raw_meat="True", start_c="8.1")

    assert [(f.key, f.kind) for f in warm.value.faults] == [("start_c", "raw-out-of-cold")]
    assert dish_typed("vegetable-curry", raw_meat="True", start_c="8").start_c == 8.0


def test_what_is_typed_as_raw_or_called_after_what_spoils_is_kept_hot_or_cold() -> None:
    assert not dish_typed("tea").hazardous
    assert dish_typed("tea", name="Milk tea").hazardous
    assert dish_typed("tea", raw_meat="True", start_c="5").hazardous


def test_whether_a_dish_is_raw_stays_as_its_file_says() -> None:
    event = sample_event("cook-off")
    kept = read_table(with_rows(event, "dish", sent_rows(event, "dish"), {}), source="sent")

    assert kept.dish("chicken").raw_meat
    said_no = changed(event.dish("chicken"), raw_meat=False)
    event = changed(event, dishes=(said_no,))
    kept = read_table(with_rows(event, "dish", sent_rows(event, "dish"), {}), source="sent")
    assert not kept.dish("chicken").raw_meat


def test_vulnerable_guests_are_a_tick() -> None:
    event = sample_event("winter-refusal")
    dishes = tuple(changed(d, holding_max_min=60) for d in event.dishes)
    event = changed(event, dishes=dishes)

    there = read_table(with_site(event, {"vulnerable_guests": "on"}), source="typed")

    assert there.vulnerable_guests
    assert not read_table(with_site(there, {}), source="typed").vulnerable_guests


def test_a_sky_in_words_keeps_the_air_and_the_wind() -> None:
    event = sample_event("harvest-lunch")

    cloudy = read_table(with_site(event, {"sky_words": "cloudy after two"}), source="typed")

    assert [(f"{h.start:%H:%M}", h.cloud_pct) for h in cloudy.weather.hours] == [
        ("00:00", 5),
        ("14:00", 90),
    ]
    before = [h for h in event.weather.hours if f"{h.start:%H:%M}" <= "14:00"][-1]
    assert cloudy.weather.hours[1].air_c == before.air_c
    assert cloudy.weather.source == "in words: cloudy after two"


def test_a_talk_that_floats_is_told_its_speakers_its_cooker_and_how_surely() -> None:
    event = sample_event("school-rounds")
    talk = next(t for t in event.talks if t.moment == "boil")
    typed = {f"{talk.id}.id": talk.id, f"{talk.id}.whole": "on", f"{talk.id}.chance_pct": "60"}
    typed |= {f"{talk.id}.speakers": "wanja,otieno", f"{talk.id}.cooker": "panel"}

    kept = read_table(with_rows(event, "talk", typed, {}), source="typed").talk(talk.id)

    assert (kept.speakers, kept.cooker, kept.chance_pct) == (("wanja", "otieno"), "panel", 60)
    assert (kept.moment, kept.start, kept.end) == (talk.moment, talk.start, talk.end)


def test_who_or_what_is_taken_out_is_taken_out_of_the_talks_too() -> None:
    event = sample_event("school-rounds")
    boils = next(t for t in event.talks if t.moment == "boil")

    without_helper = with_rows(event, "helper", {"otieno.drop": "on"}, {})
    without_cooker = with_rows(event, "cooker", {f"{boils.cooker}.drop": "on"}, {})

    talks = {str(t["id"]): t for t in rows_of(without_helper, "talk")}
    assert talks[boils.id]["speakers"] == [s for s in boils.speakers if s != "otieno"]
    assert "cooker" not in {str(t["id"]): t for t in rows_of(without_cooker, "talk")}[boils.id]
