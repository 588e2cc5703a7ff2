"""The day as it runs: where every pot stands, trouble in one press, the plan made anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Annotated, Literal

from fastapi import Depends, Form, Response
from pydantic import BaseModel, ConfigDict, Field

from events.diary import REST_OF_DAY_MIN, Entry
from events.errors import Busy, NotFound
from service.access import for_role
from service.application.services import Services
from service.charts.day_timeline import day_wide
from service.charts.day_timeline_phone import day_phone
from service.dependencies import Name, ServicesDep, in_time
from service.text import contest as contest_words
from service.text import messages, suggestions
from service.text import pots as pot_text
from service.text.clouds import CLOUD_LENGTHS
from service.text.replan_changes import pot_change, work_change
from service.web.alerts import alerts
from service.web.context import PageContext, PageContextDep
from service.web.press import new_press_id
from service.web.rendering import page_router, see_other
from service.web.status_rows import in_hand_rows, pot_row, strength_rows
from solver.plan import Plan

router = page_router()


class TroubleForm(BaseModel):
    """Trouble in one press: what, and at which cooker or with whom."""

    model_config = ConfigDict(frozen=True)

    kind: Literal["cloud", "sun", "parked", "out-of-action", "gone"]
    id: str = ""
    cooker_id: Annotated[str, Field(max_length=40)] = ""
    helper_id: Annotated[str, Field(max_length=40)] = ""
    minutes: Annotated[int, Field(ge=0, le=REST_OF_DAY_MIN)] | None = None


@dataclass(frozen=True)
class MealChance:
    """In how many of 100 skies a meal is whole and on time, if the plan stays and with an offer."""

    meal: str
    kept_of_100: int | None
    offered_of_100: int


@router.get("/e/{name}/today")
def today(context: PageContextDep, services: ServicesDep) -> Response:
    """Show where every pot stands, what may be late, and what can be done about it."""
    plan = context.plan
    if plan is None:
        return context.counting()
    live_day = services.live_day.status(context.name)
    context = _looked_at(context, services)
    look = context.seen.look if context.seen else None
    entries = [e for e in services.diary.entries(context.name) if not e.undone]
    return context.page(
        "today.html",
        page_path="/today",
        in_hand=in_hand_rows(context, services),
        live_day=live_day,
        pots=[pot_row(context.event, live_day.plan, pot) for pot in live_day.pots],
        strengths=strength_rows(context.event, live_day.day_status),
        order=pot_text.order(live_day.day_status),
        seen=context.seen,
        why=suggestions.cause(context.event, plan, look) if look else "",
        chances=suggestions.chances(context.event, plan, look, only_fallen=False) if look else "",
        since=plan.replanned_at,
        press_id=new_press_id(),
        cloud_id=new_press_id(),
        cloud_lengths=CLOUD_LENGTHS,
        alerts=alerts(context.event, entries, context.at),
    )


def _looked_at(context: PageContext, services: Services) -> PageContext:
    """Have the day looked at where that is due, and return what is known by now."""
    services.day_watch.look(context.name)
    return replace(context, seen=services.day_watch.seen(context.name, context.in_force.revision))


def written_trouble(
    name: Name, services: ServicesDep, form: Annotated[TroubleForm, Form()]
) -> TroubleForm:
    """Write trouble down, and return it."""
    if form.kind == "out-of-action" and not form.cooker_id:
        raise NotFound("Say which cooker is out of action.")
    if form.kind == "gone" and not form.helper_id:
        raise NotFound("Say which helper has gone.")
    entry = Entry(
        id=form.id or new_press_id(),
        kind=form.kind,
        at=services.now(),
        plan=services.plans.in_force(name).revision,
        cooker_id=form.cooker_id or None,
        helper_id=form.helper_id or None,
        minutes=form.minutes,
    )
    services.diary.write_down(name, entry)
    return form


@router.post("/e/{name}/today")
async def report_trouble(
    name: Name, services: ServicesDep, trouble: Annotated[TroubleForm, Depends(written_trouble)]
) -> Response:
    """Where trouble changes the plan, show at once what it would change."""
    if trouble.kind in ("cloud", "sun"):
        return see_other(f"/e/{name}/today")
    return await plan_again(name, services)


@router.post("/e/{name}/replan")
async def plan_again(name: Name, services: ServicesDep) -> Response:
    """Make the plan anew from where the day stands, and show what it would change."""
    ask = partial(services.live_day.offer, name)
    offer = await in_time(ask, wait_s=services.api_wait_s)
    if offer is None:
        raise Busy("The plan is still being made anew. Press again in a moment.")
    return see_other(f"/e/{name}/replan/{offer.number}")


@router.get("/e/{name}/replan/{number}")
def show_offer(context: PageContextDep, number: int, services: ServicesDep) -> Response:
    """Show an offer: what changes for whom, chances before and after, to take or to leave."""
    offer = services.live_day.offered(context.name, number)
    event, plan = context.event, offer.plan
    refused = {u.dish_id for u in plan.unplaced}
    return context.page(
        "replan.html",
        page_path="/today",
        offer=offer,
        plan=plan,
        foods=[pot_change(event, c) for c in plan.pot_changes],
        tastings=contest_words.moves(
            event, plan.contest, context.plan.contest if context.plan else None
        ),
        people=[
            (h.name, [work_change(event, c) for c in plan.work_changes if c.helper_id == h.id])
            for h in event.helpers
        ],
        chances=_chances(context, plan),
        wins=suggestions.wins(plan.gains),
        returning=suggestions.returning(context.plan or plan, context.clouds, plan),
        lost=[d.name for d in event.dishes if d.id in refused],
        stale=offer.taken_at is None and offer.after != context.in_force.replan_number,
        wide=day_wide(event, plan, context.now, clouds=context.clouds),
        phone=day_phone(event, plan, context.now, clouds=context.clouds),
    )


@router.post("/e/{name}/replan/{number}")
def take(name: Name, number: int, services: ServicesDep) -> Response:
    """Put an offer in force, if no other was taken in between."""
    services.live_day.take(name, number)
    return see_other(f"/e/{name}/today")


@router.post("/e/{name}/replan/{number}/leave")
def leave(name: Name, number: int, services: ServicesDep) -> Response:
    """Stay with the plan in force; the offer is no longer suggested."""
    services.day_watch.decline(name, number)
    return see_other(f"/e/{name}/today")


@router.get("/e/{name}/now")
@for_role("helper")
def serve_now(context: PageContextDep, services: ServicesDep) -> Response:
    """Show what could be served at this moment."""
    if context.plan is None:
        return context.counting()
    event, live_day = context.event, services.live_day.status(context.name)
    pots = [pot for pot in live_day.pots if pot.off_heat_at is None]  # those in hand stand above
    ready = [pot for pot in pots if pot.ready_now]
    soon = [pot for pot in pots if not pot.ready_now and pot.ready_at is not None]
    return context.page(
        "now.html",
        page_path="/today" if context.role == "organiser" else "/now",
        in_hand=in_hand_rows(context, services),
        ready=[pot_row(event, live_day.plan, pot) for pot in ready],
        soon=[pot_row(event, live_day.plan, pot) for pot in soon],
        probes={
            pot.placement_id: messages.probe_order(event, event.dish(pot.dish_id))
            for pot in live_day.pots
        },
    )


def _chances(context: PageContext, offered: Plan) -> list[MealChance]:
    """Return the chance of each meal to come, with the old plan and with the offered one."""
    before = {m.meal_id: m.of_100 for m in offered.if_kept}
    after = offered.risk.meals if offered.risk else ()
    return [
        MealChance(context.event.meal(m.meal_id).name, before.get(m.meal_id), m.of_100)
        for m in after
    ]
