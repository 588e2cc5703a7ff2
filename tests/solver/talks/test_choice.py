"""Which talk is given when: against exhaustive search on small questions."""

from __future__ import annotations

import itertools
import random

from solver.talks.choice import CHANGED, Asked, Slot, choose


def small(seed: int) -> tuple[list[Asked], list[Slot]]:
    rng = random.Random(seed)
    talks = [
        Asked(rng.choice((1, 2)), rng.choice((1, 1, 2)), rng.choice((0, 1, 2)))
        for _ in range(rng.choice((2, 3)))
    ]
    options = [
        Slot(n, start, speaker, rng.randint(0, 30), rng.random() < 0.3)
        for n in range(len(talks))
        for start in range(6)
        for speaker in range(2)
        if rng.random() < 0.35
    ]
    return talks, options[:11]


def fits(talks: list[Asked], taken: tuple[Slot, ...]) -> bool:
    for n, asked in enumerate(talks):
        own = sorted(o.start for o in taken if o.talk == n)
        if len(own) > asked.times:
            return False
        if any(b - a < asked.slots + asked.apart for a, b in itertools.pairwise(own)):
            return False
    spans = sorted((o.start, o.start + talks[o.talk].slots) for o in taken)
    return all(b[0] >= a[1] for a, b in itertools.pairwise(spans))


def goal(options: list[Slot], taken: tuple[Slot, ...]) -> tuple[int, int]:
    """Return what is given, each talk's first counting twice; and what that costs."""
    latest = max(o.start for o in options) + 1
    given = len(taken) + len({o.talk for o in taken})
    costs = sum((o.changed * CHANGED + o.missed) * latest * 10 + o.start for o in taken)
    return -given, costs


def test_small_choices_are_as_good_as_the_best_of_all() -> None:
    tried = 0
    for seed in range(80):
        talks, options = small(seed)
        if not options:
            continue
        ways = itertools.chain.from_iterable(
            itertools.combinations(options, size) for size in range(min(len(options), 6) + 1)
        )
        best = min(goal(options, way) for way in ways if fits(talks, way))

        taken = tuple(options[k] for k in choose(talks, options))

        assert fits(talks, taken), seed
        assert goal(options, taken) == best, seed
        tried += 1
    assert tried >= 60
