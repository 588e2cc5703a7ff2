"""Station pages: one cooker, what is in it, how warm, when to turn it and how far."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from fastapi import Request, Response

from events.model import Cooker, Event
from service.access import for_role
from service.application.diary import DiaryEntry
from service.charts.qr_code import QrCode
from service.charts.temperature_curve import Reading, curve_picture
from service.charts.turn import turn_picture
from service.dependencies import Name, ServicesDep
from service.paper.card_mounts import card_mount
from service.text import formatting, messages, turn_orders
from service.text.cookers import cautions, strength_source
from service.text.run_sheet import RunSheetItem, helper_names, run_sheet_items
from service.text.show_card import heat_sentence
from service.web.context import PageContext, PageContextDep
from service.web.job_views import MISSED_AFTER, Press, done_work, look_press
from service.web.plan_rows import batch_row
from service.web.press import new_press_id, press_id
from service.web.rendering import page_router
from service.web.status_rows import in_hand_rows
from solver.plan import Plan, Turn, turners

router = page_router()
PRESSES_SHOWN = 5
LOOK_BEFORE = timedelta(minutes=5)  # from then on a look has its presses


@dataclass(frozen=True)
class Look:
    """A look at a pot, which may have to go to a ring."""

    item: RunSheetItem
    who: str
    press: Press
    is_due: bool


@router.get("/e/{name}/stations")
@for_role("helper")
def stations(context: PageContextDep, services: ServicesDep) -> Response:
    """Show every cooker, to choose one."""
    places: dict[str | None, str] = {None: ""}
    places |= {s.id: s.name for s in context.event.stations}
    return context.page(
        "stations.html",
        page_path="/stations",
        places=places,
        in_hand=in_hand_rows(context, services),
    )


@router.get("/e/{name}/stations/{cooker_id}")
@for_role("helper")
def station(
    context: PageContextDep, cooker_id: Name, services: ServicesDep, request: Request
) -> Response:
    """Show one cooker: what is in it, how warm, when to turn it and how far."""
    event, plan = context.event, context.plan
    cooker = event.cooker(cooker_id)
    if plan is None:
        return context.counting()
    entries_all = services.diary.entries(context.name)
    entries = [e for e in entries_all if not e.undone]
    window = next((w for w in plan.windows if w.cooker_id == cooker_id), plan.windows[0])
    heat = None
    if window.cooker_id:
        at = context.now or _midday(plan)
        heat = services.analyses.heat_flow(context.name, cooker_id, at)
    due = services.plans.next_turns(
        context.name, now=context.at, helper_id=None, cooker_id=cooker_id
    )
    pressed = {e.stored.entry.job_id for e in entries if e.stored.entry.kind == "aimed"}
    due = [t for t in due if t.turn.id not in pressed]
    coming = [t.turn for t in due if context.now or not t.turn.first] or [t.turn for t in due]
    next_turn = coming[0] if coming else None
    return context.page(
        "station.html",
        page_path="/stations",
        in_hand=in_hand_rows(context, services),
        cooker=cooker,
        place=event.station(cooker.station).name if cooker.station else "",
        origin=strength_source(cooker),
        window=formatting.stretches(event, window.stretches),
        batches=_batches(context, plan, cooker_id, _readings(entries)),
        looks=_looks(context, plan, cooker_id, entries_all),
        turns=[
            _turn_row(context, plan, turn, next_turn)
            for turn in plan.turns
            if turn.cooker_id == cooker_id
        ],
        next=next_turn and _next(context, plan, next_turn),
        heat=heat,
        heat_words=heat_sentence(event, cooker, heat) if heat else "",
        cautions=_cautions(event, cooker, next_turn),
        mount=card_mount(cooker),
        burns=messages.BURNS,
        today=context.now is not None,
        code=QrCode(str(request.url.replace(query=None, fragment=None))).code,
        press_id=new_press_id(),
        turned_id=next_turn and _turned_id(context.name, entries_all, next_turn),
        presses=_presses(event, entries, cooker_id),
    )


def _turned_id(event_id: str, entries: Sequence[DiaryEntry], turn: Turn) -> str:
    """Return the id of the press that says a turn is done, the same as on its helper's page."""
    undone = sum(e.undone and e.stored.entry.job_id == turn.id for e in entries)
    return press_id(event_id, turn.id, "aimed", undone=undone)


