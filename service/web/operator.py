"""The operator's page: what runs, what waits, what failed. Opened by the operator's own key."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form, Request, Response

from service.access import OPERATOR_COOKIE, for_role, is_key_of_operator
from service.application.lanes import Lane
from service.dependencies import ServicesDep
from service.web.rendering import page_router, render, see_other

router = page_router()
LANES = {Lane.REPLAN: "re-plan of a day", Lane.PLAN: "plan", Lane.ADVICE: "advice"}
KEY_LASTS_S = 12 * 3600


@router.get("/operator")
@for_role("operator")
def operator(services: ServicesDep) -> Response:
    """Show how the service is."""
    return render(
        "operator.html",
        health=services.operations.health(),
        work=services.operations.work(),
        failures=services.operations.failures(),
        lanes=LANES,
    )


@router.post("/operator/stop")
@for_role("operator")
def stop(
    services: ServicesDep,
    event_id: Annotated[str, Form(max_length=80)],
    lane: Annotated[Lane, Form()],
) -> Response:
    """Stop an event's work in a lane."""
    services.operations.stop(event_id, lane)
    return see_other("/operator")


@router.get("/operator/sign-in")
@for_role("anyone")
def ask_key() -> Response:
    """Ask for the operator's key."""
    return render("operator_sign_in.html", wrong=False)


@router.post("/operator/sign-in")
@for_role("anyone")
def sign_in(request: Request, key: Annotated[str, Form(max_length=200)]) -> Response:
    """Take the operator's key, kept by this browser until tonight."""
    if not is_key_of_operator(request, key):
        return render("operator_sign_in.html", status=403, wrong=True)
    response = see_other("/operator")
    response.set_cookie(
        OPERATOR_COOKIE, key, max_age=KEY_LASTS_S, httponly=True, samesite="strict", path="/"
    )
    return response
