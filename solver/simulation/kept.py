"""What was worked out before, kept in memory: most edits of an event change few loads and cookers.

A key holds all that an answer depends on, so a kept answer is the one that would come again.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from hashlib import blake2b
from threading import Lock
from typing import Generic, TypeVar

from events.model import Cooker
from solver.simulation.day import Day
from solver.simulation.query import DurationQuery
from solver.thermal.energy_balance import Load

KEPT_MOST_BYTES = 64 * 2**20  # in each process
# What the physics of a load does not look at.
OF_DISH = {
    *("id", "name", "meal", "like", "portions", "provenance", "priority", "only_in", "not_in"),
    *("load_at", "before", "instead", "holding_max_min", "fresh_min", "rest_min"),
    *("batches_min", "batches_max", "stir_every_min", "lift_helpers"),
    *("allergens", "also_contains", "allergens_checked"),
}
OF_POT = {"id", "name", "count"}
OF_COOKER = {"id", "name", "provenance", "diameter_m"}

Answer = TypeVar("Answer")


class Kept(Generic[Answer]):
    """Answers by key; those that were asked for longest ago give way to new ones."""

    def __init__(self, size: Callable[[Answer], int], most_bytes: int = KEPT_MOST_BYTES) -> None:
        self._size, self._most_bytes, self._bytes = size, most_bytes, 0
        self._answers: OrderedDict[Hashable, Answer] = OrderedDict()
        self._lock = Lock()

    def fill(
        self,
        keys: Sequence[Hashable],
        work_out: Callable[[list[int]], Sequence[Answer]],
    ) -> list[Answer]:
        """Return an answer for every key; `work_out` gives the missing ones, by their numbers."""
        with self._lock:
            found = {k: self._answers[key] for k, key in enumerate(keys) if key in self._answers}
            for k in found:
                self._answers.move_to_end(keys[k])
        missing = [k for k in range(len(keys)) if k not in found]
        if missing:
            new = dict(zip(missing, work_out(missing), strict=True))
            found |= new
            with self._lock:
                for k, answer in new.items():
                    self._put(keys[k], answer)
        return [found[k] for k in range(len(keys))]

    def _put(self, key: Hashable, answer: Answer) -> None:
        if key in self._answers:
            return
        self._answers[key] = answer
        self._bytes += self._size(answer)
        while self._bytes > self._most_bytes:
            _, oldest = self._answers.popitem(last=False)
            self._bytes -= self._size(oldest)


def query_keys(day: Day, queries: Sequence[DurationQuery]) -> list[Hashable]:
    """Return for each query all that its answer depends on."""
    cookers = {q.cooker.id: q.cooker for q in queries}
    of_cooker = {name: _cooker_key(day, cooker) for name, cooker in cookers.items()}
    return [
        (
            *(of_cooker[q.cooker.id], _load_key(q.load)),
            *(q.starts.tobytes(), q.until, q.last_plate),
        )
        for q in queries
    ]


def _cooker_key(day: Day, cooker: Cooker) -> Hashable:
    """Return a cooker's figures and a digest of what its day does to it, expected and drawn."""
    row, cookers = day.rows[cooker.id], len(day.rows)
    digest = blake2b(digest_size=16)
    for values in (
        *(day.forcing.watts[row], day.forcing.air_c, day.forcing.wind_m_s),
        *(day.members.watts[row::cookers], day.members.air_c, day.members.wind_m_s),
        *(day.member_strength[:, row], day.member_loss[:, row]),
    ):
        digest.update(values.tobytes())
    return cooker.model_dump_json(exclude=OF_COOKER), day.boil_c, digest.digest()


def _load_key(load: Load) -> Hashable:
    return (
        tuple(dish.model_dump_json(exclude=OF_DISH) for dish in load.dishes),
        tuple(pot.model_dump_json(exclude=OF_POT) for pot in load.pots),
        *(load.masses_kg, load.preheat_min, load.reheat_c),
    )
