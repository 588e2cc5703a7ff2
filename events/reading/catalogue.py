"""Generic cookers, pots and dishes to start from; each figure with where it comes from."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import cast

from events.kinds import COOKER_KINDS, Kind
from events.table import RawTable


@cache
def entries(kind: str) -> dict[str, RawTable]:
    """Return the catalogue of "cooker", "pot" or "dish" by entry name."""
    text = (files("events") / "catalogue" / f"{kind}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def kind_of(cooker: str) -> Kind | None:
    """Return the kind of a cooker of the catalogue; None where it is not in it."""
    entry = entries("cooker").get(cooker)
    return cast("Kind", entry["kind"]) if entry else None


def resolve(kind: str, own: RawTable) -> RawTable:
    """Return the entry named by `like` with `own` laid over it, key by key, and its provenance.

    Raises KeyError with the entry's name where the catalogue lacks it.
    """
    base = dict(entries(kind)[str(own["like"])])
    provenance: RawTable = dict(base.pop("provenance", {}))  # type: ignore[call-overload]
    if "aperture_m2" in own and isinstance(own["aperture_m2"], (int, float)):
        ratio = float(own["aperture_m2"]) / float(str(base["aperture_m2"]))
        for key in COOKER_KINDS[cast("Kind", base["kind"])].scaled:
            base[key] = round(float(str(base[key])) * ratio, 4)
            provenance[key] = {"kind": "scaled", "note": "by its opening"}
    provenance |= {key: {"kind": "given"} for key in own if key in provenance}
    recipe = "ordinary_min" in base and _same(own, base, "ordinary_min")
    if recipe and not _same(own, base, "thickness_mm"):
        base["recipe_thickness_mm"] = base.get("thickness_mm")  # its minutes are for these
    given = own.get("provenance")
    provenance |= given if isinstance(given, dict) else {}
    merged = {**base, **own, "provenance": provenance}
    if kind == "pot":
        merged.pop("provenance")
        merged.pop("like")
    return merged


def _same(own: RawTable, base: RawTable, key: str) -> bool:
    """Return whether a table leaves a key as the entry has it."""
    return bool(own.get(key, base.get(key)) == base.get(key))
