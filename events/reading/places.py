"""Places by name, without a network: where they are and how high they lie.

The places are those of 5000 people and more in GeoNames (geonames.org), under the Creative Commons
Attribution 4.0 licence. `python -m tests.gazetteer` packs them. Coordinates are to a hundredth of
a degree, about a kilometre: the sun there is the same.
"""

from __future__ import annotations

import lzma
import math
import struct
import unicodedata
from array import array
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

PLACES = Path(__file__).resolve().parents[1] / "catalogue" / "places.xz"
CREDIT = "Places: GeoNames (geonames.org), CC BY 4.0."
MAGIC = b"noonfare places 1\n"
NO_HEIGHT = -9999
# Letters that no accent can be taken off, as a keyboard without them writes them.
PLAIN_LETTERS = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "ı": "i", "æ": "ae", "œ": "oe", "þ": "th"}
    | {"-": " ", "'": ""}
)
SHORT = {"US": "USA", "GB": "UK", "AE": "UAE"}  # as people write them
BEYOND = "\U0010ffff"
SHORTEST = 2  # letters from which a name is looked for
SPELLINGS_MOST = 4000
NEAR_HUNDREDTHS = 18  # of a degree: some 20 km


@dataclass(frozen=True)
class Place:
    """A place of the gazetteer."""

    name: str
    region: str
    country: str
    country_code: str
    latitude_deg: float
    longitude_deg: float
    altitude_m: int | None
    thousands: int  # of people, 30 million at most

    @property
    def title(self) -> str:
        """Return its name as people there tell it from others: Tucson, Arizona, United States."""
        parts = (self.name, self.region, self.country)
        return ", ".join(dict.fromkeys(part for part in parts if part))


@dataclass(frozen=True)
class Region:
    """A province of a country; where GeoNames has no name for it, the country alone."""

    country_code: str
    code: str
    name: str
    country: str

    def is_meant(self, text: str) -> bool:
        """Return whether folded text may name it: a whole code, or how a name begins."""
        codes = (self.code, self.country_code, SHORT.get(self.country_code, ""))
        names = (self.name, self.country)
        return text in map(fold, codes) or any(fold(n).startswith(text) for n in names if n)


def fold(text: str) -> str:
    """Return text without accents and capitals, as it is compared."""
    bare = unicodedata.normalize("NFKD", text.replace("’", "'").replace("ʼ", "'"))
    plain = "".join(c for c in bare if not unicodedata.combining(c)).casefold()
    return " ".join(plain.translate(PLAIN_LETTERS).split())


class Gazetteer:
    """All places, in columns; read once, looked through by how names begin."""

    def __init__(self, packed: bytes) -> None:
        text = lzma.decompress(packed)
        assert text.startswith(MAGIC), "not a gazetteer of ours"
        parts = _columns(text[len(MAGIC) + 4 :])
        self._names = next(parts).decode().split("\n")
        self._alternates = next(parts).decode().split("\n")
        regions = next(parts).decode().split("\n")
        self._regions = [Region(*(line.split("\t"))) for line in regions]
        self._region, self._latitude, self._longitude, self._height, self._thousands = (
            _figures(part) for part in parts
        )
        self._spellings = sorted(self._spelt())
        self._keys = [spelling for spelling, _ in self._spellings]

    def __len__(self) -> int:
        return len(self._names)

    def __iter__(self) -> Iterator[Place]:
        return map(self._place, range(len(self)))

    def nearest(self, latitude_deg: float, longitude_deg: float) -> Place | None:
        """Return the nearest place, or None where there is none within some 20 km."""
        lat, lon = round(latitude_deg * 100), round(longitude_deg * 100)
        east = math.cos(math.radians(latitude_deg))
        best, best_sq = None, float(NEAR_HUNDREDTHS**2)
        for n, other in enumerate(self._latitude):
            if abs(other - lat) < NEAR_HUNDREDTHS:
                square = (other - lat) ** 2 + ((self._longitude[n] - lon) * east) ** 2
                if square < best_sq:
                    best, best_sq = n, square
        return None if best is None else self._place(best)

    def search(self, text: str, *, most: int = 6) -> list[Place]:
        """Return the places that a text may mean, the likeliest first."""
        for name, rest in _readings(text):
            found = self._named(name, rest)
            if found:
                return [self._place(n) for n in found[:most]]
        return []

    def _named(self, name: str, rest: str) -> list[int]:
        if len(name) < SHORTEST:
            return []
        first = bisect_left(self._keys, name)
        last = bisect_left(self._keys, name + BEYOND)
        ranks: dict[int, tuple[bool, int]] = {}
        for spelling, n in self._spellings[first : min(last, first + SPELLINGS_MOST)]:
            if rest and not self._regions[self._region[n]].is_meant(rest):
                continue
            rank = (spelling != name, -self._thousands[n])
            ranks[n] = min(rank, ranks.get(n, rank))
        return sorted(ranks, key=lambda n: (ranks[n], self._names[n], n))

    def _spelt(self) -> Iterator[tuple[str, int]]:
        for n, name in enumerate(self._names):
            yield fold(name), n
            if self._alternates[n]:
                for other in self._alternates[n].split(";"):
                    yield fold(other), n

    def _place(self, n: int) -> Place:
        """Return one place out of the columns."""
        region, height = self._regions[self._region[n]], self._height[n]
        return Place(
            name=self._names[n],
            region=region.name,
            country=region.country,
            country_code=region.country_code,
            latitude_deg=self._latitude[n] / 100,
            longitude_deg=self._longitude[n] / 100,
            altitude_m=None if height == NO_HEIGHT else height,
            thousands=self._thousands[n],
        )


def _columns(text: bytes) -> Iterator[bytes]:
    """Yield the parts of the packed text, each after its size."""
    at = 0
    while at < len(text):
        (size,) = struct.unpack_from("<I", text, at)
        yield text[at + 4 : at + 4 + size]
        at += 4 + size


def _figures(planes: bytes) -> array[int]:
    """Return 16-bit figures that are packed low bytes first, high bytes after."""
    half = len(planes) // 2
    pairs = bytearray(len(planes))
    pairs[0::2], pairs[1::2] = planes[:half], planes[half:]
    figures = array("h", bytes(pairs))
    if struct.pack("=h", 1) != struct.pack("<h", 1):
        figures.byteswap()
    return figures


def _readings(text: str) -> Iterator[tuple[str, str]]:
    """Yield how a text may be a name and what it is in: by its comma, else by its spaces."""
    name, comma, rest = text.partition(",")
    if comma:
        for part in reversed(rest.split(",")):
            if fold(part):
                yield fold(name), fold(part)
        if not fold(rest):
            yield fold(name), ""
        return
    whole = fold(text)
    yield whole, ""
    parts = whole.split(" ")
    for n in range(len(parts) - 1, 0, -1):
        yield " ".join(parts[:n]), " ".join(parts[n:])


@lru_cache(maxsize=1)
def gazetteer() -> Gazetteer:
    """Return the gazetteer, read when it is first asked."""
    return Gazetteer(PLACES.read_bytes())
