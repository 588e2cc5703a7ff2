"""The fields of an event and its site in parts, each folded on a phone under what it holds."""

from __future__ import annotations

from dataclasses import dataclass

from events.model import Event
from service.forms.fields import Field
from service.forms.table_fields import EVENT, SITE
from service.forms.us_units import METRIC_OF, fields_of
from service.text.formatting import metres


@dataclass(frozen=True)
class Part:
    """Some fields that are typed together: the event's own, its site's, and what they say now."""

    name: str
    event: tuple[Field, ...]
    site: tuple[Field, ...]
    line: str

    def holds(self, key: str) -> bool:
        """Return whether one of its fields has a key, by either of a figure's spellings."""
        keys = {f.key for f in (*self.event, *self.site)}
        return key in keys | {METRIC_OF.get(k, k) for k in keys}


_FIRST = ("title", "date", "opens", "closes", "visitors_from", "visitors_until")
_PLACE = ("name", "latitude_deg", "longitude_deg", "altitude_m", "turbidity", "units")
_RULES = ("food_rules", "emergency", "fire_rules_read", "vulnerable_guests")


def site_parts(event: Event) -> tuple[Part, ...]:
    """Return the parts, the one that is always open first; what is in no other is in the last."""
    named = {*_FIRST, *_PLACE, *_RULES}
    rest = tuple(f.key for f in (*EVENT, *SITE) if f.key not in named)
    return (
        _part("", _FIRST, event, ""),
        _part("Where it is", _PLACE, event, _place(event)),
        _part("Safety and rules", _RULES, event, _rules(event)),
        _part("What is good enough", rest, event, _wishes(event)),
    )


def shade_line(event: Event) -> str:
    """Return what stands in the sun's way, as counted."""
    site = event.site
    counted = (
        (len(site.skyline), "skyline of {} corners"),
        (len(site.obstacles), "trees, walls, poles: {}"),
        (len(site.shade), "times of shade: {}"),
    )
    return ", ".join(words.format(n) for n, words in counted if n) or "an open horizon"


def _part(name: str, keys: tuple[str, ...], event: Event, line: str) -> Part:
    own = tuple(f for f in EVENT if f.key in keys)
    site = fields_of(tuple(f for f in SITE if f.key in keys), event.units)
    return Part(name, own, site, line)


def _place(event: Event) -> str:
    site = event.site
    at = f"{site.latitude_deg:g}, {site.longitude_deg:g}"
    return f"{site.name}, {at}, {metres(event, site.altitude_m)} high"


def _rules(event: Event) -> str:
    fire = "read" if event.site.fire_rules_read else "not read yet"
    call = "set" if event.site.emergency else "none yet"
    guests = ", guests at risk" if event.vulnerable_guests else ""
    return f"food rules {event.site.food_rules}, fire rules {fire}, contact {call}{guests}"


def _wishes(event: Event) -> str:
    return f"{event.chance_pct} of 100 skies, {event.wanted_margin_min} min to spare"
