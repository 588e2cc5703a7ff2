"""What is put into pots: dishes cut into batches, the pots that hold them, the hands they need.

Minutes here are minutes of the local civil day (index into the sky); slots are five of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import time, timedelta

from events.model import Cooker, Dish, Event, Pot
from solver.policy import LOAD_LONGEST_MIN, PROBE_AFTER_MIN, SLOT_MIN
from solver.simulation.durations import Day
from solver.simulation.transfer import STAND_LOSS_W_M2_K
from solver.solar.irradiance import minute_of
from solver.thermal import food
from solver.thermal.energy_balance import insulated_c
from solver.thermal.light import TEST_POT_LITRES_KG
from solver.thermal.pots import pot_area_m2


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


def ceil_to_slot(minute: float) -> int:
    """Return a minute rounded up to a slot."""
    return -int(-(minute - 1e-9) // SLOT_MIN) * SLOT_MIN


def minute_at(day: Day, local: time) -> int:
    """Return the minute of the day of a local clock time."""
    return minute_of(day.sky, day.event.instant(local))


def clock(day: Day, minute: int) -> str:
    """Return a minute of the day as local HH:MM."""
    at = day.sky.start_at + timedelta(minutes=minute)
    return at.astimezone(day.event.zone).strftime("%H:%M")


def hours(day: Day, cooker: Cooker) -> tuple[int, int]:
    """Return the minutes between which a cooker may be used."""
    site = day.event.site
    opens = max([site.opens] + ([cooker.opens] if cooker.opens else []))
    closes = min([site.closes] + ([cooker.closes] if cooker.closes else []))
    now = day.replan.minute + 1 if day.replan else 0
    return ceil_to_slot(max(minute_at(day, opens), now)), minute_at(day, closes)


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


def pools(day: Day) -> dict[str, tuple[str, ...]]:
    """Return cookers that differ in name only, today's strength included, by the first one's id.

    One load fills a sun cooker, so loads placed on a pool can always be dealt out to its cookers
    (interval colouring); burners and insulated boxes count pots and are not pooled.
    """
    known: dict[str, tuple[str, ...]] | None = day.__dict__.get("_pools")
    if known is None:
        known = _pools(day)
        object.__setattr__(day, "_pools", known)  # a day never changes
    return known


def _pools(day: Day) -> dict[str, tuple[str, ...]]:
    out: dict[str, tuple[str, ...]] = {}
    heads: dict[str, str] = {}
    for c in day.event.cookers:
        if any(c.id in d.only_in or c.id in d.not_in for d in day.event.dishes):
            heads[c.id] = c.id  # somebody has wishes about this one
            out[c.id] = (c.id,)
            continue
        key = c.id
        if c.on_sun:
            key = (
                c.model_dump_json(exclude={"id", "name", "marks"})
                + day.availability[c.id].tobytes().hex()
            )
        head = heads.setdefault(key, c.id)
        out[head] = (*out.get(head, ()), c.id)
    return out


def usable_members(day: Day, head: str) -> tuple[str, ...]:
    """Return the cookers of a pool that are not out of action."""
    out = day.replan.unavailable if day.replan else frozenset[str]()
    return tuple(m for m in pools(day).get(head, (head,)) if m not in out)


def may_cook(cooker: Cooker, dish: Dish) -> str | None:
    """Return why this kind of cooker is never right for the dish, or None."""
    if cooker.keeps_heat_only:
        return "keeps heat, makes none"
    if dish.needs_body_c is not None and not cooker.is_oven:
        return f"heats the pot only; this needs an oven at {dish.needs_body_c:.0f} °C"
    if cooker.kind not in dish.kinds:
        return "not for this dish"
    if dish.stir_every_min and cooker.is_oven:
        return f"is kept shut; this needs stirring every {dish.stir_every_min} min"
    return None


def unwanted(day: Day, head: Cooker, dish: Dish) -> str | None:
    """Return that the organiser keeps a dish out of a cooker (of its whole pool), or None."""
    members = set(pools(day).get(head.id, (head.id,)))
    if members <= set(dish.not_in):
        return "kept out by the organiser"
    if dish.only_in and not members & set(dish.only_in):
        return "held elsewhere by the organiser"
    return None


def split(day: Day, dish: Dish, number: int, *, other: bool = False) -> tuple[Batch, ...]:
    """Return the dish cut into `number` equal batches, each with the wave it is served in.

    `other` names them apart from those of the dish's first cut.
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
        )
        for k in range(number)
    )


