"""What is put into tests/world.py: a plan's JSON, or what two hand rules make of an event.

The rules were written down before any plan of ours was run against them:
(a) as early as possible, longest first, strongest cooker, then held;
(b) latest start at twice the stove time.
"""

from __future__ import annotations

from datetime import datetime, time

import numpy as np

from events.model import Cooker, Dish, Event
from tests.world import SUN, Job, minute, specific

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
                eaten=at(p["last_plate_at"]),
                start_c=_warm(dishes[p["dish_id"]], p),
                id=p["id"],
            )
        )
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
    """Return what a hand rule makes of an event: one pot a dish, turns every half hour."""
    free = {
        c.id: max(minute(event, event.site.opens), minute(event, c.opens or time(0)))
        for c in event.cookers
    }
    taken: dict[str, list[tuple[float, float]]] = {c.id: [] for c in event.cookers}
    meals = {m.id: minute(event, m.start) for m in event.meals}
    pots = sorted(event.pots, key=lambda p: p.litres)
    out = []
    for dish in sorted(event.dishes, key=lambda d: -_stove_min(d)):
        serve, need = meals[dish.meal], 2 * _stove_min(dish)
        litres = dish.mass_kg * dish.litres_per_kg
        fit = [p for p in pots if p.litres >= litres and dish.shape in p.holds]
        for cooker in sorted(event.cookers, key=lambda c: -_strength(c)):
            usable = [p for p in fit if cooker.kind in p.fits]
            oven = dish.needs_body_c is not None
            if not usable or cooker.kind not in dish.kinds or cooker.litres < litres:
                continue
            if (oven and cooker.kind != "box") or (dish.stir_every_min and cooker.kind == "box"):
                continue
            empty = 60.0 if oven else 0.0
            start = serve - dish.rest_min - need if latest else free[cooker.id] + empty
            if start - empty < minute(event, event.site.opens) or start + need > serve + 1:
                continue
            if any(a < serve and start - empty < b for a, b in taken[cooker.id]):
                continue
            end = serve if latest else serve - dish.rest_min
            taken[cooker.id].append((start - empty, end))
            free[cooker.id] = end + 5
            pot = usable[0]
            turns = tuple(np.arange(start - empty, end, 30.0))
            out.append(
                Job(
                    dish.id,
                    cooker.id,
                    dish.mass_kg,
                    pot.mass_kg,
                    pot.litres,
                    start,
                    end,
                    serve,
                    turns,
                    start - empty if empty else None,
                )
            )
            break
    return out


def hand_early(event: Event) -> list[Job]:
    """Return rule (a): as early as possible, longest first, strongest cooker, held."""
    return _by_hand(event, latest=False)


def hand_late(event: Event) -> list[Job]:
    """Return rule (b): latest start at twice the stove time."""
    return _by_hand(event, latest=True)
