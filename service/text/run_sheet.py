"""The plan in plain words: every job and walk as one line that a person can do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from events.model import Cooker, Event
from service.text import formatting, turn_orders
from service.text import messages as words
from service.text.cookers import caution
from solver.plan import EVERYBODY, Job, Placement, Plan, Rescue, Turn, Walk


@dataclass(frozen=True)
class RunSheetItem:
    """One thing to do: when, who, what, how, and what to beware of."""

    id: str
    kind: str
    at: datetime
    ends_at: datetime
    helper_ids: tuple[str, ...]
    cookers: tuple[Cooker, ...]
    title: str  # "Load", "Turn Mirror 1"
    food: str  # dish names, set in the food's letters
    how: str
    second: str
    caution: str
    turns: tuple[Turn, ...]
    reading: bool  # a probe reading belongs here


def doings(event: Event, plan: Plan) -> list[RunSheetItem]:
    """Return everything to do in time order."""
    out = [_job(event, plan, j) for j in plan.jobs] + [_walk(event, plan, w) for w in plan.walks]
    out += [_rescue(event, plan, r) for r in plan.rescues]
    return sorted(out, key=lambda d: (d.at, d.kind != "serve", d.id))


def for_helper(event: Event, plan: Plan, helper_id: str) -> list[RunSheetItem]:
    """Return one helper's things to do, meals included."""
    return [d for d in doings(event, plan) if helper_id in d.helper_ids or d.kind in EVERYBODY]


def _rescue(event: Event, plan: Plan, rescue: Rescue) -> RunSheetItem:
    placement = next(p for p in plan.placements if p.id == rescue.placement_id)
    rings = [c for c in event.cookers if c.on_gas]
    ring = next((c for c in rings if c.id == rescue.ring_id), rings[0])
    food = event.dish(placement.dish_id).name + formatting.part(placement)
    return RunSheetItem(
        id=f"rescue-{rescue.placement_id}",
        kind="rescue",
        at=rescue.at,
        ends_at=rescue.at + timedelta(minutes=5),
        helper_ids=(),
        cookers=(ring,),
        title="Last moment for",
        food=food,
        how=(
            f"under {formatting.temp(event, rescue.below_c)}? "
            f"To the {ring.name}, {rescue.ring_min} min there"
        ),
        second="",
        caution="",
        turns=(),
        reading=True,
    )


def _walk(event: Event, plan: Plan, walk: Walk) -> RunSheetItem:
    turns = tuple(t for t in plan.turns if t.id in walk.turn_ids)
    cookers = tuple(event.cooker(t.cooker_id) for t in turns)
    first, second = turn_orders.how_to_turn(event, turns[0])
    cautions = dict.fromkeys(caution(c, "turn") for c in cookers)
    return RunSheetItem(
        id=walk.id,
        kind="walk",
        at=walk.at,
        ends_at=walk.at + timedelta(minutes=walk.minutes),
        helper_ids=(walk.helper_id,),
        cookers=cookers,
        title="Turn " + formatting.listed([c.name for c in cookers]),
        food="",
        how=first if len(turns) == 1 else "Then the next, as below.",
        second=second if len(turns) == 1 else "",
        caution=" ".join(cautions),
        turns=turns,
        reading=False,
    )


def _job(event: Event, plan: Plan, job: Job) -> RunSheetItem:
    cooker = event.cooker(job.cooker_id) if job.cooker_id else None
    mine = [p for p in plan.placements if p.id in job.placement_ids]
    first = next(
        (t for t in plan.turns if t.first and t.cooker_id == job.cooker_id and t.at == job.at), None
    )
    title, food, how, second = _say(event, plan, job, cooker, mine)
    dishes = [event.dish(p.dish_id) for p in mine]
    return RunSheetItem(
        id=job.id,
        kind=job.kind,
        at=job.at,
        ends_at=job.at + timedelta(minutes=job.minutes),
        helper_ids=job.helper_ids,
        cookers=(cooker,) if cooker else (),
        title=title,
        food=food,
        how=how,
        second=second
        or (f"Aim it: shadow tip to {turn_orders.ring(event, first)}, ahead" if first else ""),
        caution=caution(cooker, job.kind) if cooker else "",
        turns=(first,) if first else (),
        reading=job.kind in ("lift", "insulate", "move", "probe")
        and any(words.probe_order(event, d) for d in dishes),
    )


def _say(
    event: Event, plan: Plan, job: Job, cooker: Cooker | None, mine: list[Placement]
) -> tuple[str, str, str, str]:
    """Return (title, food, how, second) of a job."""
    where = cooker.name if cooker else ""
    foods = formatting.listed([event.dish(p.dish_id).name + formatting.part(p) for p in mine])
    if job.kind == "talk":
        talk = event.talk(job.talk_id or "")
        shown = f"Shows: {event.dish(talk.dish).name}, {talk.stage}" if talk.dish else ""
        return f"Talk: {talk.name}", "", f"{talk.minutes} min", shown
    if job.kind == "serve":
        meal = event.meal(job.meal_id or "")
        eaten = sorted(
            {p.dish_id for p in plan.placements if event.dish(p.dish_id).meal == meal.id}
        )
        names = formatting.listed([event.dish(d).name for d in eaten])
        return meal.name, names, f"{meal.portions} portions", "Wash hands. Hot food stays hot."
    if job.kind == "preheat":
        return f"Set {where} on the sun, empty", "", "It heats up before it is loaded", ""
    if job.kind == "load":
        what = "; ".join(f"{formatting.mass(event, p.mass_kg)} in {_pot(event, p)}" for p in mine)
        return "Load", foods, f"{where}: {what}", ""
    if job.kind == "stir":
        return "Stir", foods, where, ""
    if job.kind == "set-up":
        return "Set up", "", "Rope line, water, gloves, covers, shade", words.LOCAL
    if job.kind == "pack-down":
        return "Pack down", "", "Only what is cool: glass, metal and stones stay hot", ""
    if job.kind == "attend":
        until = formatting.clock(event, job.at + timedelta(minutes=job.minutes))
        return f"Stay at {where}", foods, f"until {until}", "Visitors stand in front of it"
    if job.kind == "probe":
        out_by = formatting.clock(event, max(p.lifted_at for p in mine))
        dish = event.dish(mine[0].dish_id)
        order = words.probe_order(event, dish) or "A skewer comes out dry"
        return (
            "Probe",
            foods,
            f"{where}. {order}? Lift it now",
            f"Else every 10 min, {out_by} at last",
        )
    orders = dict.fromkeys(words.probe_order(event, event.dish(p.dish_id)) for p in mine)
    probe = ". ".join(o for o in orders if o)
    if job.kind in ("move", "insulate"):
        to = event.cooker(mine[0].then_cooker_id or "").name
        first = "Flame first" if job.kind == "move" else probe
        return "Move", foods, f"from {where} to {to}, lid on", first
    stands = [p for p in mine if p.served_at > p.lifted_at]
    until = f", lid on until {formatting.clock(event, stands[0].served_at)}" if stands else ""
    return "Lift", foods, f"{where}{until}", probe


def _pot(event: Event, placement: Placement) -> str:
    pot = event.pot(placement.pot_id)
    return pot.name[0].lower() + pot.name[1:]
