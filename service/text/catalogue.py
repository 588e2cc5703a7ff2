"""Cookers and pots of the catalogue as people choose them: a name, and its size in either units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

from events.kinds import COOKER_KINDS, Kind
from events.table import RawTable
from service.text.formatting import FOOT_M, INCH_M, QUART_L


@dataclass(frozen=True)
class CatalogueChoice:
    """An entry of the catalogue as it is offered: its drawing, its sizes in either units.

    Which units are usual is not known before the place is.
    """

    name: str
    symbol: str
    metric: str
    us: str
    us_in_name: str  # what its name says of its size, in US units


def cooker_choice(entry: RawTable) -> CatalogueChoice:
    """Return a cooker as it is offered: how wide it opens, and what it holds."""
    nature = COOKER_KINDS[cast("Kind", entry["kind"])]
    litres, area_m2 = float(str(entry["litres"])), float(str(entry.get("aperture_m2") or 0))
    metric, us = f"{litres:g} L", f"{litres / QUART_L:.0f} qt"
    in_name = us
    if area_m2 and nature.sized_by == "diameter":
        across_m = math.sqrt(4 * area_m2 / math.pi)
        in_name = f"{across_m / INCH_M:.0f} in"
        metric, us = f"{across_m:.1f} m across, {metric}", f"{in_name} across, {us}"
    elif area_m2:
        in_name = f"{area_m2 / FOOT_M**2:.1f} sq ft"
        metric, us = f"opens {area_m2:.2f} m², {metric}", f"opens {in_name}, {us}"
    name = str(entry["name"]).split(",")[0]
    return CatalogueChoice(name, nature.symbol, metric, us, in_name)


def pot_choice(entry: RawTable) -> CatalogueChoice:
    """Return a pot as it is offered: what it holds."""
    litres = float(str(entry["litres"]))
    us = f"{litres / QUART_L:.1f} qt"
    return CatalogueChoice(str(entry["name"]).split(",")[0], "pot", f"{litres:g} L", us, us)


def name_in(entry: RawTable, units: str) -> str:
    """Return an entry's name; where a size is part of it, in an event's units."""
    name, _, size = str(entry["name"]).partition(", ")
    if units != "us" or not size[:1].isdigit():
        return str(entry["name"])
    choice = cooker_choice(entry) if "kind" in entry else pot_choice(entry)
    return f"{name}, {choice.us_in_name}"
