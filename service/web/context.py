"""What an event's pages need: the event, its plan in force, what time it is there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Annotated

from fastapi import Depends, Request, Response

from events.diary import Cloud, cloud_over, clouds
from events.errors import Fault
from events.model import Event
from events.reading.food_safety import food_faults
from events.storage.tables import Role, StoredEvent
from service.access import role_in
from service.application.day_watch import DaySeen
from service.application.plans import PlanInForce, Progress
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.text import formatting, suggestions
from service.text.clouds import cloud_words
from service.text.stages import Step, steps
from service.web.menu import menu, section_of
from service.web.rendering import render
from solver.plan import Plan

COUNTING_S, LOOK_AGAIN_S = 2, 30


@dataclass(frozen=True)
class PlanStanding:
    """What becomes of a plan that is not done, and which one is shown meanwhile."""

    number: int
    shown: int | None
    in_force: PlanInForce
    progress: Progress | None
    faults: list[Fault]  # of the food rules, where these are why there is no plan

    @property
    def steps(self) -> list[Step]:
        """Return the steps of the plan that is being worked out."""
        return steps(self.progress.stage if self.progress else None)


@dataclass(frozen=True)
class Suggestion:
    """A plan that is better than the one in force: why it was looked for, and its number."""

    why: str
    number: int


@dataclass(frozen=True)
class PageContext:
    """An event, its plan in force, and the time there."""

    stored: StoredEvent
    in_force: PlanInForce
    at: datetime
    diary_number: int = 0  # of the newest entry of the diary that a page can show
    role: Role = "organiser"  # of whoever asks
    progress: Progress | None = None  # of the plan that is being worked out
    watches: bool = True  # whoever has a code only opens no line for news
    clouds: tuple[Cloud, ...] = ()  # reported on the event's own day
    seen: DaySeen | None = None  # by the last look at the day, for whoever runs it

    @property
    def name(self) -> str:
        """Return the event's name, as paths have it."""
        return self.stored.id

    @property
    def event(self) -> Event:
        """Return the event as it is in the plan that is shown; forms take `stored.event`."""
        return self.in_force.event

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

    @property
    def cloud(self) -> str:
        """Return until when a cloud is over the sun, in words; nothing where none is."""
        over = cloud_over(self.clouds, self.at)
        return cloud_words(self.event, over) if over else ""

    @property
    def suggestion(self) -> Suggestion | None:
        """Return the better plan that was found unasked, if one was, and why it was looked for."""
        if self.seen is None or self.seen.offer_number is None or self.plan is None:
            return None
        why = suggestions.cause(self.event, self.plan, self.seen.look)
        return Suggestion(why, self.seen.offer_number)

    @property
    def other_sky(self) -> bool:
        """Return whether the plan was left in force on its day when another forecast came."""
        if self.plan is None or self.in_force.state != "done":
            return False
        return self.plan.event_id != self.stored.fingerprint

    @property
    def standing(self) -> PlanStanding | None:
        """Return what becomes of the newest version's plan; None where it is the one shown."""
        if self.in_force.state == "done":
            return None
        faults = list(food_faults(self.stored.event)) if self.in_force.state == "broken" else []
        shown = self.in_force.version if self.in_force.plan else None
        return PlanStanding(self.stored.version, shown, self.in_force, self.progress, faults)

    def reloaded(self, services: Services) -> PageContext:
        """Return the same for what is stored by now."""
        return replace(self, stored=services.events.get(self.name))

    def page(
        self,
        template: str,
        *,
        page_path: str | None = None,
        news_for: str | None = None,
        **more: object,
    ) -> Response:
        """Render one of this event's pages; `page_path` is its path in the head's navigation.

        `news_for` is the helper whose page it is: others' presses reload nothing there.
        """
        live = f"/e/{self.name}/live" + (f"?helper={news_for}" if news_for else "")
        return render(
            template,
            event=self.event,
            status=200,
            stored=self.stored,
            plan_revision=self.in_force.revision,
            clock=self.clock,
            cloud=self.cloud,
            suggestion=self.suggestion,
            page_path=page_path,
            role=self.role,
            pages=menu(self.role, self.stored.event),
            section=section_of(self.role, self.stored.event, page_path),
            refresh=self._look_again_s(),
            now_at=self.now,
            made_at=self.at,
            diary_number=self.diary_number,
            state=f"/e/{self.name}/state?helper={news_for or ''}" if self.watches else None,
            live=live if self.watches and (self.now or page_path == "/plan/dishes") else None,
            standing=self.standing,
            other_sky=self.other_sky,
            **more,
        )

    def _stop(self, what: str) -> str | None:
        """Return where a press stops what a page waits for; None for whoever may not."""
        if self.role != "organiser":
            return None
        return f"/e/{self.name}/{'advice-stop' if what else 'plan-stop'}"

    def _look_again_s(self) -> int | None:
        if self.in_force.state == "asked":
            return COUNTING_S
        return LOOK_AGAIN_S if self.now else None

    def counting(self, what: str = "") -> Response:
        """Render the page that waits for the plan or for `what`, or says why there is none."""
        return render(
            "counting.html",
            event=self.event,
            stored=self.stored,
            clock=self.clock,
            pages=menu(self.role, self.stored.event),
            in_force=self.in_force,
            what=what,
            stop=self._stop(what),
            role=self.role,
            standing=self.standing,
            refresh=COUNTING_S if what or self.in_force.state == "asked" else None,
        )


def page_context(name: Name, services: ServicesDep, request: Request) -> PageContext:
    """Return what an event's pages need; raises NotFound."""
    stored, in_force = services.events.get(name), services.plans.in_force(name)
    progress = services.plans.progress(name) if in_force.state == "asked" else None
    number = services.diary.last_number(name)
    at = services.now()
    role = role_in(request, name)
    context = PageContext(stored, in_force, at, number, role, progress)
    if not formatting.same_day(in_force.event, at):
        return context
    services.day_watch.shown(name)
    reported = clouds(services.diary.effective_entries(name)) if number else ()
    runs_it = role == "organiser"
    seen = services.day_watch.seen(name, in_force.revision) if runs_it else None
    return replace(context, clouds=reported, seen=seen)


PageContextDep = Annotated[PageContext, Depends(page_context)]
