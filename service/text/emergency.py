"""The emergency number of a place, by the country of its time zone.

112: Directive (EU) 2018/1972, article 109, and 3GPP TS 22.101, clause 10. The others are those of
the countries' own regulators, from memory. Whose number is not here has "the local one": a wrong
number costs more than none.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

from events.model import Event

_EU = (
    *("AT", "BE", "BG", "HR", "CY", "CZ", "DK", "EE", "FI", "FR", "DE", "GR", "HU", "IE"),
    *("IT", "LV", "LT", "LU", "MT", "NL", "PL", "PT", "RO", "SK", "SI", "ES", "SE"),
)
NUMBERS: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(_EU, ("112",)),
    **dict.fromkeys(("US", "CA"), ("911",)),
    "GB": ("999", "112"),
    "AU": ("000",),
    "NZ": ("111",),
}


def emergency_numbers(event: Event) -> tuple[str, ...]:
    """Return the numbers of ambulance and fire service where an event is, if they are known."""
    return NUMBERS.get(_countries().get(event.site.timezone, ""), ())


def emergency_line(event: Event) -> str:
    """Return whom to call when it is grave, in words."""
    numbers = " or ".join(emergency_numbers(event)) or "the local emergency number"
    return f"Ambulance and fire service: {numbers}"


@lru_cache(maxsize=1)
def _countries() -> dict[str, str]:
    """Return each time zone's country, from the time zone database's own table."""
    text = (files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    rows = [row.split("\t") for row in text.splitlines() if row and not row.startswith("#")]
    return {row[2]: row[0] for row in rows}
