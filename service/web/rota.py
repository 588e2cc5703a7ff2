"""The rota's pages: everybody's round, one group's on its phone, one stop's on its guide's."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import Response

from events.model import Cooker, Event
from service.access import for_role
from service.dependencies import Name
from service.text import rota as words
from service.web.absent import GROUPS, absent
from service.web.context import PageContext, PageContextDep
from service.web.rendering import page_router

router = page_router()


@router.get("/e/{name}/rota")
@for_role("helper")
def rota(context: PageContextDep) -> Response:
    """Show who is where when, by group and by stop, for printing too."""
    event, plan = _with_groups(context), context.plan
    if plan is None:
        return context.counting()
    return context.page(
        "rota.html",
        page_path="/rota",
        refused=words.refused(plan.rota) if plan.rota else "",
        groups=[
            (g, words.who_goes(event, g), words.round_of(event, plan, g.id)) for g in event.groups
        ],
        stops=[(s, words.visits_of(event, plan, s.id)) for s in event.stops],
        unseen=words.unseen(event, plan),
        levels=words.level_lines(event, plan.rota) if plan.rota else [],
        outside=words.OUTSIDE,
    )


@router.get("/e/{name}/rota/group/{group_id}")
@for_role("board")
def group_round(context: PageContextDep, group_id: Name) -> Response:
    """Show one group its round: where now, where next. No names of children or adults."""
    group, plan = _with_groups(context).group(group_id), context.plan
    if plan is None:
        return context.counting()
    return _round_page(context, group.name, "", words.round_of(context.event, plan, group_id))


@router.get("/e/{name}/rota/stop/{stop_id}")
@for_role("helper")
def stop_visits(context: PageContextDep, stop_id: Name) -> Response:
    """Show one stop its visits: who comes next, and what to show them."""
    stop, plan = _with_groups(context).stop(stop_id), context.plan
    if plan is None:
        return context.counting()
    visits = words.visits_of(context.event, plan, stop_id)
    cards = [context.event.cooker(c) for c in stop.cookers]
    return _round_page(context, stop.name, stop.do, visits, cards)


def _with_groups(context: PageContext) -> Event:
    if not context.event.groups:
        raise absent(context, GROUPS, coming=bool(context.stored.event.groups))
    return context.event


def _round_page(
    context: PageContext,
    title: str,
    do: str,
    lines: list[words.RotaLine],
    cards: Sequence[Cooker] = (),
) -> Response:
    """Return a phone's page: what is on, what comes, what was; a guide's leads to the cards."""
    at = context.now
    coming = [line for line in lines if at is None or line.ends_at > at]
    return context.page(
        "round.html",
        page_path="/rota",
        title=title,
        do=do,
        first=coming[0] if coming else None,
        begun=bool(coming and at and coming[0].at <= at),
        later=coming[1:],
        past=[line for line in lines if line not in coming],
        outside=words.OUTSIDE,
        cards=cards,
    )
