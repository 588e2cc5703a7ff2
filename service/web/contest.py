"""The contest's pages: places and tastings, a team's own, the table's numbers, count, results."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated, Literal

from fastapi import Form, Request, Response

from events.contest import Contest
from service.access import for_role
from service.charts.qr_code import QrCode
from service.dependencies import Name, ServicesDep
from service.paper.certificates import certificates_pdf
from service.paper.contest import contest_pdf
from service.text import allergens
from service.text import contest as words
from service.text.cookers import cautions
from service.web.absent import CONTEST, COUNT, DRAW, absent
from service.web.context import PageContext, PageContextDep
from service.web.rendering import attachment, page_router, see_other
from solver.contest_plan import ContestPlan, Tasting

router = page_router()


@router.get("/e/{name}/contest")
@for_role("helper")
def contest(context: PageContextDep) -> Response:
    """Show the rules, places, tastings, how alike the sun is, and how the draw is checked."""
    rules, event = _contest(context), context.event
    if context.plan is None:
        return context.counting()
    plan = _plan(context)
    return context.page(
        "contest.html",
        page_path="/contest",
        rules=words.rules(event, rules),
        plan=plan,
        rows=[_row(context, t) for t in plan.tastings],
        places=[
            _place(context, plan, n) for n in range(len(plan.draw.places if plan.draw else ()))
        ],
        left_out=[event.station(s).name for s in plan.left_out],
        not_tasted=[(event.entry(n.entry_id), words.not_tasted(n)) for n in plan.not_tasted],
        sun_line=words.sun_line(event, plan),
        levels=words.level_lines(plan),
        how_to_check=words.HOW_TO_CHECK,
    )


@router.post("/e/{name}/contest/draw")
def draw(
    name: Name,
    services: ServicesDep,
    seed: Annotated[str, Form(max_length=64)],
    etag: Annotated[str, Form(max_length=40)],
) -> Response:
    """Draw places and cookers from a seed; every draw stays on record."""
    services.contest.draw(name, seed, etag=etag)
    return see_other(f"/e/{name}/contest")


@router.get("/e/{name}/contest/team/{team_id}")
@for_role("board")
def team(context: PageContextDep, team_id: Name) -> Response:
    """Show a team its place, when it may load, and when its entry is tasted."""
    _contest(context)
    own = context.event.team(team_id)
    if context.plan is None:
        return context.counting()
    plan = _plan(context)
    entry = next((e for e in context.event.entries if e.team == team_id), None)
    tasting = next((t for t in plan.tastings if entry and t.entry_id == entry.id), None)
    places = plan.draw.places if plan.draw else ()
    place = next((n for n, p in enumerate(places) if entry and p.entry_id == entry.id), None)
    why = next((n for n in plan.not_tasted if entry and n.entry_id == entry.id), None)
    return context.page(
        "contest_team.html",
        page_path="/contest",
        team=own,
        entry=entry,
        row=_row(context, tasting) if tasting else None,
        place=_place(context, plan, place) if place is not None else None,
        why=words.not_tasted(why) if why else "",
        cautions=cautions(context.event.contest_cooker(places[place].cooker_id))
        if place is not None
        else [],
    )


@router.get("/e/{name}/contest/table")
@for_role("helper")
def table(context: PageContextDep, services: ServicesDep) -> Response:
    """Show who carries plates which number belongs to which entry, in order of tasting."""
    _contest(context)
    if context.plan is None:
        return context.counting()
    numbers = services.contest.numbers(context.name)
    rows = [
        (numbers[t.entry_id], _row(context, t), _sentence(context, t))
        for t in _plan(context).tastings
    ]
    return context.page("contest_table.html", page_path="/contest", rows=rows)


@router.get("/e/{name}/contest/count")
def count(context: PageContextDep, services: ServicesDep, request: Request) -> Response:
    """Show who is missing what, the judges' links, and close the count; no sums."""
    _contest(context)
    if context.plan is None:
        return context.counting()
    service, event = services.contest, context.event
    if _plan(context).draw is None:
        raise absent(context, DRAW)
    own = service.secrets(context.name)
    base = f"{request.url.scheme}://{request.url.netloc}/judge/{context.name}"
    links = [(j, QrCode(f"{base}/{own.judge_code(j.id)}")) for j in event.judges]
    missing = service.missing(context.name)
    return context.page(
        "contest_count.html",
        page_path="/contest",
        links=links,
        missing=[(event.judge(j).name, numbers) for j, numbers in missing.items()],
        ballots=service.ballots(context.name),
        closed_at=service.closed_at(context.name),
        notes=(words.BLIND, words.KEEPER),
    )


