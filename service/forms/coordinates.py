"""Coordinates out of what people type or paste: figures, or a map link."""

from __future__ import annotations

import re
from dataclasses import dataclass

from events.errors import WHOLE_FILE, FaultyEvent

PLACE = re.compile(r"(-?\d{1,2}\.\d+)\s*[,;/ ]\s*(-?\d{1,3}\.\d+)")


@dataclass(frozen=True)
class Coordinates:
    """A place on the earth."""

    latitude_deg: float
    longitude_deg: float


def place_in(text: str) -> Coordinates:
    """Return the coordinates in a text, or in a pasted map link; raises FaultyEvent."""
    match = PLACE.search(text.replace("%2C", ",").replace("°", " "))
    if match is None:
        shown = f"“{text[:60]}”"
        fault = WHOLE_FILE.fault("where", shown, "has no coordinates", "Write them: -34.6, 19.0.")
        raise FaultyEvent("the page", [fault])
    return Coordinates(float(match[1]), float(match[2]))
