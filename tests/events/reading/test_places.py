"""Places by name, without a network."""

from __future__ import annotations

import pytest

from events.reading.places import PLACES, fold, gazetteer


@pytest.mark.parametrize(
    ("typed", "title"),
    [
        ("Tucson, Arizona", "Tucson, Arizona, United States"),
        ("tucson az", "Tucson, Arizona, United States"),
        ("Tucson, Arizona, USA", "Tucson, Arizona, United States"),
        ("Kisumu", "Kisumu, Kisumu County, Kenya"),
        ("munchen", "Munich, Bavaria, Germany"),
        ("München", "Munich, Bavaria, Germany"),
        ("sao paulo", "São Paulo, Brazil"),
        ("Paris, Texas", "Paris, Texas, United States"),
        ("London Ontario", "London, Ontario, Canada"),
    ],
)
def test_a_place_is_found_as_people_write_it(typed: str, title: str) -> None:
    assert gazetteer().search(typed)[0].title == title


def test_places_lie_where_they_lie() -> None:
    tucson = gazetteer().search("Tucson, Arizona")[0]

    assert (tucson.latitude_deg, tucson.longitude_deg) == (32.22, -110.93)
    assert tucson.altitude_m == pytest.approx(759, abs=1)


def test_a_name_is_looked_for_as_it_is_typed() -> None:
    titles = [place.title for place in gazetteer().search("tucs")]

    assert titles[0] == "Tucson, Arizona, United States"


def test_equal_names_are_all_offered_the_largest_first() -> None:
    regions = [place.region for place in gazetteer().search("Springfield")]

    assert {"Missouri", "Massachusetts", "Illinois"} <= set(regions)


@pytest.mark.parametrize("typed", ["", " ", "x", ",", "no such place anywhere", "Tucson, Kenya"])
def test_what_is_no_place_finds_none(typed: str) -> None:
    assert gazetteer().search(typed) == []


def test_the_nearest_place_says_how_high_a_spot_lies() -> None:
    near = gazetteer().nearest(32.25, -110.9)

    assert near is not None
    assert near.name == "Tucson"
    assert gazetteer().nearest(-40.0, -130.0) is None  # the ocean


def test_the_gazetteer_packs_to_a_megabyte_and_all_its_places_are_on_earth() -> None:
    places = list(gazetteer())

    assert PLACES.stat().st_size < 1_000_000
    assert len(places) > 65_000
    assert all(abs(p.latitude_deg) <= 90 and abs(p.longitude_deg) <= 180 for p in places)
    assert all(-430 <= (p.altitude_m or 0) <= 5500 for p in places)
    assert all(p.name and p.country for p in places)


def test_folding_knows_no_accents_and_no_capitals() -> None:
    assert fold("  Żółw-Łódź  L’Aquila Tromsø") == "zolw lodz laquila tromso"