@router.get("/e/{name}/contest.pdf")
def paper(context: PageContextDep, services: ServicesDep, request: Request) -> Response:
    """Return the contest's paper: draw and sun, cards, the table's numbers, sheets, tickets."""
    _contest(context)
    if context.plan is None or _plan(context).draw is None:
        raise absent(context, DRAW)
    data = contest_pdf(
        context.event,
        context.plan,
        numbers=services.contest.numbers(context.name),
        codes=services.contest.codes(context.name),
        vote_url=f"{request.url.scheme}://{request.url.netloc}/vote/{context.name}",
    )
    return attachment(data, "application/pdf", f"{context.name}-contest.pdf")


@router.post("/e/{name}/contest/count/close")
def close(name: Name, services: ServicesDep) -> Response:
    """Close the count: no sheet and no vote is taken any more, sums are told."""
    services.contest.close(name)
    return see_other(f"/e/{name}/results")


@router.post("/e/{name}/contest/count/reopen")
def reopen(
    name: Name, services: ServicesDep, reason: Annotated[str, Form(max_length=200)]
) -> Response:
    """Open the count again, with a reason that stays on the results."""
    services.contest.reopen(name, reason)
    return see_other(f"/e/{name}/contest/count")


@router.get("/e/{name}/results")
@for_role("board")
def results(context: PageContextDep, services: ServicesDep) -> Response:
    """Show places, sums and what decided, once the count is closed."""
    rules, event = _contest(context), context.event
    if services.contest.closed_at(context.name) is None:
        raise absent(context, COUNT)
    found = services.contest.results(context.name)
    rows = [
        {
            "place": p,
            "entry": event.entry(p.entry_id),
            "team": event.team(event.entry(p.entry_id).team),
            "total": words.figure(p.total),
            "parts": [words.figure(p.by_criterion[c.id]) for c in event.criteria],
            "decided": words.TIE[p.decided_by] if p.decided_by else "",
            "number": found.numbers[p.entry_id],
        }
        for p in found.standing.places
    ]
    votes = sorted(found.votes.picks.items(), key=lambda v: (-v[1], v[0])) if found.votes else []
    return context.page(
        "results.html",
        page_path="/results",
        rows=rows,
        too_few=[event.entry(e).name for e in found.standing.too_few],
        comparable=found.standing.comparable,
        votes=[(event.entry(e).name, n) for e, n in votes],
        ballots=found.votes.ballots if found.votes else 0,
        reopened=found.reopened,
        closed_at=found.closed_at,
        rules=words.rules(event, rules),
    )


@router.get("/e/{name}/results/certificates.pdf")
def certificates(
    context: PageContextDep, services: ServicesDep, paper: Literal["a4", "us-letter"] | None = None
) -> Response:
    """Return a certificate for each entry, once the count is closed."""
    _contest(context)
    size = paper or ("us-letter" if context.event.units == "us" else "a4")
    data = certificates_pdf(context.event, services.contest.results(context.name), paper=size)
    return attachment(data, "application/pdf", f"{context.name}-certificates.pdf")


def _contest(context: PageContext) -> Contest:
    if context.event.contest is None:
        raise absent(context, CONTEST, coming=context.stored.event.contest is not None)
    return context.event.contest


def _plan(context: PageContext) -> ContestPlan:
    plan = context.plan.contest if context.plan else None
    if plan is None:
        raise absent(context, CONTEST, coming=True)
    return plan


def _row(context: PageContext, t: Tasting) -> dict[str, object]:
    entry = context.event.entry(t.entry_id)
    return {
        "it": t,
        "entry": entry,
        "team": context.event.team(entry.team),
        "cooker": context.event.contest_cooker(t.cooker_id),
        "pot": context.event.pot(t.pot_id),
        "ends_at": t.at + timedelta(minutes=t.minutes),
    }


def _place(context: PageContext, plan: ContestPlan, n: int) -> dict[str, object]:
    assert plan.draw is not None
    place, event = plan.draw.places[n], context.event
    sun = next((s for s in plan.sun if s.entry_id == place.entry_id), None)
    return {
        "it": place,
        "entry": event.entry(place.entry_id),
        "station": event.station(place.station_id),
        "cooker": event.contest_cooker(place.cooker_id),
        "sun": sun,
    }


def _sentence(context: PageContext, t: Tasting) -> str:
    return allergens.sentence(context.event, context.event.entry(t.entry_id).dish)
