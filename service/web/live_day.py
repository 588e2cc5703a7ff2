"""The day as it runs: where every pot stands, trouble in one press, the plan made anew."""

from __future__ import annotations

import secrets
from typing import Annotated, Literal

from fastapi import Depends, Form, Request, Response
from fastapi.responses import RedirectResponse

from events.diary import Entry, EntryKind
from events.errors import NotFound
from service import access
from service.application.live_day import LiveDay, LiveDayService
from service.charts.day_timeline import day_wide
from service.charts.day_timeline_phone import day_phone
from service.dependencies import AtDesk, Name, desk_of
from service.text import formatting
from service.text import messages as words
from service.text import pots as pot_text
from service.text.replan_changes import pot_change, work_change
from service.web.context import PageContext
from solver.live.pots import PotStatus
from solver.plan import Plan

router = access.gated_pages()


def runs_of(request: Request) -> LiveDayService:
    """Return the desk's day side."""
    return LiveDayService(desk_of(request))


AtRuns = Annotated[LiveDayService, Depends(runs_of)]


@router.get("/e/{name}/today")
def the_run(name: Name, desk: AtDesk, runs: AtRuns) -> Response:
    """Show where every pot stands, what may be late, and what can be done about it."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    running = runs.running(name)
    return seen.page(
        "today.html",
        here="/today",
        running=running,
        pots=[_told(seen, running, p) for p in running.pots],
        strengths=strength_rows(seen, running),
        order=pot_text.order(running.day_status),
        since=seen.found.plan.replanned_at,
        press_id=secrets.token_urlsafe(9),
    )


def _told(seen: PageContext, running: LiveDay, pot: PotStatus) -> dict[str, object]:
    event, plan = seen.event, running.in_force
    p = next(q for q in plan.placements if q.id == pot.placement_id)
    dish = event.dish(pot.dish_id)
    lost = pot.spare_min is not None and pot.spare_min < p.margin_min - 5
    return {
        "it": pot,
        "dish": dish.name + formatting.part(p),
        "cooker": event.cooker(pot.cooker_id).name,
        "kind": event.cooker(pot.cooker_id).kind,
        "planned_min": p.margin_min,
        "lost": lost,
        "state": pot_text.state(event, pot),
        "bad": pot.spare_min is not None and pot.spare_min < 0,
        "unsure": pot.stage == "cooking" and (pot.sure_min is None or pot.sure_min < 0),
        "clock_bad": pot.clock_limit_min is not None and pot.clock_min > pot.clock_limit_min / 2,
    }


def strength_rows(seen: PageContext, running: LiveDay) -> list[dict[str, object]]:
    """Return every sun cooker with what readings say of its strength."""
    stands = running.day_status
    return [
        {
            "name": seen.event.cooker(s.cooker_id).name,
            "pct": round(100 * s.strength),
            "low": round(100 * s.low),
            "high": round(100 * s.high),
            "readings": s.readings,
            "out": s.cooker_id in stands.unavailable,
            "parked": s.cooker_id in stands.parked,
        }
        for s in stands.strengths
    ]


@router.post("/e/{name}/today")
def tell(
    name: Name,
    desk: AtDesk,
    runs: AtRuns,
    kind: Annotated[Literal["cloud", "sun", "parked", "out-of-action", "gone"], Form()],
    id: Annotated[str, Form()] = "",
    cooker_id: Annotated[str, Form(max_length=40)] = "",
    helper_id: Annotated[str, Form(max_length=40)] = "",
) -> Response:
    """Write trouble down; where it changes the plan, show at once what it would change."""
    if kind == "out-of-action" and not cooker_id:
        raise NotFound("Say which cooker is out of action.")
    if kind == "gone" and not helper_id:
        raise NotFound("Say which helper has gone.")
    entry_kind: EntryKind = kind
    entry = Entry(
        id=id or secrets.token_urlsafe(9),
        kind=entry_kind,
        at=desk.now(),
        plan=desk.plan_of(name).mark,
        cooker_id=cooker_id or None,
        helper_id=helper_id or None,
    )
    desk.write_down(name, entry)
    if kind in ("cloud", "sun"):
        return RedirectResponse(f"/e/{name}/today", status_code=303)
    return RedirectResponse(f"/e/{name}/replan/{runs.offer(name).number}", status_code=303)


@router.post("/e/{name}/replan")
def plan_again(name: Name, runs: AtRuns) -> Response:
    """Make the plan anew from where the day stands, and show what it would change."""
    return RedirectResponse(f"/e/{name}/replan/{runs.offer(name).number}", status_code=303)


@router.get("/e/{name}/replan/{number}")
def offered(name: Name, number: int, desk: AtDesk, runs: AtRuns) -> Response:
    """Show an offer: what changes for whom, chances before and after, to take or to leave."""
    seen = PageContext(desk, name)
    one, made = runs.offered(name, number)
    event, plan = seen.event, made
    people = [
        (h.name, [work_change(event, c) for c in plan.work_changes if c.helper_id == h.id])
        for h in event.helpers
    ]
    return seen.page(
        "replan.html",
        here="/today",
        one=one,
        plan=plan,
        foods=[pot_change(event, c) for c in plan.pot_changes],
        people=people,
        chances=_chances(seen, plan),
        lost=[d.name for d in event.dishes if d.id in {u.dish_id for u in plan.unplaced}],
        stale=one.taken_at is None and one.after != seen.found.revision,
        wide=day_wide(event, plan, seen.now),
        phone=day_phone(event, plan, seen.now),
    )


def _chances(seen: PageContext, new: Plan) -> list[tuple[str, str, int]]:
    """Return (meal, chance if the old plan is kept, chance with this) of each meal to come."""
    before = {m.meal_id: m.of_100 for m in new.if_kept}
    after = new.risk.meals if new.risk else ()
    return [
        (seen.event.meal(m.meal_id).name, str(before.get(m.meal_id, "-")), m.of_100) for m in after
    ]


@router.post("/e/{name}/replan/{number}")
def take(name: Name, number: int, runs: AtRuns) -> Response:
    """Put an offer in force, if no other was taken in between."""
    runs.take(name, number)
    return RedirectResponse(f"/e/{name}", status_code=303)


@router.get("/e/{name}/now")
def serve_now(name: Name, desk: AtDesk, runs: AtRuns) -> Response:
    """Show what could be served at this moment."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    running = runs.running(name)
    rows = [_told(seen, running, p) for p in running.pots]
    orders = {
        p.placement_id: words.probe_order(seen.event, seen.event.dish(p.dish_id))
        for p in running.pots
    }
    return seen.page(
        "now.html",
        here="/today",
        ready=[r for r in rows if _pot(r).ready_now],
        soon=[r for r in rows if not _pot(r).ready_now and _pot(r).ready_at is not None],
        probes=orders,
    )


def _pot(row: dict[str, object]) -> PotStatus:
    pot = row["it"]
    assert isinstance(pot, PotStatus)
    return pot
