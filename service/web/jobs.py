"""A helper's pages: whose jobs, and the next thing to do in big letters.

The page holds all of the helper's jobs, so that it stays true without a signal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from itertools import takewhile

from fastapi import Request, Response

from events.model import Cooker, Event
from service.access import for_role
from service.application.diary import DiaryEntry
from service.dependencies import Name, ServicesDep
from service.text import formatting, messages, trouble
from service.text.clouds import CLOUD_LENGTHS
from service.text.emergency import emergency_line, emergency_numbers
from service.text.replan_changes import work_change
from service.text.run_sheet import items_of_helper
from service.web.alerts import alerts
from service.web.context import PageContext, PageContextDep
from service.web.job_views import JobView, done_work, job_view
from service.web.press import new_press_id, press_id
from service.web.rendering import page_router
from service.web.status_rows import in_hand_rows
from solver.plan import EVERYBODY, Plan

router = page_router()
UNDONE_WITHIN = timedelta(minutes=10)  # so long can the last press be undone here
COOKERS_ASKED = 8  # where there are more, trouble asks for the helper's own


@dataclass(frozen=True)
class Countdown:
    """How long until a job begins, in big letters."""

    number: str
    unit: str = ""
    due: bool = False
    late_min: int = 0


@dataclass(frozen=True)
class Undoable:
    """A helper's last press, to be undone."""

    id: str
    what: str
    at: str


@router.get("/e/{name}/jobs")
@for_role("helper")
def jobs(context: PageContextDep, services: ServicesDep) -> Response:
    """Show every helper, to choose oneself."""
    event, plan = context.event, context.plan
    if plan is None:
        return context.counting()
    seen_at = {
        e.stored.entry.helper_id: formatting.clock(event, e.stored.happened_at)
        for e in services.diary.entries(context.name)
        if e.stored.entry.kind == "seen" and e.stored.entry.plan == context.in_force.revision
    }
    return context.page(
        "jobs.html",
        page_path="/jobs",
        in_hand=in_hand_rows(context, services),
        counts={
            h.id: sum(h.id in item.helper_ids for item in items_of_helper(event, plan, h.id))
            for h in event.helpers
        },
        seen_at={h.id: seen_at.get(h.id, "") for h in event.helpers},
    )


@router.get("/e/{name}/jobs/{helper_id}")
@for_role("helper")
def my_jobs(
    context: PageContextDep, helper_id: Name, services: ServicesDep, request: Request
) -> Response:
    """Show one helper the next thing to do: when, what, how far, and what to beware of.

    An organiser who looks is not the helper who opened it; where all may come in, nobody can tell.
    """
    seen = press_id(context.name, f"{context.in_force.revision} {helper_id}", "seen")
    is_helper = context.role != "organiser" or request.app.state.open
    event, plan, at = context.event, context.plan, context.at
    helper = event.helper(helper_id)
    if plan is None:
        return context.counting()
    all_entries = services.diary.entries(context.name)
    if all_entries:
        # Exactly what is shown here: a phone adds its own presses that are newer, and only those.
        context = replace(context, diary_number=all_entries[-1].stored.number)
    entries = [e for e in all_entries if not e.undone]
    done = done_work(event, all_entries)
    items = items_of_helper(event, plan, helper_id)
    work = [item for item in items if item.kind != "attend"]
    views = [job_view(event, context.name, plan, i, n, done) for n, i in enumerate(work)]
    still_open = [view for view in views if not view.done and not view.is_missed(at)]
    current = still_open[0] if still_open else None
    day_from = datetime.combine(event.date, time(), event.zone)
    return context.page(
        "myjobs.html",
        news_for=helper_id,
        page_path=f"/jobs/{helper_id}",
        in_hand=in_hand_rows(context, services),
        helper=helper,
        at=at,
        day_from=day_from,
        day_to=day_from + timedelta(days=1),
        seen_id=seen if is_helper else "",
        jobs=_in_order(views, current, at),
        current=current,
        beside={view.item.id: _beside(event, view, helper_id) for view in views},
        countdown={view.item.id: _countdown(view, at) for view in views},
        day="" if context.now else formatting.long_date(event.date),
        today=context.now is not None,
        last=_last_press(event, entries, helper_id, at),
        stays=[i for i in items if i.kind == "attend"],
        news=_news(context, plan, helper_id, entries),
        read_id=press_id(context.name, f"{context.in_force.revision} {helper_id}", "read-changes"),
        plan_since=plan.replanned_at,
        alerts=alerts(event, entries, at),
        trouble_id=new_press_id(),
        troubles=trouble.troubles_of(event),
        cloud_lengths=CLOUD_LENGTHS,
        numbers=[*trouble.phone_numbers(event.site.emergency), *emergency_numbers(event)],
        emergency_line=emergency_line(event),
        asked=_cookers_asked(event, views),
    )


def _in_order(
    views: Sequence[JobView], current: JobView | None, at: datetime
) -> dict[str, list[JobView]]:
    """Return the jobs as they follow each other on the page: now, later, missed, done."""
    ahead = [v for v in views if not v.done and not v.is_missed(at) and v is not current]
    return {
        "now": [current] if current else [],
        "later": ahead,
        "missed": [v for v in views if not v.done and v.is_missed(at)],
        "done": [v for v in views if v.done],
    }


def _beside(event: Event, view: JobView, helper_id: str) -> str:
    """Return with whom a helper does a job: who stands with the young, who lifts too."""
    others = [event.helper(h).name for h in view.item.helper_ids if h != helper_id]
    named = helper_id in view.item.helper_ids and view.item.kind not in EVERYBODY
    return formatting.listed(others) if named else ""


def _cookers_asked(event: Event, views: Sequence[JobView]) -> list[Cooker]:
    """Return the cookers that trouble can be at, the helper's own where there are many."""
    if len(event.cookers) <= COOKERS_ASKED:
        return list(event.cookers)
    own = {c.id for view in views for c in view.item.cookers}
    return [c for c in event.cookers if c.id in own]


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


def _last_press(
    event: Event, entries: Sequence[DiaryEntry], helper_id: str, at: datetime
) -> Undoable | None:
    """Return the helper's last press of these ten minutes, to be undone."""
    lately = takewhile(lambda e: at - e.stored.received_at < UNDONE_WITHIN, reversed(entries))
    presses = (
        e.stored
        for e in lately
        if e.stored.entry.helper_id == helper_id
        and e.stored.entry.kind not in ("seen", "undo", "read-changes")
    )
    last = next(presses, None)
    if last is None:
        return None
    clock = formatting.clock(event, last.happened_at)
    return Undoable(last.entry.id, messages.PRESSED[last.entry.kind], clock)


def _countdown(view: JobView, at: datetime) -> Countdown:
    """Return how long until a job begins; page scripts say the same (jobs.js)."""
    minutes = -int((at - view.item.at).total_seconds() // 60)
    if minutes <= 0:
        over_min = int((at - view.item.ends_at).total_seconds() // 60)
        return Countdown("Now", due=True, late_min=max(over_min, 0))
    if minutes < 100:
        return Countdown(str(minutes), "min")
    hours = minutes / 60
    return (
        Countdown(f"{hours:.0f}", "hours") if hours < 48 else Countdown(f"{hours / 24:.0f}", "days")
    )
