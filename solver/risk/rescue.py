"""Gas rings as the net under it all: when to look at a pot, and how warm it must be to stay.

For each pot the drawn days tell the minute and the temperature at which "below it, to the ring"
saves most; rings are shared over the day, and with the plan's own pots on them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from events.table import changed
from solver.plan import Placement, Plan, Rescue
from solver.risk.gas import flame_w
from solver.risk.rescue_draws import PotDraws, flown, ring_slot_min, savable
from solver.simulation.clock import usable_hours
from solver.simulation.day import Day
from solver.simulation.transfer import MOVE_MIN
from solver.solar.irradiance import at_minute, minute_of

MOVE_COST = 0.1  # of a batch saved: moving is work and gas (judgement)
ONE_MORE = "one-more-ring"
LEAST_GAIN = 0.02  # of a batch; less is not worth a look (judgement)


@dataclass(frozen=True)
class RescuePlan:
    """The rescues, the most telling first, and the batches for which no ring is left."""

    rescues: tuple[Rescue, ...]
    unsaved_ids: tuple[str, ...]
    one_more_dishes: float = 0.0  # what one more ring would save, of dishes on the mean of days


@dataclass(frozen=True)
class Look:
    """One moment to look at a pot, with the temperature under which it goes to a ring."""

    placement: Placement
    minute: int
    below_c: int
    gain: float  # batches saved, less what moving costs
    ring_min: int


@dataclass(frozen=True)
class RingUse:
    """Minutes of the day in which a ring has a pot on it."""

    start: int
    end: int


def rescues(day: Day, plan: Plan) -> RescuePlan:
    """Return for each sun batch the moment to look at it, and under which temperature it moves.

    A poor day is poor for all: each ring is kept for one pot at a time.
    """
    rings = _rings(day)
    pots = list(savable(day, plan, rings)) if rings else []
    if not pots:
        return RescuePlan((), ())
    weakest = min(rings, key=flame_w)  # whichever ring a pot gets will do then
    looks = [list(_looks(draws)) for draws in flown(day, pots, weakest)]
    looks = [some for some in looks if some]
    looks.sort(key=lambda some: (-max(look.gain for look in some), some[0].placement.id))
    uses = {r.id: [*_planned_uses(day, plan, r.id), *_shut(day, r)] for r in rings}
    dealt = _dealt(looks, rings, uses)
    more = changed(rings[0], id=ONE_MORE)
    open_then = {**uses, ONE_MORE: _shut(day, more)}
    richer = _dealt(looks, [*rings, more], open_then) if dealt.unsaved_ids else dealt
    return RescuePlan(
        rescues=tuple(
            Rescue(
                placement_id=look.placement.id,
                at=at_minute(day.sky, look.minute),
                below_c=float(look.below_c),
                ring_min=look.ring_min,
                ring_id=ring_id,
            )
            for look, ring_id in dealt.saved
        ),
        unsaved_ids=dealt.unsaved_ids,
        one_more_dishes=richer.gain - dealt.gain,
    )


@dataclass(frozen=True)
class _Dealt:
    """Looks dealt out to rings, with the ring of each; and the batches that found none."""

    saved: tuple[tuple[Look, str], ...]
    unsaved_ids: tuple[str, ...]

    @property
    def gain(self) -> float:
        """Return the batches saved, less what moving costs."""
        return sum(look.gain for look, _ in self.saved)


def _dealt(
    looks: Sequence[Sequence[Look]], rings: Sequence[Cooker], taken: Mapping[str, list[RingUse]]
) -> _Dealt:
    """Deal rings out, to the pots that gain most first; `taken` is by the plan itself."""
    uses = {ring_id: list(some) for ring_id, some in taken.items()}
    saved: list[tuple[Look, str]] = []
    unsaved: list[str] = []
    for some in looks:
        placement = some[0].placement
        fit = [r for r in rings if placement.litres <= r.litres]
        free = [(x, r) for x in some for r in fit if _is_free(uses[r.id], _use(x), r.pots_max)]
        if not free:
            unsaved.append(placement.id)
            continue
        look, ring = max(free, key=lambda found: (found[0].gain, found[0].minute))
        uses[ring.id].append(_use(look))
        saved.append((look, ring.id))
    return _Dealt(tuple(saved), tuple(unsaved))


def _rings(day: Day) -> list[Cooker]:
    broken = day.replan.unavailable if day.replan else frozenset[str]()
    return [c for c in day.event.cookers if c.on_gas and c.id not in broken]


def _looks(draws: PotDraws) -> Iterator[Look]:
    """Yield, for each moment at which a look is worth it, the best temperature to decide by."""
    better = draws.on_ring - draws.alone - MOVE_COST
    for n, minute in enumerate(draws.minutes.tolist()):
        below_c = np.unique(np.floor(draws.core_c[n]) + 1.0)  # whole degrees, each with one more
        moves = draws.core_c[n] < below_c[:, None]
        gains = (moves * better[n]).mean(axis=1)
        best = int(np.argmax(gains))
        if gains[best] < LEAST_GAIN:
            continue
        ring_min = ring_slot_min(draws.ring_min[n, moves[best]])
        yield Look(
            placement=draws.pot.placement,
            minute=minute,
            below_c=int(below_c[best]),
            gain=float(gains[best]),
            ring_min=min(ring_min, draws.pot.ready_by - minute - MOVE_MIN),
        )


def _planned_uses(day: Day, plan: Plan, ring_id: str) -> list[RingUse]:
    """Return when a ring is taken by the plan itself."""
    stays = [(p.loaded_at, p.lifted_at) for p in plan.placements if p.cooker_id == ring_id]
    stays += [
        (p.lifted_at, p.off_at or p.served_at)
        for p in plan.placements
        if p.then_cooker_id == ring_id
    ]
    return [RingUse(minute_of(day.sky, a), minute_of(day.sky, b)) for a, b in stays]


def _shut(day: Day, ring: Cooker) -> list[RingUse]:
    """Return the hours out of which a ring may not burn, as if it were full."""
    opens, closes = usable_hours(day, ring)
    return [RingUse(0, opens), RingUse(closes, day.sky.air_c.size)] * ring.pots_max


def _use(look: Look) -> RingUse:
    return RingUse(look.minute, look.minute + MOVE_MIN + look.ring_min)


def _is_free(uses: Sequence[RingUse], wanted: RingUse, pots_max: int) -> bool:
    """Return whether a ring has a place left for as long as it is wanted."""
    moments = [u.start for u in uses if wanted.start < u.start < wanted.end]
    return all(
        sum(u.start <= at < u.end for u in uses) < pots_max for at in (wanted.start, *moments)
    )
