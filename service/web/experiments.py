"""Playing with a plan: one batch and what else would work, what if, the plan before beside this."""

from __future__ import annotations

import json
import math
from datetime import datetime, timedelta
from typing import Annotated

from fastapi import Query, Response
from fastapi.responses import RedirectResponse

from events.errors import Busy, NotFound, PlanBroken
from events.model import HELPERS_MOST, Event
from events.quantities import RANGES
from events.reading.write import write_event
from events.table import changed
from service import access
from service.application.solver_jobs import anew_text
from service.charts.day_timeline import day_wide
from service.charts.temperature_curve import curve_picture
from service.dependencies import AtDesk, Name
from service.text import formatting, notices
from service.web.context import PageContext
from service.web.dish_matrix import matrix
from service.web.form_data import Typed
from service.web.plan_rows import batch_told
from solver.feasibility.dish_matrix import dish_matrix
from solver.plan import Placement, Plan

router = access.gated_pages()
LATER_MIN = (-30, -15, 0, 15, 30, 60)
CLOUD = (-20, 0, 20, 40, 60)
PORTIONS = (50, 75, 100, 125, 150)
MIRRORS = ("", "0.9", "1.2", "1.4", "1.8")


def _batch(seen: PageContext, batch_id: str) -> tuple[Plan, Placement]:
    plan = seen.found.plan
    for p in plan.placements if plan else ():
        if p.id == batch_id and plan is not None:
            return plan, p
    raise NotFound(f"No pot “{batch_id}” in the plan of {seen.kept.id}.")


