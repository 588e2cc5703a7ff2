"""A station's card: its loads, turns and cautions, and the card to aim it by."""

from __future__ import annotations

from datetime import datetime

from events.model import Cooker, Event
from service.application.aiming_card import card_declination_deg, ring_radius
from service.charts.qr_code import qr_on_paper
from service.paper.card_mounts import card_mount
from service.text import formatting, messages, turn_orders
from service.text.allergens import sentence
from service.text.cookers import caution, kind_name, strength_source
from service.text.run_sheet import RunSheetItem, items_of_cooker, who_does
from solver.plan import Placement, Plan, Rescue
from solver.policy import RINGS_MIN

Facts = dict[str, object]
PINS_MM = (100, 200)  # the usual pin; one twice as long for mirrors, which must point closer


def clock_parts(event: Event, at: datetime) -> Facts:
    """Return a time whole, and in the parts that paper sets large and small: 10:20, am."""
    clock, _, half = formatting.clock(event, at).partition(" ")
    return {
        "at": formatting.clock(event, at),
        "clock": clock,
        "half": half,
        "hour": at.astimezone(event.zone).hour,
    }


def aiming(event: Event) -> Facts:
    """Return the aiming card: its rings (minutes) in mm for each pin, exact for the day.

    Cookers that can't be tilted have a dial without rings.
    """
    tilted = any(c.on_sun and not c.only_turned for c in event.cookers)
    mounts = dict.fromkeys(mount for c in event.cookers if (mount := card_mount(c)))
    return {
        "declination": round(card_declination_deg(event), 1),
        "dial": any(c.only_turned for c in event.cookers),
        "short-pin": formatting.pin(event, PINS_MM[0]),
        "pins": [
            {
                "long": formatting.pin(event, pin),
                "rings": [
                    {
                        "min": str(ring),
                        "r": round(ring_radius(event, ring, pin=pin), 3),
                    }
                    for ring in RINGS_MIN
                ],
            }
            for pin in (PINS_MM if tilted else ())
        ],
        "mounts": [
            {
                "kind": mount.name,
                "words": f"{mount.words} {mount.twelve}",
                "drawing": str(mount.drawing),
            }
            for mount in mounts
        ],
    }


def station_card(event: Event, plan: Plan, cooker: Cooker, base_url: str) -> Facts:
    """Return one cooker's card; with a `base_url` it has the code of the station's page."""
    url = f"{base_url}/stations/{cooker.id}" if base_url else ""
    too_near = [messages.TOO_NEAR] if cooker.nature.concentrates else []
    return {
        "id": cooker.id,
        "name": cooker.name,
        "kind": kind_name(cooker.kind),
        "size": formatting.size(cooker, event.units),
        "place": event.station(cooker.station).name if cooker.station else "",
        "origin": strength_source(cooker),
        "cautions": [
            *_turn_cautions(plan, cooker),
            *(text for work in ("load", "lift") if (text := caution(cooker, work))),
            *too_near,
        ],
        "loads": [_load(event, plan, p) for p in plan.placements if p.cooker_id == cooker.id],
        "saves": _saves(event, plan, cooker),
        "rows": [_row(event, item) for item in items_of_cooker(event, plan, cooker)],
        "tip": messages.tip_on_card(cooker)
        if any(t.cooker_id == cooker.id for t in plan.turns)
        else "",
        "url": url,
        "qr": qr_on_paper(url) if url else "",
    }


def _load(event: Event, plan: Plan, batch: Placement) -> Facts:
    dish = event.dish(batch.dish_id)
    rescue = next((r for r in plan.rescues if r.placement_id == batch.id), None)
    return {
        "food": dish.name + formatting.part(batch),
        "mass": formatting.mass(event, batch.mass_kg),
        "pot": event.pot(batch.pot_id).name,
        "load": formatting.clock(event, batch.loaded_at),
        "done": formatting.clock(event, batch.done_at),
        "lift": formatting.clock(event, batch.lifted_at),
        "serve": formatting.clock(event, batch.served_at),
        "probe": messages.probe_order(event, dish),
        "allergens": sentence(event, dish),
        "rescue": _rescue_order(event, rescue) if rescue else "",
    }


def _rescue_order(event: Event, rescue: Rescue) -> str:
    rings = {c.id: c.name for c in event.cookers}
    return (
        f"{formatting.clock(event, rescue.at)}: probe. "
        f"Under {formatting.temp(event, rescue.below_c)}: "
        f"to {rings.get(rescue.ring_id, 'the gas ring')}. Over that: leave it."
    )


def _saves(event: Event, plan: Plan, cooker: Cooker) -> list[str]:
    """Return which slow pots come to a gas ring on a poor day, and when."""
    batches = {p.id: p for p in plan.placements}
    lines = []
    for rescue in sorted(plan.rescues, key=lambda r: r.at):
        if rescue.ring_id == cooker.id:
            batch = batches[rescue.placement_id]
            food = event.dish(batch.dish_id).name + formatting.part(batch)
            at, below = formatting.clock(event, rescue.at), formatting.temp(event, rescue.below_c)
            lines.append(f"{at}: {food}, if under {below}; {rescue.ring_min} min")
    return lines


def _row(event: Event, item: RunSheetItem) -> Facts:
    """Return one line of a card: what is done at the cooker, and where the shadow's tip goes."""
    order = turn_orders.turn_order(event, item.turns[0]) if item.turns else None
    if item.kind == "walk" and order:
        title, parts = f"{order.work}: {order.short}", []
    else:
        title, parts = item.title, [item.how, order.short if order else item.second]
    return {
        **clock_parts(event, item.at),
        "kind": item.kind,
        "title": title,
        "food": item.food,
        "text": formatting.sentences(parts),
        "shadow": order.shadow_short if order else "",
        "who": who_does(event, item),
        "reading": item.reading,
    }


def _turn_cautions(plan: Plan, cooker: Cooker) -> list[str]:
    """Return what to beware of in all turns of a cooker's day, each once."""
    every = [caution(cooker, "turn")]
    for turn in plan.turns:
        if turn.cooker_id == cooker.id:
            every += turn_orders.turn_cautions(cooker, turn)
    return [text for text in dict.fromkeys(every) if text]