def _turn_row(
    context: PageContext, plan: Plan, turn: Turn, next_turn: Turn | None
) -> dict[str, object]:
    event, is_next = context.event, next_turn is not None and turn.id == next_turn.id
    past = context.now is not None and turn.at < context.now and not is_next
    names = {h.id: h.name for h in event.helpers}
    return {
        "it": turn,
        "order": turn_orders.turn_order(event, turn),
        "who": names.get(turners(plan).get(turn.id) or "", ""),
        "when": "now" if is_next else "past" if past else "",
    }


def _next(context: PageContext, plan: Plan, turn: Turn) -> dict[str, object]:
    picture = turn_picture(context.event, turn)
    return {**_turn_row(context, plan, turn, turn), "picture": picture}


def _cautions(event: Event, cooker: Cooker, next_turn: Turn | None) -> list[str]:
    """Return what to mind at a cooker, of turning what the next turn asks for."""
    if next_turn is None:
        return cautions(cooker)
    return [turn_orders.turn_order(event, next_turn).caution, *cautions(cooker)[1:]]


def _readings(entries: Sequence[DiaryEntry]) -> dict[str, list[Reading]]:
    """Return what the probe showed, by batch."""
    readings: dict[str, list[Reading]] = defaultdict(list)
    for stored in (e.stored for e in entries):
        entry = stored.entry
        if entry.placement_id and entry.core_c is not None:
            readings[entry.placement_id].append(Reading(stored.happened_at, entry.core_c))
    return readings


def _batches(
    context: PageContext, plan: Plan, cooker_id: str, readings: dict[str, list[Reading]]
) -> list[dict[str, object]]:
    """Return what is cooked in one cooker, each with its curve for a wide and a narrow page.

    Open on a phone is what is in it, and what comes next.
    """
    event, now = context.event, context.now
    here = [p for p in plan.placements if p.cooker_id == cooker_id]
    left = [p for p in here if now and p.lifted_at > now]
    coming = {min(p.loaded_at for p in left)} if left else set()
    return [
        {
            **batch_row(event, plan, p),
            "is_on": p in left and (p.loaded_at in coming or (now and p.loaded_at <= now)),
            "wide": curve_picture(event, p, context.now, wide=True, readings=readings[p.id]),
            "narrow": curve_picture(event, p, context.now, wide=False, readings=readings[p.id]),
        }
        for p in here
    ]


def _looks(
    context: PageContext, plan: Plan, cooker_id: str, entries: Sequence[DiaryEntry]
) -> list[Look]:
    """Return the looks at the pots of one cooker, in time order; pressed ones are left out."""
    event, done = context.event, done_work(context.event, entries)
    pots = {p.id for p in plan.placements if p.cooker_id == cooker_id}
    items = {i.id: i for i in run_sheet_items(event, plan) if i.kind == "rescue"}
    looks = []
    for rescue in plan.rescues:
        if rescue.placement_id not in pots:
            continue
        item = items[f"rescue-{rescue.placement_id}"]
        press = look_press(context.name, rescue.placement_id, item.food, done)
        now = context.now
        is_due = now is not None and item.at - LOOK_BEFORE <= now < item.ends_at + MISSED_AFTER
        if press.done is None:
            looks.append(Look(item, helper_names(event, item), press, is_due=is_due))
    return sorted(looks, key=lambda look: look.item.at)


def _presses(event: Event, entries: Sequence[DiaryEntry], cooker_id: str) -> list[tuple[str, str]]:
    """Return the last presses at one cooker: when, what."""
    return [
        (formatting.clock(event, e.stored.happened_at), messages.PRESSED[e.stored.entry.kind])
        for e in entries
        if e.stored.entry.cooker_id == cooker_id
    ][-PRESSES_SHOWN:]


def _midday(plan: Plan) -> datetime:
    return max(plan.sun, key=lambda s: s.clear_w_m2).at