def serve_minute(start: int, end: int, waves: int, wave: int) -> int:
    """Return when a wave is served: waves share the meal's time, on the timetable's grain."""
    return (start + wave * (end - start) // waves) // SLOT_MIN * SLOT_MIN


def stir_minutes(batches: tuple[Batch, ...], start: int, done: int) -> list[int]:
    """Return when a load is stirred: every so many minutes between loading and done."""
    every = [b.dish.stir_every_min for b in batches if b.dish.stir_every_min]
    if not every:
        return []
    gap = max(SLOT_MIN, min(every) // SLOT_MIN * SLOT_MIN)
    first = start + load_minutes(batches)
    return [m for m in range(start + gap, done, gap) if m >= first]


def probe_minute(batches: tuple[Batch, ...], done: int, lift: int) -> int | None:
    """Return when a load that would burn is looked at: when it may be done, if it stays longer."""
    bakes = any(b.dish.shape == "baked" for b in batches)
    return done if bakes and lift - done >= PROBE_AFTER_MIN else None


def load_minutes(batches: tuple[Batch, ...]) -> int:
    """Return how long putting a load in takes."""
    return min(LOAD_LONGEST_MIN, ceil_to_slot(sum(b.dish.load_min for b in batches)))


def hot_when_standing(day: Day, batch: Batch, pot: Pot, minutes: int) -> bool:
    """Return whether a lidded pot, off the sun, is still hot enough when it is served."""
    if not batch.dish.serve_hot:
        return True
    air_c = float(day.sky.air_c[min(batch.serve_minute, day.sky.air_c.size - 1)])
    loss = STAND_LOSS_W_M2_K * pot_area_m2(pot.litres)
    left = math.exp(-loss * minutes * 60 / (1000 * food.heat_kj_k(batch.dish, batch.mass_kg)))
    core_c = batch.dish.core_c if "core_c" in batch.dish.done_mode.requires else None
    from_c = min(day.boil_c - 2.0, core_c or 95.0)
    return air_c + (from_c - air_c) * left >= food.HOT_HOLDING_C[day.event.site.food_rules]


def hot_when_insulated(day: Day, batch: Batch, hay: Cooker, minutes: int) -> bool:
    """Return whether a pot in an insulated box is still hot enough when it is served."""
    if not batch.dish.serve_hot:
        return True
    air_c = float(day.sky.air_c[min(batch.serve_minute, day.sky.air_c.size - 1)])
    kept_c = insulated_c(
        hay,
        pot_litres=batch.litres * TEST_POT_LITRES_KG,
        heat_j_k=1000 * food.heat_kj_k(batch.dish, batch.mass_kg),
        from_c=min(day.boil_c - 2.0, 95.0),
        air_c=air_c,
        minutes=minutes,
    )
    return kept_c >= food.HOT_HOLDING_C[day.event.site.food_rules]


def together(box: Cooker, batches: tuple[Batch, ...], pots: tuple[Pot, ...]) -> bool:
    """Return whether batches may share a box: room, one meal, no oven dish, no raw meat beside."""
    wanted = {p.id: sum(q.id == p.id for q in pots) for p in pots}
    return (
        sum(b.litres for b in batches) <= box.litres + 1e-9
        and len({b.serve_minute for b in batches}) == 1
        and all(b.dish.needs_body_c is None for b in batches)
        and len({b.dish.raw_meat for b in batches}) == 1
        and all(p.count >= wanted[p.id] for p in pots)
    )
