"""Trying things with a plan: one batch and what else would work, what if, before and after."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Annotated, Literal

from fastapi import Depends, Query, Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool

from events.errors import NotFound
from events.model import Event
from service.application.event_changes import Circumstances, under, with_wish
from service.charts.day_timeline import day_wide
from service.charts.temperature_curve import curve_picture
from service.dependencies import Name, ServicesDep, in_time
from service.text import formatting, notices
from service.web.context import PageContext, PageContextDep
from service.web.dish_matrix import matrix_rows
from service.web.form_data import FormFields
from service.web.plan_differences import difference_rows
from service.web.plan_rows import batch_row
from service.web.rendering import page_router, see_other
from solver.plan import Placement, Plan

router = page_router()
OPTIONS = {
    "cloud": (-20, 0, 20, 40, 60),
    "later": (-30, -15, 0, 15, 30, 60),
    "portions": (50, 75, 100, 125, 150),
    "mirror": ("", "0.9", "1.2", "1.4", "1.8"),
}


class WhatIfForm(BaseModel):
    """Another sky, hour, crowd, crew or mirror; as it stands, the day is what it is."""

    model_config = ConfigDict(frozen=True)

    cloud: Annotated[int, Field(ge=-100, le=100)] = 0
    later: Annotated[int, Field(ge=-180, le=180)] = 0
    portions: Annotated[int, Field(ge=10, le=400)] = 100
    helpers: Annotated[int, Field(ge=-1, le=1)] = 0
    mirror: Literal["", "0.9", "1.2", "1.4", "1.8"] = ""

    def circumstances(self) -> Circumstances:
        """Return what would be other than it is."""
        return Circumstances(
            cloud=self.cloud,
            later_min=self.later,
            portions_pct=self.portions,
            helpers=self.helpers,
            mirror_m=float(self.mirror) if self.mirror else None,
        )


@router.get("/e/{name}/batch/{batch}")
def batch(context: PageContextDep, batch: Name) -> Response:
    """Show one batch: its curve, its margin, why it is where it is, what else would work."""
    event, plan = context.event, context.plan
    if plan is None:
        return context.counting()
    placement = _placement(context, plan, batch)
    dish = event.dish(placement.dish_id)
    loaded = {(dish.id, placement.cooker_id): formatting.clock(event, placement.loaded_at)}
    return context.page(
        "batch.html",
        page_path="",
        row=batch_row(event, plan, placement),
        p=placement,
        dish=dish,
        rescue=next((r for r in plan.rescues if r.placement_id == placement.id), None),
        wide=curve_picture(event, placement, context.now, wide=True),
        narrow=curve_picture(event, placement, context.now, wide=False),
        why=[
            notices.tradeoff(event, t)
            for t in plan.tradeoffs
            if dish.id in t.dish_ids and notices.can_be_told(plan, t)
        ],
        matrix=matrix_rows(event, loaded, [dish]),
        meal=event.meal(dish.meal),
    )


@router.post("/e/{name}/batch/{batch}")
def wish(context: PageContextDep, batch: Name, services: ServicesDep, form: FormFields) -> Response:
    """Hold a batch in place, keep it out of its cooker, free it, or move its meal; plan anew."""
    placement = _placement(context, context.plan, batch)
    wished = with_wish(context.stored.event, placement, form.get("wish", ""))
    services.events.change(context.name, wished, etag=form.get("etag"))
    return see_other(f"/e/{context.name}")


@dataclass(frozen=True)
class OtherDay:
    """A day as it would be; its plan is None while it is being made, or where nothing differs."""

    event: Event
    plan: Plan | None


async def other_day(
    context: PageContextDep, services: ServicesDep, form: Annotated[WhatIfForm, Query()]
) -> OtherDay:
    """Return the day under other circumstances."""
    tried = await run_in_threadpool(under, context.event, form.circumstances())
    if context.plan is None or tried == context.event:
        return OtherDay(tried, None)
    ask = partial(services.analyses.what_if, context.name, tried)
    return OtherDay(tried, await in_time(ask, wait_s=services.page_wait_s))


@router.get("/e/{name}/what-if")
def what_if(
    context: PageContextDep,
    form: Annotated[WhatIfForm, Query()],
    day: Annotated[OtherDay, Depends(other_day)],
) -> Response:
    """Show what the day would be under another sky, hour, crowd, crew or mirror."""
    event, plan = context.event, context.plan
    tried, other = day.event, day.plan
    if plan is None:
        return context.counting()
    if other is None and tried != event:
        return context.counting("This other day is being planned.")
    return context.page(
        "whatif.html",
        page_path="/what-if",
        asked=form.model_dump(),
        has_mirror=any(c.nature.concentrates for c in event.cookers),
        options=OPTIONS,
        rows=difference_rows(event, plan, other) if other else [],
        other=other,
        wide=day_wide(tried, other, None) if other else None,
        forecast=event.weather.is_forecast,
    )


def _placement(context: PageContext, plan: Plan | None, batch: str) -> Placement:
    for placement in plan.placements if plan else ():
        if placement.id == batch:
            return placement
    raise NotFound(f"No pot “{batch}” in the plan of {context.name}.")
