"""Coordinates out of what people type or paste: degrees in any usual form, or a map link.

What can be read in two ways, or in none, is asked back and never guessed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NoReturn
from urllib.parse import unquote

from events.errors import WHOLE_FILE, FaultyEvent, Figure
from events.fault_kinds import FaultKind

LATITUDE_MOST, LONGITUDE_MOST = 90.0, 180.0
_NUMBER = r"[-+]?\d{1,3}(?:[.,]\d+)?"
_BETWEEN = r"\s*[,;/\s]\s*"
PAIR = re.compile(rf"({_NUMBER}){_BETWEEN}({_NUMBER})")
TWO_WITH_DEGREES = re.compile(r"([^°]+°[^°,;]*?)[,;\s]+([-+]?\d+(?:[.,]\d+)?\s*°.*)")
LETTERS_AFTER = re.compile(r"([^NSEW]+)([NSEW])[\s,;/]*([^NSEW]+)([NSEW])")
LETTERS_BEFORE = re.compile(r"([NSEW])([^NSEW]+?)[\s,;/]*([NSEW])([^NSEW]+)")
# Degrees; then minutes and seconds, with or without their marks.
ANGLE = re.compile(
    rf"({_NUMBER})\s*(?:°\s*)?"
    r"(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:'\s*)?(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:\"\s*)?)?)?"
)
LINK = re.compile(r"(?i)^(?:https?://|www\.|geo:|maps?[./])")
IN_LINK = re.compile(r"(?<![\d.])(-?\d{1,3}\.\d+)(?:,|/|,?\+)(-?\d{1,3}\.\d+)(?![\d])")
IN_LINK_BY_NAME = re.compile(r"(?i)m?lat(?:itude)?=(-?[\d.]+)&m?lon(?:gitude)?=(-?[\d.]+)")
MARKS = str.maketrans({"−": "-", "–": "-", "º": "°", "˚": "°", "′": "'", "’": "'", "″": '"'})


@dataclass(frozen=True)
class Coordinates:
    """A place on the earth."""

    latitude_deg: float
    longitude_deg: float


def place_in(text: str) -> Coordinates:
    """Return the coordinates in a text, or in a pasted map link; raises FaultyEvent."""
    if LINK.match(text.strip()):
        return _in_link(text)
    plain = text.translate(MARKS).replace("''", '"').replace("”", '"').strip()
    upper = plain.upper()
    if after := LETTERS_AFTER.fullmatch(upper):
        return _by_letters(text, (after[1], after[2]), (after[3], after[4]))
    if before := LETTERS_BEFORE.fullmatch(upper):
        return _by_letters(text, (before[2], before[1]), (before[4], before[3]))
    pair = PAIR.fullmatch(plain) or TWO_WITH_DEGREES.fullmatch(plain)
    if pair is None:
        _refuse(text, "no-coordinates")
    return _in_range(text, _degrees(text, pair[1]), _degrees(text, pair[2]))


def _in_link(text: str) -> Coordinates:
    address = unquote(text)
    if named := IN_LINK_BY_NAME.search(address):
        return _in_range(text, float(named[1]), float(named[2]))
    pairs = list(dict.fromkeys(IN_LINK.findall(address)))
    if not pairs:
        _refuse(text, "link-without-coordinates")
    return _in_range(text, float(pairs[0][0]), float(pairs[0][1]))


def _by_letters(text: str, first: tuple[str, str], second: tuple[str, str]) -> Coordinates:
    """Return the coordinates of two angles with N, S, E or W: in either order."""
    degrees: dict[bool, float] = {}
    for words, letter in (first, second):
        value = _degrees(text, words)
        if words.strip().startswith("-"):
            _refuse(text, "minus-and-letter", letter=letter)
        degrees[letter in "NS"] = -value if letter in "SW" else value
    if len(degrees) < 2:
        _refuse(text, "two-of-one-kind")
    return _in_range(text, degrees[True], degrees[False])


def _degrees(text: str, words: str) -> float:
    """Return an angle of degrees, or of degrees, minutes and seconds."""
    angle = ANGLE.fullmatch(words.strip())
    if angle is None:
        _refuse(text, "no-coordinates")
    whole, minutes, seconds = (float((part or "0").replace(",", ".")) for part in angle.groups())
    if max(minutes, seconds) >= 60 or (angle[2] and not whole.is_integer()):
        _refuse(text, "minutes-over-59")
    size = abs(whole) + minutes / 60 + seconds / 3600
    return -size if angle[1].startswith("-") else size


def _in_range(text: str, latitude_deg: float, longitude_deg: float) -> Coordinates:
    if abs(latitude_deg) <= LATITUDE_MOST and abs(longitude_deg) <= LONGITUDE_MOST:
        return Coordinates(latitude_deg, longitude_deg)
    if abs(longitude_deg) <= LATITUDE_MOST and abs(latitude_deg) <= LONGITUDE_MOST:
        _refuse(text, "longitude-first", latitude=latitude_deg, longitude=longitude_deg)
    _refuse(text, "not-on-the-earth")


def _refuse(text: str, kind: FaultKind, **figures: Figure) -> NoReturn:
    raise FaultyEvent("the page", [WHOLE_FILE.fault("Where", f"“{text[:60]}”", kind, **figures)])
