"""What to show and say: a card for each cooker, with its own watts at the talk's time."""

from __future__ import annotations

from typing import Annotated

from fastapi import Query, Response

from service.access import for_role
from service.application.occasions import Occasion, occasions, solar_noon
from service.charts.watts import watts_picture
from service.dependencies import Instant, Name, ServicesDep
from service.forms.build_form import USUAL_CM
from service.text.show_card import heat_sentence, show_card
from service.text.teaching import PRICES
from service.web.context import PageContext, PageContextDep
from service.web.rendering import page_router
from solver.plan import Plan

router = page_router()


@router.get("/e/{name}/show")
@for_role("helper")
def shown(context: PageContextDep) -> Response:
    """Show every cooker's card as a line: when it is shown, and in which talk."""
    event, plan = context.event, context.plan
    if plan is None:
        return context.counting()
    rows = [(c, occasions(event, plan, c)) for c in event.cookers]
    return context.page("shown.html", page_path="/show", rows=rows)


@router.get("/e/{name}/show/{cooker_id}")
@for_role("helper")
def card(
    context: PageContextDep,
    cooker_id: Name,
    services: ServicesDep,
    at: Annotated[Instant | None, Query()] = None,
) -> Response:
    """Show one cooker's card, for a talk or for any instant of the day."""
    event, plan = context.event, context.plan
    cooker = event.cooker(cooker_id)
    if plan is None:
        return context.counting()
    every = occasions(event, plan, cooker)
    chosen = next((o for o in every if o.at == at), None) if at else _next(context, every)
    moment = at or (chosen.at if chosen else solar_noon(plan))
    flow = services.analyses.heat_flow(context.name, cooker_id, moment)
    talk = chosen.talk.name if chosen and chosen.talk else ""
    shown_card = show_card(event, plan, cooker, flow, talk=talk)
    return context.page(
        "show.html",
        page_path="/show",
        cooker=cooker,
        card=shown_card,
        picture=watts_picture(shown_card.budget, heat_sentence(event, cooker, flow)),
        prices=PRICES,
        buildable=tuple(USUAL_CM),
        others=[o for o in _with_noon(every, plan) if o.at != moment],
    )


def _next(context: PageContext, every: list[Occasion]) -> Occasion:
    """Return the occasion that comes next; after the last of them, the last."""
    coming = [o for o in every if context.now is None or o.at >= context.now]
    return coming[0] if coming else every[-1]


def _with_noon(every: list[Occasion], plan: Plan) -> list[Occasion]:
    return [*every, *([] if any(o.talk is None for o in every) else [Occasion(solar_noon(plan))])]
