"""A helper's pages: whose jobs, and the next thing to do in big letters."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from fastapi import Response

from events.errors import NotFound
from events.model import Event
from service import access
from service.application.desk import Written
from service.charts.turn import turn_picture
from service.dependencies import AtDesk, Name
from service.text import formatting, turn_orders
from service.text import messages as words
from service.text.cookers import caution
from service.text.replan_changes import work_change
from service.text.run_sheet import RunSheetItem, doings, for_helper
from service.web.context import PageContext
from solver.plan import Plan

router = access.gated_pages()
MISSED_AFTER = timedelta(minutes=15)  # a job not pressed by then makes room for the next
NOT_DONE = ("late", "note", "cloud", "sun", "seen", "out-of-action", "undo")  # leave a job open
SAW = "has read what changed in"


@router.get("/e/{name}/jobs")
def jobs(name: Name, desk: AtDesk) -> Response:
    """Show every helper, to choose oneself."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    plan = seen.found.plan
    counts = {
        h.id: sum(h.id in d.helper_ids for d in doings(seen.event, plan))
        for h in seen.event.helpers
    }
    saw = {
        w.kept.entry.helper_id: formatting.clock(seen.event, w.kept.happened_at)
        for w in desk.diary_of(name)
        if w.kept.entry.kind == "seen" and w.kept.entry.plan == seen.found.mark
    }
    mine = {h.id: saw.get(h.id, "") for h in seen.event.helpers}
    return seen.page("jobs.html", here="/jobs", counts=counts, here_seen=mine)


@router.get("/e/{name}/jobs/{helper_id}")
def my_jobs(name: Name, helper_id: Name, desk: AtDesk) -> Response:
    """Show one helper the next thing to do: when, what, how far, and what to beware of."""
    seen = PageContext(desk, name)
    event, plan = seen.event, seen.found.plan
    helper = next((h for h in event.helpers if h.id == helper_id), None)
    if helper is None:
        raise NotFound(f"No helper “{helper_id}” in {name}.")
    if plan is None:
        return seen.counting()
    written = [w for w in desk.diary_of(name) if not w.undone]
    did = {w.kept.entry.job_id for w in written if w.kept.entry.kind not in NOT_DONE}
    todo = [
        d
        for d in for_helper(event, plan, helper_id)
        if d.id not in did and d.ends_at + MISSED_AFTER > seen.at and d.kind != "attend"
    ]
    stay = next(
        (
            d
            for d in for_helper(event, plan, helper_id)
            if d.kind == "attend" and d.at <= seen.at < d.ends_at
        ),
        None,
    )
    job = todo[0] if todo else None
    left, unit, due = _countdown(job, seen.at)
    over = int((seen.at - job.ends_at).total_seconds() // 60) if job else 0
    shown = job.turns if job else ()
    return seen.page(
        "myjobs.html",
        helper=helper,
        job=job,
        left=left,
        unit=unit,
        due=due,
        day="" if seen.now or job is None else formatting.long_date(event.date),
        pictures=[
            {
                "name": event.cooker(t.cooker_id).name,
                "how": turn_orders.how_to_turn(event, t) if not t.first else ("aim it ahead", ""),
                "picture": turn_picture(event, t),
                "until": t.holds_until,
                "caution": caution(event.cooker(t.cooker_id), "turn"),
            }
            for t in shown
        ],
        after=todo[1:5],
        late_min=max(over, 0) if seen.now else 0,
        today=seen.now is not None,
        press=words.PRESS.get(job.kind) if job else None,
        placement_id=_pot_of(plan, job),
        press_id=secrets.token_urlsafe(9),
        last=_last(event, written, helper_id, seen.at),
        stay=stay,
        news=_news(seen, plan, helper_id, written),
        plan_since=plan.replanned_at,
        saw=SAW,
    )


def _news(seen: PageContext, plan: Plan, helper_id: str, written: list[Written]) -> list[str]:
    """Return what the plan in force changed for a helper, until they say that they saw it."""
    saw = any(
        w.kept.entry.kind == "note"
        and w.kept.entry.helper_id == helper_id
        and w.kept.entry.note == f"{SAW} {seen.found.mark}"
        for w in written
    )
    if plan.replanned_at is None or saw:
        return []
    return [work_change(seen.event, c) for c in plan.work_changes if c.helper_id == helper_id]


def _pot_of(plan: Plan, job: RunSheetItem | None) -> str:
    """Return the pot a job is about, if it is one."""
    found = next((j for j in plan.jobs if job is not None and j.id == job.id), None)
    return found.placement_ids[0] if found and found.placement_ids else ""


def _last(
    event: Event, written: list[Written], helper_id: str, at: datetime
) -> dict[str, str] | None:
    """Return the helper's last press of these ten minutes, to be undone."""
    mine = [
        w.kept
        for w in written
        if w.kept.entry.helper_id == helper_id
        and w.kept.entry.kind not in ("seen", "undo")
        and at - w.kept.received_at < timedelta(minutes=10)
    ]
    if not mine:
        return None
    entry = mine[-1].entry
    at_clock = formatting.clock(event, mine[-1].happened_at)
    return {"id": entry.id, "what": words.PRESSED[entry.kind], "at": at_clock}


def _countdown(job: RunSheetItem | None, at: datetime) -> tuple[str, str, bool]:
    """Return (number, unit, whether it is due) until a job begins."""
    if job is None:
        return "", "", False
    minutes = -int((at - job.at).total_seconds() // 60)
    if minutes <= 0:
        return "Now", "", True
    if minutes < 100:
        return str(minutes), "min", False
    hours = minutes / 60
    return (f"{hours:.0f}", "hours", False) if hours < 48 else (f"{hours / 24:.0f}", "days", False)
