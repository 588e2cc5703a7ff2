"""What is put into pots: dishes cut into batches, the pots that hold them, the hands they need.

Minutes here are minutes of the local civil day (index into the sky).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from events.model import Cooker, Dish, Event, Pot
from solver.notices import Refusal
from solver.policy import LOAD_LONGEST_MIN, PROBE_AFTER_MIN, SLOT_MIN
from solver.simulation.clock import ceil_to_slot, minute_at
from solver.simulation.day import Day


@dataclass(frozen=True)
class Batch:
    """The part of a dish that goes into one pot."""

    id: str
    dish: Dish
    number: int
    of: int
    mass_kg: float
    litres: float
    portions: int
    serve_minute: int
    serve_end: int  # when the last plate of it is served


Batches = tuple[Batch, ...]


def split(day: Day, dish: Dish, number: int, *, other: bool = False) -> Batches:
    """Return the dish cut into `number` equal batches, each with the wave it is served in.

    `other` names them apart from those of the dish's first split.
    """
    meal = day.event.meal(dish.meal)
    start, end = minute_at(day, meal.start), minute_at(day, meal.end)
    mass = dish.mass_kg / number
    return tuple(
        Batch(
            id=f"{dish.id}-{k + 1}" + (f"of{number}" if other else ""),
            dish=dish,
            number=k + 1,
            of=number,
            mass_kg=mass,
            litres=mass * dish.litres_per_kg,
            portions=dish.portions * (k + 1) // number - dish.portions * k // number,
            serve_minute=serve_minute(start, end, meal.waves, k * meal.waves // number),
            serve_end=serve_minute(start, end, meal.waves, _last_wave(meal.waves, k, number)),
        )
        for k in range(number)
    )


def _last_wave(waves: int, batch: int, number: int) -> int:
    """Return the wave before which the batch is served out: its own, or until the next batch's."""
    return max(batch * waves // number + 1, (batch + 1) * waves // number)


def serve_minute(start: int, end: int, waves: int, wave: int) -> int:
    """Return when a wave is served: waves share the meal's time, on the timetable's grain."""
    return (start + wave * (end - start) // waves) // SLOT_MIN * SLOT_MIN


def pots_for(event: Event, cooker: Cooker, dish: Dish, litres: float) -> list[Pot]:
    """Return the pots that hold a batch and fit the cooker, smallest first."""
    fit = [
        p
        for p in event.pots
        if cooker.kind in p.fits
        and dish.shape in p.holds
        and litres <= min(p.litres, cooker.litres) + 1e-9
    ]
    return sorted(fit, key=lambda p: (p.litres, p.id))


def dish_id_of(batch_id: str) -> str:
    """Return the dish of a batch: its name without the batch's number."""
    return batch_id.rpartition("-")[0]


def smallest_pot(event: Event, batch: Batch) -> Pot | None:
    """Return the smallest kind of pot that holds a batch, whatever cooker it fits."""
    fit = [p for p in event.pots if p.litres >= batch.litres - 1e-9 and batch.dish.shape in p.holds]
    return min(fit, key=lambda p: (p.litres, p.id), default=None)


def usable_members(day: Day, pool: str) -> tuple[str, ...]:
    """Return the cookers of a pool that are not out of action."""
    out_of_action = day.replan.unavailable if day.replan else frozenset[str]()
    return tuple(m for m in day.pools.get(pool, (pool,)) if m not in out_of_action)


def may_cook(cooker: Cooker, dish: Dish) -> Refusal | None:
    """Return why this kind of cooker is never right for the dish, or None."""
    if cooker.keeps_heat_only:
        return Refusal(kind="makes-no-heat")
    if dish.needs_body_c is not None and not cooker.is_oven:
        return Refusal(kind="no-oven", figures={"needed_c": dish.needs_body_c})
    if cooker.kind not in dish.kinds:
        return Refusal(kind="not-for-this-dish")
    if dish.stir_every_min and cooker.is_oven:
        return Refusal(kind="kept-shut", figures={"stir_min": dish.stir_every_min})
    return None


def unwanted(day: Day, pool: Cooker, dish: Dish) -> Refusal | None:
    """Return that the organiser keeps a dish out of a cooker (of its whole pool), or None."""
    members = set(day.pools.get(pool.id, (pool.id,)))
    if members <= set(dish.not_in):
        return Refusal(kind="kept-out")
    if dish.only_in and not members & set(dish.only_in):
        return Refusal(kind="held-elsewhere")
    return None


def may_share(box: Cooker, batches: Batches, pots: Sequence[Pot]) -> bool:
    """Return whether batches may share a box: room, one meal, no oven dish, no raw meat beside."""
    wanted = {p.id: sum(q.id == p.id for q in pots) for p in pots}
    return (
        sum(b.litres for b in batches) <= box.litres + 1e-9
        and len({(b.serve_minute, b.serve_end) for b in batches}) == 1
        and all(b.dish.needs_body_c is None for b in batches)
        and len({b.dish.raw_meat for b in batches}) == 1
        and all(p.count >= wanted[p.id] for p in pots)
    )


def load_minutes(batches: Batches) -> int:
    """Return how long putting a load in takes."""
    return min(LOAD_LONGEST_MIN, ceil_to_slot(sum(b.dish.load_min for b in batches)))


def stir_minutes(batches: Batches, start: int, done: int) -> list[int]:
    """Return when a load is stirred: every so many minutes between loading and done."""
    every = [b.dish.stir_every_min for b in batches if b.dish.stir_every_min]
    if not every:
        return []
    gap = max(SLOT_MIN, min(every) // SLOT_MIN * SLOT_MIN)
    first = start + load_minutes(batches)
    return [m for m in range(start + gap, done, gap) if m >= first]


def probe_minute(batches: Batches, done: int, lift: int) -> int | None:
    """Return when a load that would burn is looked at: when it may be done, if it stays longer."""
    bakes = any(b.dish.shape == "baked" for b in batches)
    return done if bakes and lift - done >= PROBE_AFTER_MIN else None
