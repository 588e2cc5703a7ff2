"""A helper's calendar to subscribe to: the page that gives its address, and the address itself."""

from __future__ import annotations

from fastapi import Request, Response

from events.errors import Busy, NotFound
from service.access import for_role, signed_in
from service.charts.qr_code import QrCode
from service.dependencies import Name, ServicesDep
from service.paper.calendar import calendar
from service.web.address import phones_base_url
from service.web.context import PageContextDep
from service.web.rendering import page_router

router = page_router()
public_router = page_router()  # calendars hold no cookies


@router.get("/e/{name}/jobs/{helper_id}/calendar")
@for_role("helper")
def address(
    context: PageContextDep, helper_id: Name, services: ServicesDep, request: Request
) -> Response:
    """Give a helper the address of their own calendar; organisers may see everybody's."""
    helper, link = context.event.helper(helper_id), signed_in(request, context.name)
    if link is not None and link.role == "helper" and link.helper_id != helper_id:
        raise NotFound("This is another helper’s calendar.")
    code = services.links.calendar_code(context.name, helper_id)
    path = f"/calendar/{context.name}/{helper_id}/{code}.ics" if code else ""
    if not code and request.app.state.open:
        path = f"/e/{context.name}/day.ics?helper={helper_id}"
    base, phones = f"{request.url.scheme}://{request.url.netloc}", phones_base_url(request)
    return context.page(
        "calendar.html",
        helper=helper,
        url=base + path if path else "",
        webcal=f"webcal://{request.url.netloc}{path}" if path else "",
        code=QrCode(phones + path).code if path and phones else "",
    )


@public_router.get("/calendar/{event_name}/{helper_id}/{code}.ics")
@for_role("anyone")
def subscribed(event_name: Name, helper_id: Name, code: Name, services: ServicesDep) -> Response:
    """Return a helper's calendar as it stands, by its secret address."""
    if not services.links.is_calendar_code(event_name, helper_id, code):
        raise NotFound("This address opens no calendar: its link may have ended or been closed.")
    in_force = services.plans.in_force(event_name)
    if in_force.plan is None:
        raise Busy("The plan is still being made. Look again in a moment.")
    data = calendar(
        in_force.event,
        in_force.plan,
        name=event_name,
        helper_id=helper_id,
        edition=services.calendars.edition(event_name, in_force, helper_id),
    )
    return Response(data, media_type="text/calendar")
