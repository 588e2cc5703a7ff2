"""Everything that goes on paper, as plain words and figures; the template only sets it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

from events.model import Cooker, Event
from service.application.aiming_card import card_declination_deg, ring_radius
from service.charts.qr_code import qr_on_paper
from service.paper.card_mounts import card_mount
from service.paper.lists import lists
from service.text import formatting, notices, turn_orders
from service.text import messages as words
from service.text.allergens import sentence
from service.text.cookers import caution, kind_name, strength_source
from service.text.run_sheet import RunSheetItem, items_of_helper, run_sheet_items
from solver.plan import EVERYBODY, Placement, Plan, SunStep, turners
from solver.policy import RINGS_MIN

Facts = dict[str, object]
PINS_MM = (100, 200)  # the usual pin; one twice as long for mirrors, which must point closer


def facts(event: Event, plan: Plan, *, base_url: str = "", made: str = "") -> Facts:
    """Return the whole paper of a plan. `base_url` gives the cards their codes, if any."""
    return {
        "title": event.title,
        "day": formatting.long_date(event.date),
        "plan": plan.event_id,
        "made": made,
        "degrees": "°F" if event.units == "us" else "°C",
        "sun": [_column(event, s) for s in plan.sun],
        "window": _windows(event, plan),
        "rows": [line(event, d) for d in run_sheet_items(event, plan)],
        "helpers": [
            {
                "name": h.name,
                "hours": f"{formatting.hour(event, h.start)} to {formatting.hour(event, h.end)}",
                "rows": [line(event, d) for d in items_of_helper(event, plan, h.id)],
                "cautions": _cautions(items_of_helper(event, plan, h.id)),
            }
            for h in event.helpers
        ],
        "stations": [_station(event, plan, c, base_url) for c in event.cookers],
        "aiming": aiming(event),
        "card_read": words.CARD_READ,
        "refused": [
            {
                "name": event.dish(u.dish_id).name,
                "why": " ".join(notices.refusal(event, r) for r in u.reasons),
            }
            for u in plan.unplaced
        ],
        "warnings": [
            *(notices.warning(event, w) for w in plan.warnings),
            *(words.PROBE, words.CHILDREN, words.BURNS, words.LOCAL),
        ],
        "help": event.site.emergency,
        "burns": words.BURNS,
        "tip": words.TIP,
        "no_shadow": words.NO_SHADOW,
        "plan_of_ground": _ground(event, plan),
        **lists(event, plan),
    }


def aiming(event: Event) -> Facts:
    """Return the aiming card: its rings (minutes) in mm for each pin, exact for the day."""
    kinds = dict.fromkeys(c.kind for c in event.cookers if c.on_sun)
    return {
        "declination": round(card_declination_deg(event), 1),
        "pins": [
            {
                "mm": pin,
                "rings": [
                    {
                        "min": str(ring),
                        "r": round(ring_radius(event, ring, pin=pin), 3),
                    }
                    for ring in RINGS_MIN
                ],
            }
            for pin in PINS_MM
        ],
        "mounts": [
            {
                "kind": kind_name(mount.kind).capitalize(),
                "words": mount.words,
                "drawing": str(mount.drawing),
            }
            for kind in kinds
            if (mount := card_mount(kind))
        ],
    }


def _column(event: Event, step: SunStep) -> Facts:
    at = step.at.astimezone(event.zone)
    return {
        "clear": round(step.clear_w_m2 / 1000, 3),
        "beam": round(step.beam_w_m2 / 1000, 3),
        "blocked": step.blocked,
        "hour": formatting.clock(event, step.at) if at.minute == 0 else "",
    }


def _windows(event: Event, plan: Plan) -> str:
    spans = [
        f"{formatting.clock(event, s.starts_at)} to {formatting.clock(event, s.ends_at)}"
        for s in plan.windows[0].stretches
    ]
    return ", ".join(spans) or "none on this day"


def line(event: Event, d: RunSheetItem) -> Facts:
    """Return one line of a run sheet."""
    who = [h.name for h in event.helpers if h.id in d.helper_ids]
    title, text = d.title, "".join(f". {t}" for t in (d.how, d.second) if t)
    if d.kind == "walk":
        lines = turn_orders.turn_lines(event, d.turns)
        order = turn_orders.turn_order(event, d.turns[0])
        if len(lines) == 1:
            text = f": {order.short}; {order.shadow_short}"
        else:  # each cooker on a line of its own, named once
            title, text = "Turn", "".join(f"\n{line}" for line in lines)
    return {
        "id": d.id,
        "at": formatting.clock(event, d.at),
        "hour": d.at.astimezone(event.zone).hour,
        "who": "all" if d.kind in EVERYBODY else ", ".join(who),
        "kind": d.kind,
        "title": title,
        "food": d.food,
        "text": text,
        "caution": d.caution,
        "reading": d.reading,
    }


def _beware(d: RunSheetItem) -> Iterator[tuple[str, Cooker]]:
    """Yield each caution of a job or a walk with the cooker it is said of."""
    if d.kind == "walk":
        for turn, cooker in zip(d.turns, d.cookers, strict=True):
            yield from ((text, cooker) for text in turn_orders.turn_cautions(cooker, turn))
        return
    for cooker in d.cookers:
        if text := caution(cooker, d.kind):
            yield text, cooker


def _cautions(own: list[RunSheetItem]) -> list[str]:
    """Return what a helper must beware of, each with the cookers it is said of."""
    where: dict[str, dict[str, None]] = defaultdict(dict)
    for d in own:
        for text, cooker in _beware(d):
            where[text][cooker.name] = None
    return [f"{', '.join(names)}: {text}" for text, names in where.items()]


def _station(event: Event, plan: Plan, cooker: Cooker, base_url: str) -> Facts:
    mine = [p for p in plan.placements if p.cooker_id == cooker.id]
    names = {h.id: h.name for h in event.helpers}
    who = turners(plan)
    place = event.station(cooker.station).name if cooker.station else ""
    rescue = {r.placement_id: r for r in plan.rescues}
    foods = {p.id: event.dish(p.dish_id).name + formatting.part(p) for p in plan.placements}
    rings = {c.id: c.name for c in event.cookers}
    return {
        "id": cooker.id,
        "name": cooker.name,
        "kind": kind_name(cooker.kind),
        "size": formatting.size(cooker),
        "place": place,
        "origin": strength_source(cooker),
        "cautions": [
            *_turn_cautions(plan, cooker),
            *(c for w in ("load", "lift") if (c := caution(cooker, w))),
            *([words.TOO_NEAR] if cooker.nature.concentrates else []),
        ],
        "loads": [
            {
                **_load(event, p),
                "rescue": f"{formatting.clock(event, r.at)}: probe. Under "
                f"{formatting.temp(event, r.below_c)}: to {rings.get(r.ring_id, 'the gas ring')}. "
                "Over that: leave it."
                if (r := rescue.get(p.id))
                else "",
            }
            for p in mine
        ],
        "saves": [
            f"{formatting.clock(event, r.at)}: {foods[r.placement_id]}, if under "
            f"{formatting.temp(event, r.below_c)}; {r.ring_min} min"
            for r in sorted(plan.rescues, key=lambda r: r.at)
            if r.ring_id == cooker.id
        ],
        "turns": [
            {
                "at": formatting.clock(event, t.at),
                "until": formatting.clock(event, t.holds_until),
                "shadow": (order := turn_orders.turn_order(event, t)).shadow_short,
                "how": order.short,
                "who": names.get(who.get(t.id, ""), ""),
            }
            for t in plan.turns
            if t.cooker_id == cooker.id
        ],
        "url": f"{base_url}/stations/{cooker.id}" if base_url else "",
        "qr": qr_on_paper(f"{base_url}/stations/{cooker.id}") if base_url else "",
    }


def _turn_cautions(plan: Plan, cooker: Cooker) -> list[str]:
    """Return what to beware of in all turns of a cooker's day, each once."""
    every = [caution(cooker, "turn")]
    for turn in plan.turns:
        if turn.cooker_id == cooker.id:
            every += turn_orders.turn_cautions(cooker, turn)
    return [text for text in dict.fromkeys(every) if text]


