"""Which pots a kitchen with such cookers may have on its shelf: a guess, and shown as one."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import cast

from events.kinds import COOKER_KINDS, Kind
from events.model import Dish, Event
from events.reading.catalogue import entries
from events.table import RawTable

# Common practice, no published source: one pot is on, the next is filled or kept warm. An oven's
# places are filled together, and slowly.
POTS_A_PLACE, POTS_AN_OVEN_PLACE = 2, 1


@dataclass(frozen=True)
class Places:
    """Where pots stand in one cooker: how many, and how many litres each may hold."""

    kind: Kind
    pots: int
    litres: float

    @property
    def is_oven(self) -> bool:
        """Return whether it can bake."""
        nature = COOKER_KINDS[self.kind]
        return nature.has_body and nature.heat != "none"


def guessed_pots(cookers: Iterable[Places], baked_litres: float) -> dict[str, int]:
    """Return a count for each pot of the catalogue: sized to the cookers, tins for what is baked.

    For each place of an oven a pot; elsewhere the largest that stands there, and the next smaller.
    What only keeps heat takes the pots of others.
    """
    guess: Counter[str] = Counter()
    for cooker in cookers:
        if COOKER_KINDS[cooker.kind].heat == "none":
            continue
        each = POTS_AN_OVEN_PLACE if cooker.is_oven else POTS_A_PLACE
        fitting = _fitting(cooker, baked=False)
        for pot in fitting[:each]:
            guess[pot] += cooker.pots
        if baked_litres and cooker.is_oven:
            guess.update(dict.fromkeys(_fitting(cooker, baked=True)[:1], cooker.pots))
    for pot, entry in entries("pot").items():
        if _is_tin(entry):
            guess[pot] = min(guess[pot], math.ceil(baked_litres / _litres(entry)))
    return {pot: guess[pot] for pot in entries("pot")}


def is_as_guessed(event: Event) -> bool:
    """Return whether an event's pots are still those that were guessed for it.

    Tins do not count: a dish to bake may have come since, or a tin for it.
    """
    places = [Places(c.kind, c.pots_max, c.litres / c.pots_max) for c in event.cookers]
    guess = guessed_pots(places, baked_litres(event.dishes))
    pots = {p.id: p.count for p in event.pots if p.holds != ("baked",)}
    return pots == {pot: n for pot, n in guess.items() if n and not _is_tin(entries("pot")[pot])}


def baked_litres(dishes: Iterable[Dish]) -> float:
    """Return how much is baked in tins."""
    return sum(d.mass_kg * d.litres_per_kg for d in dishes if d.shape == "baked")


def places_of(row: Mapping[str, object]) -> Places:
    """Return the places of a cooker as a file's row has it, by itself or like the catalogue's."""
    whole = entries("cooker").get(str(row.get("like", "")), {}) | dict(row)
    pots = int(str(whole.get("pots_max", 1)))
    return Places(cast("Kind", whole["kind"]), pots, float(str(whole["litres"])) / pots)


def _fitting(cooker: Places, *, baked: bool) -> list[str]:
    """Return the pots that stand there, largest first; those for one sort of food are no guess."""
    fit = {
        pot: _litres(entry)
        for pot, entry in entries("pot").items()
        if (_is_tin(entry) if baked else "holds" not in entry)
        if cooker.kind in (entry.get("fits") or COOKER_KINDS)  # type: ignore[operator]
        if _litres(entry) <= cooker.litres
    }
    return sorted(fit, key=lambda pot: -fit[pot])


def _is_tin(entry: RawTable) -> bool:
    return entry.get("holds") == ["baked"]


def _litres(entry: RawTable) -> float:
    return float(str(entry["litres"]))
