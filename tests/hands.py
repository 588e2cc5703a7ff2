"""What is put into tests/world.py: a plan's JSON, or what two hand rules make of an event.

The rules were written down before any plan of ours was run against them:
(a) as early as possible, longest first, strongest cooker, then held; boxes are filled;
(b) latest start at twice the stove time.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time

import numpy as np

from events.model import Cooker, Dish, Event, Pot
from tests.world import SUN, Came, Job, Luck, came_of, cook, judged, specific
from tests.world_sky import minute

STOVE_W = 1500.0  # into the pot: typical


def from_plan(event: Event, plan: dict) -> list[Job]:
    """Return a plan's batches, read from its JSON."""
    pots = {p.id: p for p in event.pots}
    dishes = {d.id: d for d in event.dishes}

    def at(text: str) -> float:
        return minute(event, datetime.fromisoformat(text))

    out = []
    for p in plan["placements"]:
        begins = at(p["preheat_at"] or p["loaded_at"])
        lift = at(p["lifted_at"])
        turns = tuple(
            at(t["at"])
            for t in plan["turns"]
            if t["cooker_id"] == p["cooker_id"] and begins <= at(t["at"]) < lift
        )
        fellows = [q for q in plan["placements"] if q["fill"] == p["fill"]]
        out.append(
            Job(
                dish_id=p["dish_id"],
                cooker_id=p["cooker_id"],
                # Pots that share a box share its heat: each is walked as heavy as all of them.
                kg=sum(q["mass_kg"] for q in fellows),
                pot_kg=sum(pots[q["pot_id"]].mass_kg for q in fellows),
                pot_litres=pots[p["pot_id"]].litres * len(fellows),
                load=at(p["loaded_at"]),
                lift=lift,
                serve=at(p["served_at"]),
                turns=turns or (begins,),
                empty_from=at(p["preheat_at"]) if p["preheat_at"] else None,
                then_id=p["then_cooker_id"],
                off=at(p["off_at"]) if p["off_at"] else None,
                eaten=at(p["last_plate_at"]) if "last_plate_at" in p else _over(event, p),
                start_c=_warm(dishes[p["dish_id"]], p),
                id=p["id"],
            )
        )
    return out


def _over(event: Event, p: dict) -> float:
    """Return when a batch's meal is over: plans of an older version don't say more."""
    dish = next(d for d in event.dishes if d.id == p["dish_id"])
    return minute(event, next(m.end for m in event.meals if m.id == dish.meal))


def rescued(event: Event, jobs: list[Job], rescues: list[dict], luck: Luck) -> list[Came]:
    """Return what comes of a plan's batches by day, where pots too cold go to their ring.

    Each pot is looked at once, when its rescue says so.
    """
    saved = {r["placement_id"]: r for r in rescues}
    out = []
    for job in jobs:
        pot = cook(event, job, luck)
        alone = judged(event, job, pot)
        rescue = saved.get(job.id)
        at = minute(event, datetime.fromisoformat(rescue["at"])) if rescue else 0.0
        if rescue is None or int(at) not in pot.trace:
            out.append(alone)
            continue
        cold = pot.trace[int(at)] < rescue["below_c"]
        moved = replace(job, lift=at, then_id=rescue["ring_id"], off=job.eaten or job.serve)
        ringed = came_of(event, moved, luck)
        pairs = ((alone.ready, ringed.ready), (alone.hot, ringed.hot))
        ready, hot = (np.where(cold, on_ring, stays) for stays, on_ring in pairs)
        out.append(Came(ready, hot, np.where(cold, ringed.held_min, alone.held_min)))
    return out


def _warm(dish: Dish, p: dict) -> float | None:
    """Return how warm a pot is put in, where it is not as the dish usually is."""
    start_c = p["curve"][0]["core_c"] if p["curve"] else dish.start_c
    return start_c if start_c > dish.start_c + 3 else None


def _stove_min(dish: Dish) -> float:
    warm = dish.mass_kg * specific(dish) * 80 / STOVE_W / 60
    return warm + (dish.ordinary_min or dish.hold_min or 15)


def _strength(c: Cooker) -> float:
    return c.optical_efficiency * (
        (c.aperture_m2 or 0.0) * 800 if c.kind in SUN else c.power_w or 0
    )


