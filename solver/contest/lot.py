"""The lot: order by SHA-256 of seed, table and id. Anyone can do it again with any computer.

`printf '417 263 558\nentries\nanna' | sha256sum` gives the key of anna.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from events.model import Event
from solver.contest_plan import Draw, DrawnPlace


def key(seed: str, table: str, id: str) -> str:
    """Return what orders an id in a table of the draw: 64 hex digits."""
    return hashlib.sha256(f"{seed}\n{table}\n{id}".encode()).hexdigest()


def order(seed: str, table: str, ids: Sequence[str]) -> list[str]:
    """Return ids in the order of the lot."""
    return sorted(ids, key=lambda id: key(seed, table, id))


def lists_of(event: Event, left_out: Sequence[str]) -> str:
    """Return what is drawn, as text: entries, an empty line, places, an empty line, cookers.

    Its SHA-256 is shown before the seed is known, so that nobody changes the lists afterwards.
    """
    parts = (_drawing_places(event), _places(event, left_out), _cookers(event))
    return "\n".join("".join(f"{id}\n" for id in part) for part in parts)


def lists_sha256(event: Event, left_out: Sequence[str]) -> str:
    """Return the fingerprint of the lists."""
    return hashlib.sha256(lists_of(event, left_out).encode()).hexdigest()


def draw(event: Event, seed: str, left_out: Sequence[str]) -> Draw:
    """Return who gets which place and cooker: the n-th of the entries takes the n-th of each."""
    entries = order(seed, "entries", _drawing_places(event))
    places = dict(zip(entries, order(seed, "places", _places(event, left_out)), strict=False))
    wanting = [e.id for e in event.entries if e.cooker is None and not e.withdrawn]
    cooks = order(seed, "entries", wanting)
    cookers = dict(zip(cooks, order(seed, "cookers", _cookers(event)), strict=False))
    return Draw(
        seed=seed,
        places=tuple(
            DrawnPlace(
                entry_id=e.id,
                station_id=e.station or places[e.id],
                cooker_id=e.cooker or cookers[e.id],
                turn=entries.index(e.id) + 1 if e.station is None else None,
                cooker_turn=cooks.index(e.id) + 1 if e.cooker is None else None,
            )
            for e in event.entries
            if not e.withdrawn
        ),
    )


def _drawing_places(event: Event) -> list[str]:
    return [e.id for e in event.entries if e.station is None and not e.withdrawn]


def _places(event: Event, left_out: Sequence[str]) -> list[str]:
    """Return the places that are drawn: those of the contest that are not fixed or left out."""
    fixed = {e.station for e in event.entries if not e.withdrawn}
    stations = event.contest.stations if event.contest else ()
    return [s for s in stations if s not in fixed and s not in left_out]


def _cookers(event: Event) -> list[str]:
    return [c.id for c in event.contest_cookers if c.team is None]
