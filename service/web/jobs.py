"""A helper's pages: whose jobs, and the next thing to do in big letters."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import takewhile

from fastapi import Response

from events.diary import EntryKind
from events.model import Event
from service.access import for_role
from service.application.diary import DiaryEntry
from service.charts.turn import turn_picture
from service.dependencies import Name, ServicesDep
from service.text import formatting, messages, turn_orders
from service.text.replan_changes import work_change
from service.text.run_sheet import RunSheetItem, items_of_helper, run_sheet_items
from service.web.context import PageContext, PageContextDep
from service.web.press import new_press_id
from service.web.rendering import page_router
from solver.plan import Plan, Turn

router = page_router()
MISSED_AFTER = timedelta(minutes=15)  # a job not pressed by then makes room for the next
# What leaves a job open.
NOT_DONE = ("late", "note", "cloud", "sun", "seen", "read-changes", "out-of-action", "undo")
UNDONE_WITHIN = timedelta(minutes=10)  # so long can the last press be undone here
SHOWN_AFTER_NEXT = 4


@dataclass(frozen=True)
class Countdown:
    """How long until a job begins, in big letters."""

    number: str
    unit: str = ""
    due: bool = False


@router.get("/e/{name}/jobs")
@for_role("helper")
def jobs(context: PageContextDep, services: ServicesDep) -> Response:
    """Show every helper, to choose oneself."""
    event, plan = context.event, context.plan
    if plan is None:
        return context.counting()
    items = run_sheet_items(event, plan)
    seen_at = {
        e.stored.entry.helper_id: formatting.clock(event, e.stored.happened_at)
        for e in services.diary.entries(context.name)
        if e.stored.entry.kind == "seen" and e.stored.entry.plan == context.in_force.revision
    }
    return context.page(
        "jobs.html",
        page_path="/jobs",
        counts={h.id: sum(h.id in item.helper_ids for item in items) for h in event.helpers},
        seen_at={h.id: seen_at.get(h.id, "") for h in event.helpers},
    )


@router.get("/e/{name}/jobs/{helper_id}")
@for_role("helper")
def my_jobs(context: PageContextDep, helper_id: Name, services: ServicesDep) -> Response:
    """Show one helper the next thing to do: when, what, how far, and what to beware of."""
    event, plan, at = context.event, context.plan, context.at
    helper = event.helper(helper_id)
    if plan is None:
        return context.counting()
    entries = [e for e in services.diary.entries(context.name) if not e.undone]
    items = items_of_helper(event, plan, helper_id)
    done = {e.stored.entry.job_id or "" for e in entries if e.stored.entry.kind not in NOT_DONE}
    open_items = _open_items(items, done, at)
    item = open_items[0] if open_items else None
    countdown = _countdown(item, at)
    over_min = int((at - item.ends_at).total_seconds() // 60) if item else 0
    return context.page(
        "myjobs.html",
        news_for=helper_id,
        helper=helper,
        job=item,
        left=countdown.number,
        unit=countdown.unit,
        due=countdown.due,
        day="" if context.now or item is None else formatting.long_date(event.date),
        pictures=[_turn(event, turn, done) for turn in (item.turns if item else ())],
        after=open_items[1 : 1 + SHOWN_AFTER_NEXT],
        late_min=max(over_min, 0) if context.now else 0,
        today=context.now is not None,
        press=_press(event, item) if item else None,
        placement_id=_batch_of(plan, item),
        press_id=new_press_id(),
        last=_last_press(event, entries, helper_id, at),
        stay=next((i for i in items if i.kind == "attend" and i.at <= at < i.ends_at), None),
        news=_news(context, plan, helper_id, entries),
        plan_since=plan.replanned_at,
    )


def _open_items(items: Sequence[RunSheetItem], done: Set[str], at: datetime) -> list[RunSheetItem]:
    """Return what is still to be done: neither pressed nor missed for long."""
    return [
        item
        for item in items
        if not _is_done(item, done) and item.ends_at + MISSED_AFTER > at and item.kind != "attend"
    ]


def _is_done(item: RunSheetItem, done: Set[str]) -> bool:
    """Return whether a job was pressed, or each cooker of a walk by itself."""
    return item.id in done or (item.kind == "walk" and all(t.id in done for t in item.turns))


def _press(event: Event, item: RunSheetItem) -> tuple[str, EntryKind] | None:
    """Return what the big press is called, and which entry it makes."""
    if item.kind == "walk" and len(item.turns) == 1:
        return turn_orders.turn_order(event, item.turns[0]).press, "aimed"
    if item.kind == "walk":
        return turn_orders.ALL_PRESS, "aimed"
    return messages.PRESS.get(item.kind)


def _turn(event: Event, turn: Turn, done: Set[str]) -> dict[str, object]:
    return {
        "it": turn,
        "order": turn_orders.turn_order(event, turn),
        "picture": turn_picture(event, turn),
        "done": turn.id in done,
    }


def _news(
    context: PageContext, plan: Plan, helper_id: str, entries: Sequence[DiaryEntry]
) -> list[str]:
    """Return what the plan in force changed for a helper, until they say that they read it."""
    if plan.replanned_at is None:
        return []
    read = any(
        e.stored.entry.kind == "read-changes"
        and e.stored.entry.helper_id == helper_id
        and e.stored.entry.plan == context.in_force.revision
        for e in entries
    )
    if read:
        return []
    return [work_change(context.event, c) for c in plan.work_changes if c.helper_id == helper_id]


def _batch_of(plan: Plan, item: RunSheetItem | None) -> str:
    """Return the batch an item is about, if it is one."""
    job = next((j for j in plan.jobs if item is not None and j.id == item.id), None)
    return job.placement_ids[0] if job and job.placement_ids else ""


def _last_press(
    event: Event, entries: Sequence[DiaryEntry], helper_id: str, at: datetime
) -> dict[str, str] | None:
    """Return the helper's last press of these ten minutes, to be undone."""
    lately = takewhile(lambda e: at - e.stored.received_at < UNDONE_WITHIN, reversed(entries))
    presses = (
        e.stored
        for e in lately
        if e.stored.entry.helper_id == helper_id and e.stored.entry.kind not in ("seen", "undo")
    )
    last = next(presses, None)
    if last is None:
        return None
    entry, clock = last.entry, formatting.clock(event, last.happened_at)
    return {"id": entry.id, "what": messages.PRESSED[entry.kind], "at": clock}


def _countdown(item: RunSheetItem | None, at: datetime) -> Countdown:
    """Return how long until an item begins."""
    if item is None:
        return Countdown("")
    minutes = -int((at - item.at).total_seconds() // 60)
    if minutes <= 0:
        return Countdown("Now", due=True)
    if minutes < 100:
        return Countdown(str(minutes), "min")
    hours = minutes / 60
    return (
        Countdown(f"{hours:.0f}", "hours") if hours < 48 else Countdown(f"{hours / 24:.0f}", "days")
    )