def _by_hand(event: Event, *, latest: bool) -> list[Job]:
    """Return what a hand rule makes of an event; mirrors are turned every quarter of an hour."""
    opens = {
        c.id: max(minute(event, event.site.opens), minute(event, c.opens or time(0)))
        for c in event.cookers
    }
    cookers = sorted(event.cookers, key=lambda c: -_strength(c))
    out: list[Job] = []
    for dish in sorted(event.dishes, key=lambda d: -_stove_min(d)):
        for pot, kg in _cut(event, dish):
            able = [c for c in cookers if _takes(c, pot, dish, kg)]
            jobs = (_alone(event, out, dish, pot, kg, c, opens[c.id], latest) for c in able)
            job = next((j for j in jobs if j is not None), None)
            if job is not None:
                out.append(job)
            else:
                _beside(event, out, dish, pot, kg)
    return out


def _alone(
    event: Event,
    jobs: list[Job],
    dish: Dish,
    pot: Pot,
    kg: float,
    cooker: Cooker,
    opens: float,
    latest: bool,
) -> Job | None:
    """Return a pot alone in a cooker, as soon as it is free or as late as will do, or None."""
    meal = event.meal(dish.meal)
    serve, need = minute(event, meal.start), 2 * _stove_min(dish)
    taken = [(j.empty_from or j.load, j.lift) for j in jobs if j.cooker_id == cooker.id]
    free = max([opens, *(end + 5 for _, end in taken)])
    empty = 60.0 if dish.needs_body_c is not None else 0.0
    start = serve - dish.rest_min - need if latest else free + empty
    if start - empty < opens or start + need > serve + 1:
        return None
    if any(a < serve and start - empty < b for a, b in taken):
        return None
    end = serve if latest else serve - dish.rest_min
    every = 15.0 if cooker.kind == "parabolic" else 30.0
    return Job(
        dish_id=dish.id,
        cooker_id=cooker.id,
        kg=kg,
        pot_kg=pot.mass_kg,
        pot_litres=pot.litres,
        load=start,
        lift=end,
        serve=serve,
        turns=tuple(np.arange(start - empty, end, every)),
        empty_from=start - empty if empty else None,
        eaten=minute(event, meal.end),
    )


def _cut(event: Event, dish: Dish) -> list[tuple[Pot, float]]:
    """Return the pots of a dish: one that holds it, else as few of the largest as do."""
    fit = sorted((p for p in event.pots if dish.shape in p.holds), key=lambda p: p.litres)
    for number in range(1, dish.batches_max + 1):
        kg = dish.mass_kg / number
        usable = [p for p in fit if p.litres >= kg * dish.litres_per_kg]
        if usable:
            return [(usable[0], kg)] * number
    return []


def _takes(cooker: Cooker, pot: Pot, dish: Dish, kg: float) -> bool:
    oven = dish.needs_body_c is not None
    return (
        cooker.kind in pot.fits
        and cooker.kind in dish.kinds
        and kg * dish.litres_per_kg <= cooker.litres
        and (cooker.kind == "box" or not oven)
        and (cooker.kind != "box" or not dish.stir_every_min)
    )


def _beside(event: Event, jobs: list[Job], dish: Dish, pot: Pot, kg: float) -> None:
    """Put a pot that found no cooker into a box beside another: they are then heated as one."""
    cookers = {c.id: c for c in event.cookers}
    dishes = {d.id: d for d in event.dishes}
    for first in jobs:
        box, other = cookers[first.cooker_id], dishes[first.dish_id]
        shares = [k for k, j in enumerate(jobs) if (j.cooker_id, j.load) == (box.id, first.load)]
        litres = sum(jobs[k].pot_litres for k in shares[:1]) + kg * dish.litres_per_kg
        if (
            box.kind != "box"
            or not _takes(box, pot, dish, kg)
            or {dish.needs_body_c, other.needs_body_c} != {None}
            or dish.raw_meat != other.raw_meat
            or dish.meal != other.meal
            or len(shares) >= box.pots_max
            or litres > box.litres
        ):
            continue
        whole = replace(
            first,
            kg=first.kg + kg,
            pot_kg=first.pot_kg + pot.mass_kg,
            pot_litres=first.pot_litres + pot.litres,
        )
        for k in shares:
            jobs[k] = replace(whole, dish_id=jobs[k].dish_id)
        jobs.append(replace(whole, dish_id=dish.id))
        return


def hand_early(event: Event) -> list[Job]:
    """Return rule (a): as early as possible, longest first, strongest cooker, held."""
    return _by_hand(event, latest=False)


def hand_late(event: Event) -> list[Job]:
    """Return rule (b): latest start at twice the stove time."""
    return _by_hand(event, latest=True)
