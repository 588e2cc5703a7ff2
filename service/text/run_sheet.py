"""The plan in plain words: every job and walk as one line that a person can do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache

from events.model import Cooker, Event
from service.text import formatting, messages, turn_orders
from service.text.cookers import caution
from service.text.crew import who_sets_up
from service.text.job_words import job_words
from service.text.rota import OUTSIDE, rounds_led
from solver.plan import EVERYBODY, Job, Placement, Plan, Rescue, Turn, Walk

HAND_OVERS = ("insulate", "move")  # kinds of job that bring a pot to a second cooker
AIMED = ("load", "preheat")  # kinds of job in which a cooker is set on the sun
KEPT = 16  # plans whose items are held ready
PROBED = ("lift", "insulate", "move", "probe")  # kinds of job that a probe reading belongs to


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


def run_sheet_items(event: Event, plan: Plan) -> tuple[RunSheetItem, ...]:
    """Return everything to do in time order.

    Each helper's page asks for it, of the same few plans: the last are kept.
    """
    return _items(_Same(event, plan))


@dataclass(frozen=True, eq=False)
class _Same:
    """An event and its plan, known by being the same objects: to compare them takes longer."""

    event: Event
    plan: Plan

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.event is other.event and self.plan is other.plan

    def __hash__(self) -> int:
        return hash((id(self.event), id(self.plan)))


@lru_cache(maxsize=KEPT)
def _items(of: _Same) -> tuple[RunSheetItem, ...]:
    event, plan = of.event, of.plan
    items = [
        *(_job(event, plan, j) for j in plan.jobs),
        *(_walk(event, plan, w) for w in plan.walks),
        *(_rescue(event, plan, r) for r in plan.rescues),
    ]
    # What is lifted in the minute of a meal comes before it.
    return tuple(sorted(items, key=lambda item: (item.at, item.kind == "serve", item.id)))


def items_of_helper(event: Event, plan: Plan, helper_id: str) -> list[RunSheetItem]:
    """Return one helper's things to do, meals and rounds too; work of all while they are there."""
    helper = event.helper(helper_id)
    start, end = event.instant(helper.start), event.instant(helper.end)

    def is_theirs(item: RunSheetItem) -> bool:
        if item.kind == "serve" or helper_id in item.helper_ids:
            return True
        if item.kind == "set-up":
            return helper in who_sets_up(event, item.at, item.ends_at)
        # Packing down is at cookers, as setting up is: no work for the young.
        return item.kind in EVERYBODY and helper.adult and item.ends_at > start and item.at < end

    items = [item for item in run_sheet_items(event, plan) if is_theirs(item)]
    rounds = _rounds(event, plan, helper_id)
    return sorted([*items, *rounds], key=lambda item: item.at) if rounds else items


def items_of_cooker(event: Event, plan: Plan, cooker: Cooker) -> list[RunSheetItem]:
    """Return what is done at one cooker: of walks its own turn, and what is moved into it."""
    moved_in = {p.id for p in plan.placements if p.then_cooker_id == cooker.id}
    arrivals = {j.id for j in plan.jobs if j.kind in HAND_OVERS and moved_in & set(j.placement_ids)}
    items = []
    for item in run_sheet_items(event, plan):
        turns = [t for t in item.turns if t.cooker_id == cooker.id]
        if item.kind == "walk" and turns:
            order = turn_orders.turn_order(event, turns[0])
            items.append(
                replace(
                    item,
                    turns=tuple(turns),
                    cookers=(cooker,),
                    title=order.title,
                    how=order.main,
                    second=order.second,
                    caution=order.caution,
                )
            )
        elif item.id in arrivals or cooker in item.cookers:
            items.append(item)
    return items


def _rounds(event: Event, plan: Plan, helper_id: str) -> list[RunSheetItem]:
    """Return the visits that a helper leads as things to do."""
    return [
        RunSheetItem(
            id=visit.link,
            kind="round",
            at=visit.at,
            ends_at=visit.ends_at,
            helper_ids=(helper_id,),
            cookers=(),
            title=visit.title,
            food="",
            how=". ".join(
                part
                for part in (
                    f"until {formatting.clock(event, visit.ends_at)}",
                    visit.do.rstrip("."),
                    *visit.sees,
                )
                if part
            ),
            second="",
            caution=OUTSIDE,
            turns=(),
            reading=False,
        )
        for visit in rounds_led(event, plan, helper_id)
    ]


