"""Rounds found by going through the day once: who must walk takes along what is due next.

A first answer for the times of the turns. On ten questions it was as good as half a second of
search, or better the larger the event (measured: 39 walks for 41, 52 for 61), in milliseconds.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from solver.policy import TURNS_A_WALK
from solver.rostering.tasks import SunExposure
from solver.rostering.turns import LAST_OVER, turner

TRIES = 12  # the first as it comes, the others with what is taken along at random
TRIED_MOST = 400  # cookers' times on the sun, over all tries: where there are many, more find none
CLASHES_MOST = 60  # slots closed for a cooker, before a try is given up
SHAKE_SLOTS = 4  # what is due so much later may be taken along before


@dataclass(frozen=True)
class Round:
    """The walks of one slot: the exposures turned, how many walk, how many of them to mirrors."""

    slot: int
    turned: tuple[int, ...]
    walkers: int
    mirror_walkers: int


@dataclass(frozen=True)
class Room:
    """How many may walk in a slot at most: to mirrors, to what anybody turns, or to both."""

    to_mirrors: bool
    to_any: bool
    most: int


class _Clash(Exception):
    """Too few are free when cookers are due: (exposure, slot); none where nothing helps."""

    def __init__(self, at: Sequence[tuple[int, int]]) -> None:
        super().__init__(at)
        self.at = at


def first_rounds(
    exposures: Sequence[SunExposure],
    rooms: Mapping[int, Sequence[Room]],
    *,
    tries: int = TRIES,
) -> list[Round] | None:
    """Return the fewest walks found, then the fewest turns; None where none of the tries came out.

    `rooms` holds by slot, for every slot in which a turn may be, how many are free.
    """
    best: list[Round] | None = None
    luck = random.Random(1)
    closed: set[tuple[int, int]] = set()
    for nth in range(min(tries, 1 + TRIED_MOST // max(len(exposures), 1))):
        turned = _try(exposures, rooms, closed, luck if nth else None)
        if turned is not None:
            rounds = _rounds(exposures, turned)
            if best is None or _size(rounds) < _size(best):
                best = rounds
        elif best is None:
            break
    return best


def _try(
    exposures: Sequence[SunExposure],
    rooms: Mapping[int, Sequence[Room]],
    closed: set[tuple[int, int]],
    luck: random.Random | None,
) -> dict[int, list[int]] | None:
    """Return by slot what is turned; `closed` learns when a cooker is better turned earlier."""
    for _ in range(CLASHES_MOST):
        try:
            return _through_the_day(exposures, rooms, closed, luck)
        except _Clash as clash:
            if not clash.at:
                return None
            closed.update(clash.at)
    return None


def _through_the_day(
    exposures: Sequence[SunExposure],
    rooms: Mapping[int, Sequence[Room]],
    closed: set[tuple[int, int]],
    luck: random.Random | None,
) -> dict[int, list[int]]:
    due = {
        k: at
        for k, one in enumerate(exposures)
        if not one.cooker.attended and (at := _due(k, one, one.start, closed)) is not None
    }
    turned: dict[int, list[int]] = {}
    for s in sorted(rooms):
        must = [k for k, at in due.items() if at == s]
        if not must:
            continue
        for nth in range(1, len(must) + 1):
            if not _may_walk(rooms[s], *_walkers(exposures, must[:nth])):
                raise _Clash([(k, s) for k in must[nth - 1 :]])
        to_mirrors, to_any = _walkers(exposures, must)
        places = (to_mirrors + to_any) * TURNS_A_WALK - len(must)
        mirror_places = to_mirrors * TURNS_A_WALK - sum(bool(turner(exposures[k])) for k in must)
        now = turned[s] = must
        for k in sorted(
            (
                k
                for k in due
                if k not in must and _may_turn(exposures[k], s) and (k, s) not in closed
            ),
            key=lambda k: due[k] + (luck.random() * SHAKE_SLOTS if luck else 0.0),
        ):
            mirror = bool(turner(exposures[k]))
            if places and (mirror_places or not mirror):
                now.append(k)
                places -= 1
                mirror_places -= mirror
        for k in now:
            at = _due(k, exposures[k], s, closed)
            if at is None:
                del due[k]
            else:
                due[k] = at
    return turned


def _may_turn(one: SunExposure, s: int) -> bool:
    return max(one.start + 1, one.now) <= s < one.end


def _due(k: int, one: SunExposure, last: int, closed: set[tuple[int, int]]) -> int | None:
    """Return when a cooker must be turned at the latest after its last turn; None if no more.

    Raises _Clash where nobody is free for it in all that time.
    """
    if last >= one.end - one.every - LAST_OVER or one.now >= one.end:
        return None
    first = max(last + 1, one.now)
    for s in range(max(last + one.every, first), first - 1, -1):
        if (k, s) not in closed:
            return s
    raise _Clash([])


def _may_walk(rooms: Sequence[Room], to_mirrors: int, to_any: int) -> bool:
    return all(r.to_mirrors * to_mirrors + r.to_any * to_any <= r.most for r in rooms)


def _walkers(exposures: Sequence[SunExposure], turned: Sequence[int]) -> tuple[int, int]:
    """Return how many walk to mirrors, and how many to anything else, to turn all of these."""
    mirrors = sum(bool(turner(exposures[k])) for k in turned)
    to_mirrors = -(-mirrors // TURNS_A_WALK)
    return to_mirrors, max(0, -(-len(turned) // TURNS_A_WALK) - to_mirrors)


def _rounds(exposures: Sequence[SunExposure], turned: Mapping[int, list[int]]) -> list[Round]:
    """Return the rounds without the turns that nothing needs after all."""
    kept: dict[int, list[int]] = {s: [] for s in turned}
    for k, one in enumerate(exposures):
        times = [s for s, now in turned.items() if k in now]
        for s in [*times]:
            left = [t for t in times if t != s]
            if _is_turned(one, left):
                times = left
        for s in times:
            kept[s].append(k)
    return [
        Round(s, tuple(now), sum(walkers), walkers[0])
        for s, now in kept.items()
        if now
        for walkers in [_walkers(exposures, now)]
    ]


def _is_turned(one: SunExposure, times: Sequence[int]) -> bool:
    """Return whether an exposure has a turn in every interval that asks for one."""
    last, ends = one.start, one.end - one.every - LAST_OVER
    for s in [*times, one.end]:
        if last >= ends:
            return True
        if s > max(last + one.every, one.now):
            return False
        last = s
    return True


def _size(rounds: Sequence[Round]) -> tuple[int, int]:
    return sum(r.walkers for r in rounds), sum(len(r.turned) for r in rounds)
