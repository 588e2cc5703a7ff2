"""Coordinates as people write them are read, or asked back; none is guessed."""

from __future__ import annotations

import pytest

from events.errors import FaultyEvent
from service.forms.coordinates import place_in
from service.text.faults import said

TUCSON = (32.2226, -110.9747)


@pytest.mark.parametrize(
    "text",
    [
        "32.2226, -110.9747",
        "32.2226,-110.9747",
        "32.2226 -110.9747",
        "32.2226; −110.9747",
        "32,2226 -110,9747",
        "32,2226, -110,9747",
        "32.2226°, -110.9747°",
        "32.2226N 110.9747W",
        "32.2226° N, 110.9747° W",
        "N 32.2226, W 110.9747",
        "110.9747 W, 32.2226 N",
        "32°13'21.36\"N 110°58'28.92\"W",
        "32° 13′ 21.36″ N, 110° 58′ 28.92″ W",
        "32 13 21.36 N 110 58 28.92 W",
        "32°13.356'N 110°58.482'W",
        "+32.2226, -110.9747",
        "https://maps.example.org/@32.2226,-110.9747,15z",
        "https://maps.example.org/?q=32.2226%2C-110.9747",
        "https://maps.example.org/?mlat=32.2226&mlon=-110.9747#map=12/32.3/-110.9",
        "https://maps.example.org/#map=15/32.2226/-110.9747",
        "geo:32.2226,-110.9747",
    ],
)
def test_usual_forms_are_read(text: str) -> None:
    place = place_in(text)

    assert (place.latitude_deg, place.longitude_deg) == pytest.approx(TUCSON, abs=1e-4)


@pytest.mark.parametrize(
    ("text", "place"), [("0, -30", (0, -30)), ("-34 19", (-34, 19)), ("32N, 110W", (32, -110))]
)
def test_whole_numbers_are_read(text: str, place: tuple[float, float]) -> None:
    found = place_in(text)

    assert (found.latitude_deg, found.longitude_deg) == place


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("-110.97, 32.22", "Then write 32.22, -110.97."),
        ("132.22, -110.97", "Latitude is -90 to 90"),
        ("95.0, 200.0", "Latitude is -90 to 90"),
        ("32.2226", "Write latitude, longitude"),
        ("32.2, -110.9, 728", "Write latitude, longitude"),
        ("132.2226132, -1110.97", "Write latitude, longitude"),
        ("32.2N 33.1N", "Write N or S for one"),
        ("-32.2S 110.9W", "Write one of them."),
        ("32°75'N 110°58'W", "They go from 0 to 59."),
        ("https://maps.example.org/x/AbC123", "paste the long address"),
        ("12 Main Street", "Write latitude, longitude"),
    ],
)
def test_what_is_not_clear_is_asked_back(text: str, asked: str) -> None:
    with pytest.raises(FaultyEvent) as refused:
        place_in(text)

    assert asked in said(refused.value.faults[0]).remedy
