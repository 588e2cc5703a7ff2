"""Station pages: one cooker, what is in it, how warm, when to turn it and how far."""

from __future__ import annotations

import secrets
from datetime import datetime

from fastapi import Request, Response

from service import access
from service.charts import qr_code
from service.charts.temperature_curve import curve_picture
from service.charts.turn import turn_picture
from service.dependencies import AtDesk, Name
from service.text import formatting, turn_orders
from service.text import messages as words
from service.text.cookers import cautions
from service.web.context import PageContext
from service.web.plan_rows import batch_told, stretches_told
from solver.plan import Plan, Turn, turners

router = access.gated_pages()


@router.get("/e/{name}/stations")
def stations(name: Name, desk: AtDesk) -> Response:
    """Show every cooker, to choose one."""
    seen = PageContext(desk, name)
    places: dict[str | None, str] = {None: ""}
    places |= {s.id: s.name for s in seen.event.stations}
    return seen.page("stations.html", here="/stations", places=places)


@router.get("/e/{name}/stations/{cooker_id}")
def station(name: Name, cooker_id: Name, desk: AtDesk, request: Request) -> Response:
    """Show one cooker: what is in it, how warm, when to turn it and how far."""
    seen = PageContext(desk, name)
    event, plan = seen.event, seen.found.plan
    cooker = desk.cooker_of(seen.kept, cooker_id)
    if plan is None:
        return seen.counting()
    due = desk.next_turns(name, now=seen.at, helper_id=None, cooker_id=cooker_id)
    coming = [t for t in due if seen.now or not t.turn.first] or due
    who = turners(plan)
    names = {h.id: h.name for h in event.helpers}
    next_id = coming[0].turn.id if coming else None
    own = next((w for w in plan.windows if w.cooker_id == cooker_id), plan.windows[0])

    def told(turn: Turn) -> dict[str, object]:
        past = seen.now is not None and turn.at < seen.now and turn.id != next_id
        return {
            "it": turn,
            "how": turn_orders.how_to_turn(event, turn),
            "ring": turn_orders.ring(event, turn),
            "who": names.get(who.get(turn.id) or "", ""),
            "when": "now" if turn.id == next_id else "past" if past else "",
        }

    written = [w for w in desk.diary_of(name) if not w.undone]
    read: dict[str, list[tuple[datetime, float]]] = {}
    for w in written:
        e = w.kept.entry
        if e.placement_id and e.core_c is not None:
            read.setdefault(e.placement_id, []).append((w.kept.happened_at, e.core_c))
    return seen.page(
        "station.html",
        here="/stations",
        cooker=cooker,
        place=event.station(cooker.station).name if cooker.station else "",
        origin=cooker.origin,
        window=stretches_told(event, own.stretches),
        batches=[
            {
                **batch_told(event, plan, p),
                "wide": curve_picture(event, p, seen.now, wide=True, read=read.get(p.id, [])),
                "narrow": curve_picture(event, p, seen.now, wide=False, read=read.get(p.id, [])),
            }
            for p in plan.placements
            if p.cooker_id == cooker_id
        ],
        turns=[told(t) for t in plan.turns if t.cooker_id == cooker_id],
        next=(coming and {**told(coming[0].turn), "picture": turn_picture(event, coming[0].turn)})
        or None,
        heat=desk.heat_of(name, cooker_id, seen.now or _midday(plan)) if own.cooker_id else None,
        cautions=cautions(cooker),
        burns=words.BURNS,
        today=seen.now is not None,
        code=qr_code.QrCode(str(request.url.replace(query=None, fragment=None))).code,
        press_id=secrets.token_urlsafe(9),
        said=[
            (formatting.clock(event, w.kept.happened_at), words.PRESSED[w.kept.entry.kind])
            for w in written
            if w.kept.entry.cooker_id == cooker_id
        ][-5:],
    )


def _midday(plan: Plan) -> datetime:
    return max(plan.sun, key=lambda s: s.clear_w_m2).at
