"""A forecast in words, as people hear it: "clear until noon, then cloudy"; from words to hours.

The words are those of public forecasts; their shares of the sky are the US weather service's
eighths, from memory. What was understood is shown as a table of hours, to be changed there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from events.errors import FaultyEvent, Place
from events.model import Event

SKIES = {
    "mostly sunny": 25,
    "mostly clear": 25,
    "partly cloudy": 50,
    "partly sunny": 50,
    "half cloudy": 50,
    "mostly cloudy": 75,
    "scattered clouds": 40,
    "few clouds": 20,
    "little cloud": 20,
    "some clouds": 40,
    "some cloud": 40,
    "light cloud": 40,
    "sunny spells": 50,
    "sunny intervals": 50,
    "clear": 5,
    "sunny": 5,
    "sun": 5,
    "fair": 10,
    "fine": 10,
    "bright": 10,
    "hazy": 20,
    "cloudy": 90,
    "clouds": 90,
    "cloud": 90,
    "overcast": 100,
    "grey": 100,
    "gray": 100,
    "showers": 90,
    "rain": 100,
}
PARTS = {
    "morning": (0, 720),
    "midday": (660, 840),
    "afternoon": (720, 1440),
    "evening": (1020, 1440),
}
NUMBERS = (
    *("one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
DAY_MIN = 1440
NOON_MIN = 720
NIGHT_H = 7  # "after two" speaks of a day with a sun in it: an hour under this is after noon
_SKY = re.compile(r"\b(" + "|".join(sorted(SKIES, key=len, reverse=True)) + r")\b")
_CLOUD = re.compile(r"\b(\d{1,3})\s*(?:%|percent|of 100)")
_HOUR = (
    r"(\d{1,2}(?:[:.h][0-5]\d)?\s*(?:[ap]\.?m\.?)?|noon|midday|midnight|" + "|".join(NUMBERS) + r")"
)
_SPAN = re.compile(rf"\b(?:from\s+)?{_HOUR}\s*(?:-|–|to|until|till)\s*{_HOUR}\b")
_FROM = re.compile(rf"\b(?:after|from|since|at|by)\s+{_HOUR}")
_UNTIL = re.compile(rf"\b(?:until|till|before|to|up to)\s+{_HOUR}")
_PART = re.compile(r"\b(" + "|".join(PARTS) + r")s?\b")


@dataclass(frozen=True)
class CloudFrom:
    """How much of the sky is cloud from a minute of the day on."""

    minute: int
    cloud_pct: int

    @property
    def start(self) -> str:
        """Return its clock time, as files write it."""
        return f"{self.minute // 60:02d}:{self.minute % 60:02d}"


@dataclass(frozen=True)
class _Spell:
    starts: int
    ends: int
    cloud_pct: int


def cloud_of(text: str) -> list[CloudFrom]:
    """Return the cloud by the hour as words have it; raises FaultyEvent for what it can't read."""
    spells: list[_Spell] = []
    for clause in filter(None, map(str.strip, re.split(r"[,;\n]|\bthen\b|\bbut\b", text.lower()))):
        spells.append(_spell(clause.removeprefix("and "), spells))
    return _by_hour(spells)


def hours_of(text: str, event: Event) -> list[dict[str, object]]:
    """Return the hours that words tell for an event; air and wind stay as they were."""
    hours: list[dict[str, object]] = []
    for change in cloud_of(text):
        hour: dict[str, object] = {"start": change.start, "cloud_pct": change.cloud_pct}
        earlier = [h for h in event.weather.hours if f"{h.start:%H:%M}" <= change.start]
        held = earlier[-1:] if earlier else event.weather.hours[:1]
        for old in held:
            hour |= {"air_c": old.air_c, "wind_m_s": old.wind_m_s}
        hours.append(hour)
    return hours


def _spell(clause: str, before: list[_Spell]) -> _Spell:
    sky, figure = _SKY.search(clause), _CLOUD.search(clause)
    if sky is None and figure is None:
        fault = Place("weather").fault("words", f"“{clause[:60]}”", "sky-not-understood")
        raise FaultyEvent("the page", [fault])
    cloud = min(100, int(figure[1])) if figure else SKIES[sky[1]] if sky else 0
    rest = _CLOUD.sub(" ", clause)
    starts, ends = _times(rest, before[-1].ends if before else 0)
    return _Spell(starts, ends, cloud)


def _times(clause: str, after: int) -> tuple[int, int]:
    """Return from when till when a clause holds: if it does not say, from where the last ended."""
    if span := _SPAN.search(clause):
        return _minute(span[1]), _minute(span[2])
    if part := _PART.search(clause):
        return PARTS[part[1]]
    start, end = _FROM.search(clause), _UNTIL.search(clause)
    first = _minute(start[1]) if start else after % DAY_MIN
    return first, _minute(end[1]) if end else DAY_MIN


def _minute(text: str) -> int:
    text = text.strip()
    if text in ("noon", "midday"):
        return NOON_MIN
    if text == "midnight":
        return DAY_MIN
    match = re.fullmatch(r"(\d{1,2})(?:[:.h]([0-5]\d))?\s*([ap])?.*", text)
    hour = int(match[1]) if match else NUMBERS.index(text) + 1
    minute = int(match[2] or 0) if match else 0
    half = match[3] if match else None
    if half == "p" or (half is None and hour < NIGHT_H):
        hour = hour % 12 + 12
    elif half == "a":
        hour %= 12
    return min(hour * 60 + minute, DAY_MIN)


def _by_hour(spells: list[_Spell]) -> list[CloudFrom]:
    """Return the changes of the sky: a later clause lies over an earlier one; unsaid is clear."""
    edges = sorted({0, *(s.starts for s in spells), *(s.ends for s in spells)} - {DAY_MIN})
    changes: list[CloudFrom] = []
    for minute in edges:
        cloud = next((s.cloud_pct for s in reversed(spells) if s.starts <= minute < s.ends), None)
        said = SKIES["sunny"] if cloud is None else cloud
        if not changes or changes[-1].cloud_pct != said:
            changes.append(CloudFrom(minute, said))
    return changes if spells else []
