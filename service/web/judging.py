"""Pages by a code: a judge's sheets, a visitor's vote. No cookie is set, nothing else is opened."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import Form, Query, Request, Response
from fastapi.responses import JSONResponse

from events.contest import Judge
from events.errors import Busy, FaultyEvent, NotFound, Place
from service.access import for_role
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.text import allergens
from service.text import contest as words
from service.text.error_words import error_text
from service.text.faults import said
from service.web.absent import VOTES, absent
from service.web.context import PageContext, page_context
from service.web.form_data import FormFields
from service.web.press import new_press_id
from service.web.rendering import page_router, see_other

public_router = page_router()
JSON = "application/json"
SENT_BESIDE = ("number", "id", "at", "sent_at")  # what is no points


@public_router.get("/judge/{event_name}/{code}")
@for_role("anyone")
def judge(
    event_name: Name,
    code: Name,
    services: ServicesDep,
    request: Request,
    number: Annotated[int, Query(ge=0, le=1000)] = 0,
) -> Response:
    """Show a judge the next number to taste, or one to mend, with a sheet; and their own sheets."""
    own = services.contest.judge_of(event_name, code)
    context = _visitor(event_name, services, request)
    return _judge_page(context, services, own, code, typed={"number": str(number or "")})


@public_router.post("/judge/{event_name}/{code}")
@for_role("anyone")
def write_sheet(
    event_name: Name, code: Name, services: ServicesDep, request: Request, form: FormFields
) -> Response:
    """Take a judge's sheet for a number; sent twice, it counts once.

    A phone's queue, which asks for JSON, is told which sheet is safe here: only then it lets go.
    """
    own = services.contest.judge_of(event_name, code)
    number, sheet_id = form.get("number", ""), form.get("id", "")
    if not number.isdigit():
        raise NotFound("No such number.")
    queued = request.headers.get("accept") == JSON
    points = {k: int(v) for k, v in form.items() if v.isdigit() and k not in SENT_BESIDE}
    try:
        services.contest.write_sheet(
            event_name, own.id, int(number), points, id=f"sheet-{own.id}-{sheet_id[:20]}"
        )
    except Busy as error:
        if not queued:
            raise
        # It comes too late for good: the judge is told, and the phone sends it no more.
        late = Place("sheet").fault(
            f"number {number}", "", "too-late-for-good", why=error_text(error)
        )
        raise FaultyEvent("the sheet", [late]) from None
    except FaultyEvent as error:
        if queued:
            raise
        context = _visitor(event_name, services, request)
        fault = " ".join(said(f).text for f in error.faults)
        page = _judge_page(context, services, own, code, fault=fault, typed=form)
        page.status_code = 422
        return page
    if queued:
        return JSONResponse({"confirms": sheet_id, "id": sheet_id, "number": int(number)})
    return see_other(f"/judge/{event_name}/{code}")


@public_router.get("/vote/{event_name}")
@for_role("anyone")
def ticket(event_name: Name, services: ServicesDep, request: Request) -> Response:
    """Ask a visitor for the code on their ticket."""
    return _vote_page(_visitor(event_name, services, request), services, "")


@public_router.get("/vote/{event_name}/{code}")
@for_role("anyone")
def choose(event_name: Name, code: Name, services: ServicesDep, request: Request) -> Response:
    """Show a visitor what can be voted for, by number."""
    return _vote_page(_visitor(event_name, services, request), services, code)


@public_router.post("/vote/{event_name}")
@for_role("anyone")
def vote(
    event_name: Name,
    services: ServicesDep,
    request: Request,
    code: Annotated[str, Form(max_length=12)],
    pick: Annotated[list[str] | None, Form(max_length=3)] = None,
) -> Response:
    """Take a visitor's vote, once for each code."""
    context = _visitor(event_name, services, request)
    try:
        picks = tuple(int(number) for number in pick or () if number.isdigit())
        taken = services.contest.vote(event_name, code, picks)
    except (Busy, NotFound) as error:
        return _vote_page(context, services, code, says=error_text(error))
    except FaultyEvent as error:
        return _vote_page(context, services, code, says=said(error.faults[0]).text)
    if not taken:
        return _vote_page(context, services, code, says="This ticket has voted already.")
    return context.page("vote.html", thanks=True, code="", numbers=[], says="", once="")


def _visitor(event_name: str, services: Services, request: Request) -> PageContext:
    """Return what the pages need for one who has no other page here, whoever it is."""
    return replace(page_context(event_name, services, request), role="board", watches=False)


def _judge_page(
    context: PageContext,
    services: ServicesDep,
    own: Judge,
    code: str,
    *,
    fault: str = "",
    typed: dict[str, str] | None = None,
) -> Response:
    service, name = services.contest, context.name
    there = service.sheets_of(name, own.id)
    asked = service.asked(name, own.id)
    wanted = (typed or {}).get("number", "") or str(next((n for n in asked if n not in there), ""))
    return context.page(
        "judge.html",
        judge=own,
        code=code,
        asked=asked,
        sheets=there,
        number=int(wanted) if wanted.isdigit() else None,
        typed=typed or {},
        fault=fault,
        press_ids={n: new_press_id() for n in asked},
        closed=service.closed_at(name) is not None,
        contains=_contains(context, services),
        walking=context.event.contest is not None and context.event.contest.how == "walk",
    )


def _vote_page(
    context: PageContext, services: ServicesDep, code: str, *, says: str = ""
) -> Response:
    if context.event.contest is None or not context.event.votes.codes:
        raise absent(context, VOTES)
    numbers = sorted(services.contest.numbers(context.name).values())
    return context.page(
        "vote.html",
        thanks=False,
        code=code,
        numbers=numbers,
        contains=_contains(context, services),
        says=says,
        once=words.VOTE_ONCE,
    )


def _contains(context: PageContext, services: Services) -> dict[int, str]:
    """Return what each number contains, and what nobody knows of it, for who is about to taste."""
    numbers = services.contest.numbers(context.name)
    event = context.stored.event
    return {numbers[e.id]: allergens.sentence(event, e.dish) for e in event.entries}
