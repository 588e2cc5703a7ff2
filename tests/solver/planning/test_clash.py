"""What the people can't do together: the smallest part of it, found by halves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from solver.planning.pipeline import smallest_part


def one_by_one(clash: list[frozenset[int]], chosen: Sequence[int]) -> set[int]:
    """Leave out one after the other, as long as what is left still clashes."""
    core = set(chosen)
    for k in chosen:
        if any(one <= core - {k} for one in clash):
            core.remove(k)
    return core


def test_a_smallest_clash_is_found_by_few_questions() -> None:
    luck = np.random.default_rng(4)
    for _ in range(60):
        size = int(luck.integers(1, 40))
        sets = [
            frozenset(luck.choice(size, int(luck.integers(1, min(size, 4) + 1)), replace=False))
            for _ in range(int(luck.integers(1, 4)))
        ]
        asked = 0

        def clash(some: Sequence[int], sets: list[frozenset[int]] = sets) -> bool:
            nonlocal asked
            asked += 1
            return any(one <= set(some) for one in sets)

        found = smallest_part(clash, [], range(size))

        assert set(found) == one_by_one(sets, range(size))
        assert asked <= 2 * len(found) * (size.bit_length() + 1) + 1
