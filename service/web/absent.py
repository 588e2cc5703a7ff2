"""Pages of a part that the day has not: they say so, and where it is added."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Response

from events.errors import NotFound
from service.web.context import PageContext


@dataclass(frozen=True)
class Absent:
    """What is not there, in words, and the page where an organiser adds it."""

    heading: str
    add: str
    path: str
    others: str = "Whoever organises the day can add this in the planner."


GROUPS = Absent("No groups go round on this day", "Make groups that go round", "/plan/rota")
CONTEST = Absent("This day is no contest", "Make it a contest", "/plan/contest")
DRAW = Absent("Places are not drawn yet", "Draw places and cookers", "/contest")
COUNT = Absent(
    "There are no results yet",
    "The count",
    "/contest/count",
    "They are shown once the count is closed.",
)
VOTES = Absent("Nothing is voted on here", "Say how many may vote", "/plan/contest")


class PageInstead(NotFound):
    """Nothing of that sort is in this event; who reads pages is given this one."""

    def __init__(self, says: str, page: Response) -> None:
        self.page = page
        super().__init__(says)


def absent(context: PageContext, what: Absent, *, coming: bool = False) -> PageInstead:
    """Return the refusal to raise; `coming` where it is in the event and its plan is not yet."""
    page = context.page("absent.html", absent=what, coming=coming)
    page.status_code = 404
    return PageInstead(f"{what.heading}.", page)
