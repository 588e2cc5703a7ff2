"""The day's own page: sun above, cookers below, what could not be placed and why."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form, Response

from events.errors import NotFound
from events.model import Event, Meal
from service.access import for_role
from service.application.event_analyses import usual
from service.application.services import Services
from service.charts.day_legend import chance_dots, day_legend
from service.charts.day_timeline import day_wide
from service.charts.day_timeline_phone import day_phone
from service.charts.sun_windows import window_picture
from service.dependencies import Name, ServicesDep
from service.forms import event_form
from service.forms.menu import short_of_mains
from service.text import contest as contest_words
from service.text import formatting
from service.text import rota as rota_words
from service.text import talks as talk_words
from service.text.notices import can_be_told
from service.text.run_sheet import RunSheetItem, run_sheet_items, who_does
from service.text.sittings import meal_times
from service.text.verdict import short_verdict, verdict
from service.web.context import PageContext, PageContextDep
from service.web.fixes import fixes_shown
from service.web.plan_rows import batch_row, unplaced_rows
from service.web.rendering import page_router, see_other
from service.web.warning_rows import warning_rows
from solver.plan import Plan, Window

router = page_router()
# What a press says, and the words that a forecast in words has for it.
SKY_PRESSES = (("Clear", "clear"), ("Some cloud", "some cloud"), ("Mostly cloud", "mostly cloudy"))


@router.get("/e/{name}")
@for_role("helper")
def the_day(context: PageContextDep, services: ServicesDep) -> Response:
    """Show the day: whether it is good, what weighs most, then the picture of it."""
    plan, event = context.plan, context.event
    if plan is None:
        return context.counting()
    items = run_sheet_items(event, plan)
    batch_page = f"/e/{context.name}/batch/" if context.role == "organiser" else ""
    coming = [item for item in items if context.now and item.at >= context.now]
    on_the_day = context.now is not None
    usual_of_100 = usual(event) if plan.risk is None and not on_the_day else None
    said = verdict(event, plan, on_the_day=on_the_day, usual_of_100=usual_of_100)
    warned = warning_rows(event, plan, f"/e/{context.name}", context.role)
    more = [w for w in warned if w.topic]
    return context.page(
        "day.html",
        page_path="",
        plan=plan,
        meals=", ".join(_meal(event, meal) for meal in event.meals),
        verdict=said,
        dots=chance_dots(said.of_100) if said.of_100 is not None else "",
        contest=contest_words.day_line(event, plan.contest) if plan.contest else "",
        skies=SKY_PRESSES if _asks_sky(context, plan) else (),
        short=short_of_mains(event, plan),
        before=(before := _before(context, services)),
        is_undone=bool(before) and services.events.is_taken_back(context.name),
        fixes=fixes_shown(context, services.fixes.known(event, plan)),
        legend=day_legend(),
        wide=day_wide(event, plan, context.now, link=batch_page, clouds=context.clouds),
        phone=day_phone(event, plan, context.now, clouds=context.clouds),
        next=_next(event, coming[0]) if coming else None,
        weakest=_weakest(event, plan),
        unplaced=unplaced_rows(event, plan),
        given=[
            (g.at, event.talk(g.talk_id).name, talk_words.shown(event, g), g.cooker_id)
            for g in (plan.talks.given if plan.talks else ())
        ],
        not_given=[
            talk_words.not_given(event, n) for n in (plan.talks.not_given if plan.talks else ())
        ],
        placements=[batch_row(event, plan, p) for p in plan.placements],
        unseen=rota_words.unseen(event, plan),
        window_picture=window_picture(event, plan),
        work=[(h.name, [i for i in items if h.id in i.helper_ids]) for h in event.helpers],
        tradeoffs=[t for t in plan.tradeoffs if can_be_told(plan, t)],
        windows=[_window_row(event, w) for w in plan.windows],
        urgent=[w for w in warned if not w.topic],
        more_warnings=more,
        topics=", ".join(dict.fromkeys(w.topic for w in more)),
    )


@router.post("/e/{name}/sky")
def set_sky(
    name: Name,
    services: ServicesDep,
    words: Annotated[str, Form(max_length=200)],
    etag: Annotated[str, Form(max_length=40)],
) -> Response:
    """Take the sky in words, as it looks on the day itself."""
    event = services.events.get(name).event
    today = formatting.local_date(services.now(), event.zone)
    seen = event_form.event_of(event_form.with_sky(event, words, today))
    services.events.change(name, seen, etag=etag)
    return see_other(f"/e/{name}")


def _asks_sky(context: PageContext, plan: Plan) -> bool:
    """Return whether it is the day, and nobody said what the sky looks like."""
    is_asked = context.role == "organiser" and context.now is not None and context.standing is None
    return is_asked and plan.risk is None and not context.stored.event.weather.is_forecast


def _meal(event: Event, meal: Meal) -> str:
    return f"{meal.name} {meal_times(event, meal)} for {meal.portions}"


def _before(context: PageContext, services: Services) -> str:
    """Return how good the plan before the last change was; nothing where there was none."""
    if context.stored.version < 2 or context.in_force.replan_number or context.standing:
        return ""
    try:
        old = services.plans.previous(context.name)
    except NotFound:
        return ""
    return short_verdict(old.event, old.plan)


def _next(event: Event, item: RunSheetItem) -> dict[str, object]:
    return {"at": item.at, "who": who_does(event, item), "title": item.title, "food": item.food}


def _weakest(event: Event, plan: Plan) -> dict[str, object] | None:
    """Return the cooker of the pot that has least to spare."""
    least = min(plan.placements, key=lambda p: p.margin_min, default=None)
    if least is None:
        return None
    return {"cooker": event.cooker(least.cooker_id).name, "minutes": least.margin_min}


def _window_row(event: Event, window: Window) -> dict[str, object]:
    name = "The site" if window.cooker_id is None else event.cooker(window.cooker_id).name
    return {"name": name, "text": formatting.stretches(event, window.stretches)}