def helper_names(event: Event, item: RunSheetItem) -> str:
    """Return the names of the helpers whose work an item is."""
    return ", ".join(h.name for h in event.helpers if h.id in item.helper_ids)


def who_does(event: Event, item: RunSheetItem) -> str:
    """Return the names of those who do an item, or "all"."""
    return "all" if item.kind in EVERYBODY else helper_names(event, item)


def _rescue(event: Event, plan: Plan, rescue: Rescue) -> RunSheetItem:
    placement = next(p for p in plan.placements if p.id == rescue.placement_id)
    cooker, rings = event.cooker(placement.cooker_id), [c for c in event.cookers if c.on_gas]
    ring = next((c for c in rings if c.id == rescue.ring_id), rings[0])
    food = event.dish(placement.dish_id).name + formatting.part(placement)
    return RunSheetItem(
        id=f"rescue-{rescue.placement_id}",
        kind="rescue",
        at=rescue.at,
        ends_at=rescue.at + timedelta(minutes=5),
        helper_ids=_who_looks(event, plan, placement, rescue.at),
        cookers=(cooker,),
        title="Look at",
        food=food,
        how=(
            f"under {formatting.temp(event, rescue.below_c)}? "
            f"To the {ring.name}, {rescue.ring_min} min there. Else it stays"
        ),
        second="",
        caution=caution(cooker, "lift"),
        turns=(),
        reading=True,
    )


def _who_looks(event: Event, plan: Plan, p: Placement, at: datetime) -> tuple[str, ...]:
    """Return the adult who looks at a pot: whoever of those there works at its cooker next to it.

    Where nobody does, it is anybody's.
    """
    there = {
        h.id
        for h in event.helpers
        if h.adult and event.instant(h.start) <= at < event.instant(h.end)
    }
    own = {t.id for t in plan.turns if t.cooker_id == p.cooker_id}
    work = [(w.at, w.helper_id) for w in plan.walks if own.intersection(w.turn_ids)]
    work += [(j.at, h) for j in plan.jobs if j.cooker_id == p.cooker_id for h in j.helper_ids]
    near = [(abs(when - at), helper_id) for when, helper_id in work if helper_id in there]
    return (min(near)[1],) if near else tuple(sorted(there))


def _walk(event: Event, plan: Plan, walk: Walk) -> RunSheetItem:
    turns = tuple(t for t in plan.turns if t.id in walk.turn_ids)
    cookers = tuple(event.cooker(t.cooker_id) for t in turns)
    orders = [turn_orders.turn_order(event, t) for t in turns]
    single = orders[0] if len(orders) == 1 else None
    return RunSheetItem(
        id=walk.id,
        kind="walk",
        at=walk.at,
        ends_at=walk.at + timedelta(minutes=walk.minutes),
        helper_ids=(walk.helper_id,),
        cookers=cookers,
        title=single.title if single else "Turn " + formatting.listed([c.name for c in cookers]),
        food="",
        how=single.main if single else "",
        second=single.second if single else "",
        caution=" ".join(dict.fromkeys(o.caution for o in orders)),
        turns=turns,
        reading=False,
    )


def _job(event: Event, plan: Plan, job: Job) -> RunSheetItem:
    cooker = event.cooker(job.cooker_id) if job.cooker_id else None
    placements = tuple(p for p in plan.placements if p.id in job.placement_ids)
    first = next(
        (
            t
            for t in plan.turns
            if t.first and t.cooker_id == job.cooker_id and t.at == job.at and job.kind in AIMED
        ),
        None,
    )
    aim = turn_orders.first_aim(first) if first else ""
    words = job_words(event, plan, job, placements)
    return RunSheetItem(
        id=job.id,
        kind=job.kind,
        at=job.at,
        ends_at=job.at + timedelta(minutes=job.minutes),
        helper_ids=job.helper_ids,
        cookers=(cooker,) if cooker else (),
        title=words.title,
        food=words.food,
        how=words.how,
        second=words.second or aim,
        caution=caution(cooker, job.kind) if cooker else "",
        turns=(first,) if first else (),
        reading=job.kind in PROBED
        and any(messages.probe_order(event, event.dish(p.dish_id)) for p in placements),
    )