@router.get("/e/{name}/batch/{batch}")
def batch(name: Name, batch: Name, desk: AtDesk) -> Response:
    """Show one batch: its curve, its margin, why it is where it is, what else would work."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    event = seen.event
    plan, p = _batch(seen, batch)
    dish = event.dish(p.dish_id)
    rescue = next((r for r in plan.rescues if r.placement_id == p.id), None)
    told = batch_told(event, plan, p)
    return seen.page(
        "batch.html",
        here="",
        told=told,
        p=p,
        dish=dish,
        rescue=rescue,
        wide=curve_picture(event, p, seen.now, wide=True, read=[]),
        narrow=curve_picture(event, p, seen.now, wide=False, read=[]),
        why=[notices.tradeoff(event, t) for t in plan.tradeoffs if dish.id in t.dish_ids],
        matrix=matrix(
            event,
            dish_matrix(event, [dish]),
            {(dish.id, p.cooker_id): formatting.clock(event, p.loaded_at)},
        ),
        meal=event.meal(dish.meal),
    )


@router.post("/e/{name}/batch/{batch}")
def wish(name: Name, batch: Name, desk: AtDesk, form: Typed) -> Response:
    """Hold a batch in place, keep it out of its cooker, free it, or move its meal; plan anew."""
    seen = PageContext(desk, name)
    _, p = _batch(seen, batch)
    event = seen.event
    dish = event.dish(p.dish_id)
    at = p.loaded_at.astimezone(event.zone).time()
    what = form.get("wish", "")
    updates: dict[str, dict[str, object]] = {
        "hold": {"only_in": (p.cooker_id,), "load_at": at, "not_in": ()},
        "stay": {"only_in": (p.cooker_id,), "load_at": None, "not_in": ()},
        "out": {"not_in": tuple(dict.fromkeys((*dish.not_in, p.cooker_id))), "only_in": ()},
        "free": {"only_in": (), "not_in": (), "load_at": None},
    }
    if what in updates:
        wished = changed(dish, **updates[what])
        dishes = tuple(wished if d.id == dish.id else d for d in event.dishes)
        other = changed(event, dishes=dishes)
    elif what in ("later", "sooner"):
        other = _moved(event, dish.meal, 15 if what == "later" else -15)
    else:
        raise NotFound(f"No wish “{what}”.")
    desk.change_event(name, other, if_match=form.get("mark"))
    return RedirectResponse(f"/e/{name}", status_code=303)


def _moved(event: Event, meal_id: str, minutes: int) -> Event:
    """Return the event with one meal moved, kept inside its day."""

    def shift(clock: object) -> object:
        at = datetime.combine(event.date, clock) + timedelta(minutes=minutes)  # type: ignore[arg-type]
        return at.time() if at.date() == event.date else clock

    meals = tuple(
        changed(m, start=shift(m.start), end=shift(m.end)) if m.id == meal_id else m
        for m in event.meals
    )
    return changed(event, meals=meals)


def varied(
    event: Event, *, cloud: int, later: int, portions: int, helpers: int, mirror: str
) -> Event:
    """Return the event as it would be under other circumstances."""
    hours = tuple(
        changed(h, cloud_pct=min(max(h.cloud_pct + cloud, 0.0), 100.0)) for h in event.weather.hours
    )
    other = changed(event, weather=changed(event.weather, hours=hours))
    for meal in event.meals:
        other = _moved(other, meal.id, later) if later else other
    most = int(RANGES["portions"][1])
    dishes = tuple(
        changed(d, portions=min(max(1, round(d.portions * portions / 100)), most))
        for d in other.dishes
    )
    people = list(other.helpers)
    if helpers > 0 and len(people) < HELPERS_MOST:
        people.append(changed(people[0], id="one-more", name="One more"))
    elif helpers < 0 and len(people) > 1:
        people.pop()
    cookers = list(other.cookers)
    if mirror:
        area = round(math.pi * float(mirror) ** 2 / 4, 3)
        first = next((n for n, c in enumerate(cookers) if c.nature.concentrates), None)
        if first is not None:
            cookers[first] = changed(cookers[first], aperture_m2=area)
    talks = tuple(
        t if t.speaker in {h.id for h in people} else changed(t, speaker=None) for t in other.talks
    )
    return changed(other, dishes=dishes, helpers=tuple(people), cookers=tuple(cookers), talks=talks)


@router.get("/e/{name}/what-if")
def what_if(
    name: Name,
    desk: AtDesk,
    cloud: Annotated[int, Query(ge=-100, le=100)] = 0,
    later: Annotated[int, Query(ge=-180, le=180)] = 0,
    portions: Annotated[int, Query(ge=10, le=400)] = 100,
    helpers: Annotated[int, Query(ge=-1, le=1)] = 0,
    mirror: Annotated[str, Query(pattern="^(0\\.9|1\\.2|1\\.4|1\\.8)?$")] = "",
) -> Response:
    """Show what the day would be under another sky, hour, crowd, crew or mirror."""
    seen = PageContext(desk, name)
    plan = seen.found.plan
    if plan is None:
        return seen.counting()
    asked = {"cloud": cloud, "later": later, "portions": portions, "helpers": helpers}
    other: Plan | None = None
    event = varied(seen.event, mirror=mirror, **asked)
    if event != seen.event:
        case = json.dumps({"file": write_event(event), "plan": None, "diary": [], "now": ""})
        key = f"{seen.kept.fingerprint} {asked} {mirror}"
        try:
            state, body = json.loads(desk.ask(key, anew_text, case, wait_s=desk.page_wait_s))
        except Busy:
            return seen.counting("This other day is being planned.")
        if state != "done":
            raise PlanBroken([body])
        other = Plan.model_validate_json(body)
    return seen.page(
        "whatif.html",
        here="/more",
        asked=asked | {"mirror": mirror},
        has_mirror=any(c.nature.concentrates for c in seen.event.cookers),
        options={"cloud": CLOUD, "later": LATER_MIN, "portions": PORTIONS, "mirror": MIRRORS},
        rows=_differences(seen.event, plan, other) if other else [],
        other=other,
        wide=day_wide(event, other, None) if other else None,
        forecast=bool(seen.event.weather.hours),
    )


def _differences(event: Event, plan: Plan, other: Plan) -> list[dict[str, object]]:
    """Return each dish as it is and as it would be, with a sentence."""

    def last(p: Plan, dish_id: str) -> Placement | None:
        mine = [q for q in p.placements if q.dish_id == dish_id]
        return min(mine, key=lambda q: q.margin_min, default=None)

    def chance(p: Plan, dish_id: str) -> int | None:
        found = p.risk.dishes if p.risk else ()
        return next((c.of_100 for c in found if c.dish_id == dish_id), None)

    out: list[dict[str, object]] = []
    for dish in event.dishes:
        was, new = last(plan, dish.id), last(other, dish.id)
        out.append(
            {
                "dish": dish.name,
                "was": was,
                "new": new,
                "was_in": event.cooker(was.cooker_id).name if was else "",
                "new_in": event.cooker(new.cooker_id).name if new else "",
                "was_of": chance(plan, dish.id),
                "new_of": chance(other, dish.id),
                "said": _said(dish.name, was, new),
            }
        )
    return out


def _said(name: str, was: Placement | None, new: Placement | None) -> str:
    if was is None and new is None:
        return f"{name} still finds no place"
    if new is None:
        return f"{name} would find no place"
    if was is None:
        return f"{name} would find a place"
    took, takes = (round((p.done_at - p.loaded_at).total_seconds() / 60) for p in (was, new))
    if takes == took:
        return f"{name} takes as long"
    way = "sooner" if takes < took else "longer"
    return f"{name} would be ready {abs(took - takes)} min {way} after loading"


@router.get("/e/{name}/compare")
def compare(name: Name, desk: AtDesk) -> Response:
    """Show this plan beside the one of the version before."""
    seen = PageContext(desk, name)
    plan, version = seen.found.plan, seen.kept.version
    if plan is None:
        return seen.counting()
    before = desk.store.events.earlier_version(name, version - 1)
    kept = desk.store.plans.get(name, version - 1)
    if kept.state != "done":
        raise NotFound(f"The version before of {name} has no plan to compare with.")
    old = Plan.model_validate_json(kept.body)
    return seen.page(
        "compare.html",
        here="/more",
        rows=_differences(seen.event, old, plan),
        old_wide=day_wide(before, old, None),
        wide=day_wide(seen.event, plan, None),
        levels=list(zip(old.levels, plan.levels, strict=False)),
    )
