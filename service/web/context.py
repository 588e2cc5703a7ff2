"""What an event's pages need: the event, its plan in force, what time it is there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Annotated

from fastapi import Depends, Request, Response

from events.model import Event
from events.reading.food_safety import food_faults
from events.storage.tables import Role, StoredEvent
from service.access import role_in
from service.application.plans import PlanInForce
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.text import formatting
from service.web.menu import menu, section_of
from service.web.rendering import render
from solver.plan import Plan

COUNTING_S, LOOK_AGAIN_S = 2, 30


@dataclass(frozen=True)
class PageContext:
    """An event, its plan in force, and the time there."""

    stored: StoredEvent
    in_force: PlanInForce
    at: datetime
    role: Role = "organiser"  # of whoever asks

    @property
    def name(self) -> str:
        """Return the event's name, as paths have it."""
        return self.stored.id

    @property
    def event(self) -> Event:
        """Return the event."""
        return self.stored.event

    @property
    def plan(self) -> Plan | None:
        """Return the plan in force, if there is one."""
        return self.in_force.plan

    @property
    def now(self) -> datetime | None:
        """Return the time on the event's own day; None on another."""
        return self.at if formatting.same_day(self.event, self.at) else None

    @property
    def clock(self) -> str:
        """Return the time there on the event's own day, as the event says it."""
        return formatting.clock(self.event, self.now) if self.now else ""

    def reloaded(self, services: Services) -> PageContext:
        """Return the same for what is stored by now."""
        return replace(self, stored=services.events.get(self.name))

    def page(self, template: str, *, page_path: str | None = None, **more: object) -> Response:
        """Render one of this event's pages; `page_path` is its path in the head's navigation."""
        return render(
            template,
            event=self.event,
            status=200,
            stored=self.stored,
            plan_revision=self.in_force.revision,
            clock=self.clock,
            page_path=page_path,
            role=self.role,
            pages=menu(self.role, self.event),
            section=section_of(self.role, self.event, page_path),
            refresh=LOOK_AGAIN_S if self.now else None,
            now_at=self.now,
            live=f"/e/{self.name}/live" if self.now or page_path == "/plan/dishes" else None,
            **more,
        )

    def counting(self, what: str = "") -> Response:
        """Render the page that waits for the plan or for `what`, or says why there is none."""
        return render(
            "counting.html",
            event=self.event,
            stored=self.stored,
            clock=self.clock,
            pages=menu(self.role, self.event),
            in_force=self.in_force,
            what=what,
            faults=list(food_faults(self.event)),
            refresh=COUNTING_S if what or self.in_force.state == "asked" else None,
        )


def page_context(name: Name, services: ServicesDep, request: Request) -> PageContext:
    """Return what an event's pages need; raises NotFound."""
    stored, in_force = services.events.get(name), services.plans.in_force(name)
    return PageContext(stored, in_force, services.now(), role_in(request, name))


PageContextDep = Annotated[PageContext, Depends(page_context)]
