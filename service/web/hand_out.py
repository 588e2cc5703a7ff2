"""Everybody's links at once: whose they are, what each is for, and where phones can reach them."""

from __future__ import annotations

import socket
from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import Request, Response

from events.model import Event
from events.rounds import Group
from events.storage.tables import Role
from service.charts.qr_code import QrCode
from service.text.formatting import hour, long_date
from service.text.rota import adult_with
from service.text.sittings import meals_line
from service.web.address import own_addresses
from solver.plan import Plan
from solver.programme import posts_of

MADE = "noonfare-handed-out"  # the links made last, to look at them again for an hour
SHOWN_S = 3600
BOARD = "board"
ANSWER_S = 0.3  # a machine's own address answers at once, or never


@dataclass(frozen=True)
class Recipient:
    """Somebody who is handed a link: a helper, the visitors' board, or who goes with a group."""

    key: str  # a helper's id, or the board's word
    name: str
    role: Role
    helper_id: str | None
    note: str  # what it is for
    group_id: str | None = None  # whose timetable it is; its link is the board's, to another page


@dataclass(frozen=True)
class HandedOut:
    """A link that was just made, for somebody."""

    recipient: Recipient
    link: QrCode


def recipients(event: Event, plan: Plan | None) -> list[Recipient]:
    """Return everybody who is handed a link, helpers first."""
    helpers = [
        Recipient(h.id, h.name, "helper", h.id, _jobs(event, plan, h.id)) for h in event.helpers
    ]
    board = Recipient(BOARD, "Visitors’ board", "board", None, "for a screen; nothing private")
    groups = [
        Recipient(f"round-{g.id}", _timetable(event, g), "board", None, "where and when", g.id)
        for g in event.groups
    ]
    return [*helpers, board, *groups]


def _timetable(event: Event, group: Group) -> str:
    adult = adult_with(event, group)
    return f"{group.name}: timetable" + (f" for {adult}" if adult else "")


def _jobs(event: Event, plan: Plan | None, helper_id: str) -> str:
    """Return how much somebody has to do, and from when to when."""
    helper = event.helper(helper_id)
    hours = f"{hour(event, helper.start)} to {hour(event, helper.end)}"
    if plan is None:
        return hours
    # The plan shown may be of an earlier version: then it has no jobs for who has just joined.
    own = [j for j in plan.jobs if helper_id in j.helper_ids]
    count = len(own) + sum(w.helper_id == helper_id for w in plan.walks)
    count += len(posts_of(event, helper_id).visits(plan.rota))
    return f"{count} job{'' if count == 1 else 's'}, {hours}"


def handed_out(
    request: Request, people: list[Recipient], made: dict[str, str], at: str
) -> list[HandedOut]:
    """Return the links of those for whom one was made, by an address that phones can reach."""
    base = f"{request.url.scheme}://{_netloc(request, at)}"
    given = []
    for person in people:
        token = made.get(BOARD if person.group_id else person.key)
        if token:
            to = f"?group={person.group_id}" if person.group_id else ""
            given.append(HandedOut(person, QrCode(f"{base}/l/{token}{to}")))
    return given


def message(event: Event, links: list[HandedOut]) -> str:
    """Return what can be pasted into a group: when, where, each helper's link, what to bring."""
    site = event.site
    lines = [
        f"{event.title}, {long_date(event.date)}, {site.name}.",
        f"{meals_line(event)}.",
        "Bring a hat, closed shoes and water.",
        "Your own page with your jobs; it works without signal once it was opened:",
    ]
    for h in links:
        recipient = h.recipient
        if recipient.helper_id:
            begins = hour(event, event.helper(recipient.helper_id).start)
            lines.append(f"{recipient.name}, from {begins}: {h.link.url}")
        elif recipient.group_id:
            lines.append(f"{recipient.name}: {h.link.url}")
    if site.emergency:
        lines.append(f"Trouble on the day: call {site.emergency}")
    return "\n".join(lines)


def answering(addresses: Sequence[str], port: int | None) -> list[str]:
    """Return at which of this machine's own addresses this service answers: it may be closed."""
    return [address for address in addresses if _answers(address, port or 80)]


def _answers(address: str, port: int) -> bool:
    try:
        socket.create_connection((address, port), timeout=ANSWER_S).close()
    except OSError:
        return False
    return True


def keep_made(response: Response, name: str, made: dict[str, str]) -> Response:
    """Have the organiser's browser hold the links for an hour: only so long can they be read."""
    text = ".".join(f"{key}~{token}" for key, token in made.items())
    path = f"/e/{name}/links"
    response.set_cookie(MADE, text, max_age=SHOWN_S, httponly=True, samesite="lax", path=path)
    return response


def made_before(request: Request) -> dict[str, str]:
    """Return the links that this browser made within the hour, by whom they are for."""
    parts = (p.partition("~") for p in request.cookies.get(MADE, "").split(".") if "~" in p)
    return {key: token for key, _, token in parts}


def _netloc(request: Request, at: str) -> str:
    """Return the address in links: the asked one, else one of this machine's own with its port."""
    if at not in own_addresses():
        return request.url.netloc
    return f"{at}:{request.url.port}" if request.url.port else at
