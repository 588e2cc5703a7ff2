"""Where an event is: a town's name, coordinates or a map link, turned into a spot on the earth."""

from __future__ import annotations

from dataclasses import dataclass

from events.errors import WHOLE_FILE, FaultyEvent
from events.reading.places import Place, gazetteer
from service.forms.coordinates import LINK, place_in

CLEARLY_LARGER = 5  # a name means its largest place, where no other of that name comes near
OFFERED = 6


@dataclass(frozen=True)
class Spot:
    """A spot on the earth, how high it is where that is known, and the name it goes by."""

    name: str
    country_code: str
    latitude_deg: float
    longitude_deg: float
    altitude_m: int | None
    near: str = ""  # the place whose height was taken, where only coordinates were given


def offers(text: str) -> list[Place]:
    """Return the places that a text may mean as it is typed; none for coordinates."""
    return [] if _has_figures(text) else gazetteer().search(text, most=OFFERED)


def spot_of(text: str) -> Spot:
    """Return the spot a text means; raises FaultyEvent where it means none, or several."""
    if _has_figures(text):
        return _at_coordinates(text)
    found = gazetteer().search(text, most=OFFERED)
    if not found:
        raise FaultyEvent("the page", [WHOLE_FILE.fault("Where", _quoted(text), "no-such-place")])
    first = found[0]
    rivals = [
        p for p in found[1:] if p.name == first.name and p.thousands and _comes_near(p, first)
    ]
    if rivals and "," not in text:
        names = "; ".join(p.title for p in (first, *rivals))
        fault = WHOLE_FILE.fault("Where", _quoted(text), "several-places", names=names)
        raise FaultyEvent("the page", [fault])
    return Spot(
        first.title, first.country_code, first.latitude_deg, first.longitude_deg, first.altitude_m
    )


def _quoted(text: str) -> str:
    return f"“{text[:60]}”"


def _at_coordinates(text: str) -> Spot:
    at = place_in(text)
    near = gazetteer().nearest(at.latitude_deg, at.longitude_deg)
    return Spot(
        name=f"Near {near.name}" if near else "The site",
        country_code=near.country_code if near else "",
        latitude_deg=at.latitude_deg,
        longitude_deg=at.longitude_deg,
        altitude_m=near.altitude_m if near else None,
        near=near.title if near else "",
    )


def _comes_near(other: Place, first: Place) -> bool:
    return other.thousands * CLEARLY_LARGER > first.thousands


def _has_figures(text: str) -> bool:
    return any(c.isdigit() for c in text) or bool(LINK.match(text.strip()))
