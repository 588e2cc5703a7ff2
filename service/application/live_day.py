"""What people can ask for on the day itself: where it stands, a plan made anew, taking it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta

from events.diary import StoredEntry, standing
from events.errors import NotFound, PlanBroken
from events.storage.tables import Replan
from service.application.desk import Desk
from service.application.solver_jobs import anew_text
from solver.live.pots import PotStatus, pot_statuses
from solver.live.recalibration import recalibrated
from solver.live.status import DayStatus, day_status
from solver.plan import Plan

OFFER_EVERY = timedelta(minutes=10)  # a plan made anew is offered no more often


@dataclass(frozen=True)
class LiveDay:
    """The day as it runs: where it stands, its pots, and whether to plan again."""

    day_status: DayStatus
    pots: list[PotStatus]
    offered: bool  # something may be late, and the last plan is not from just now
    in_force: Plan


class LiveDayService:
    """The desk on the day itself."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    def entries(self, name: str) -> list[StoredEntry]:
        """Return the diary's entries that still count."""
        return standing(self.desk.store.diary.entries(name))

    def running(self, name: str, *, at: datetime | None = None) -> LiveDay:
        """Return where the day stands at an instant; raises NotFound before there is a plan."""
        found = self.desk.plan_of(name)
        if found.plan is None:
            raise NotFound(f"No plan of {name} yet. Look again in a moment.")
        now = at or self.desk.now()
        event, entries = self.desk.event_of(name).event, self.desk.store.diary.entries(name)
        status = day_status(event, found.plan, entries, now)
        pots = pot_statuses(status)
        fresh = found.revision and found.made_at and now - found.made_at < OFFER_EVERY
        trouble = status.unavailable or status.parked or any(p.may_be_late for p in pots)
        return LiveDay(status, pots, bool(trouble) and not fresh, found.plan)

    def offer(self, name: str) -> Replan:
        """Make the plan anew from where the day stands, and keep it as an offer."""
        kept, found = self.desk.event_of(name), self.desk.plan_of(name)
        if found.plan is None:
            raise NotFound(f"No plan of {name} yet. Look again in a moment.")
        case = self.desk.case_of(name, found.plan.model_dump_json())
        state, body = json.loads(self.desk.run(anew_text, case))
        if state != "done":
            raise PlanBroken([body])
        return self.desk.store.plans.save_offer(
            name, version=kept.version, after=found.revision, body=body, now=self.desk.now()
        )

    def offered(self, name: str, number: int) -> tuple[Replan, Plan]:
        """Return an offer and its plan."""
        one = self.desk.store.plans.replan(name, number)
        return one, Plan.model_validate_json(one.body)

    def take(self, name: str, number: int) -> Replan:
        """Put an offer in force; raises StaleVersion where another was taken in between."""
        taken = self.desk.store.plans.take(name, number, now=self.desk.now())
        self.desk.ring(name)
        return taken

    def keep_own(self, name: str) -> int:
        """Keep what the day said of each cooker as this house's own figures; return how many."""
        event = self.desk.event_of(name).event
        stands = self.running(name).day_status
        source = f"{event.title}, {event.date.isoformat()}"
        better = recalibrated(event, stands.strengths, source)
        for cooker in better:
            self.desk.store.own_cookers.save(cooker, source=source, now=self.desk.now())
        return len(better)