def _load(event: Event, p: Placement) -> Facts:
    dish = event.dish(p.dish_id)
    pot = event.pot(p.pot_id).name
    return {
        "food": dish.name + formatting.part(p),
        "mass": formatting.mass(event, p.mass_kg),
        "pot": pot,
        "load": formatting.clock(event, p.loaded_at),
        "done": formatting.clock(event, p.done_at),
        "lift": formatting.clock(event, p.lifted_at),
        "serve": formatting.clock(event, p.served_at),
        "probe": words.probe_order(event, dish),
        "allergens": sentence(event, dish),
    }


def _ground(event: Event, plan: Plan) -> Facts:
    """Return the stations on the ground, metres east and north, and which hours each has sun."""
    suns: dict[str, list[str]] = defaultdict(list)
    hours = []
    first = plan.sun[0].at
    at = first + timedelta(minutes=-first.minute % 60)
    while at < plan.sun[-1].at:
        hours.append(at)
        at += timedelta(hours=1)
    windows = {w.cooker_id: w.stretches for w in plan.windows}
    for station in event.stations:
        here = [c.id for c in event.cookers if c.station == station.id and c.id in windows]
        stretches = windows[here[0]] if here else plan.windows[0].stretches
        for hour in hours:
            lit = any(s.starts_at <= hour < s.ends_at for s in stretches)
            suns[station.id].append("sun" if lit else "shade")
    return {
        "hours": [formatting.clock(event, h) for h in hours],
        "stations": [
            {
                "name": s.name,
                "x": s.x_m,
                "y": s.y_m,
                "cookers": [c.name for c in event.cookers if c.station == s.id],
                "sun": suns[s.id],
            }
            for s in event.stations
        ],
    }
