"""Plans: each asked for, made beside the pages, stored, and read again."""

from __future__ import annotations

import logging
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache

from pydantic import ValidationError

from events.errors import NotFound, Stopped
from events.model import Event
from events.storage.tables import PlanState, Replan, StoredEvent
from service.application.asker import ASKER
from service.application.context import Context
from service.application.lanes import Lane, Order
from service.application.solver_jobs import DayBegun, PlanResult, job_payload, plan_job
from solver.plan import Plan, Turn, turners
from solver.policy import SLOT_MIN

log = logging.getLogger("noonfare")


@dataclass(frozen=True)
class PlanInForce:
    """An event's plan as it stands: being counted, done, or refused by our own checks."""

    state: PlanState
    plan: Plan | None
    made_at: datetime | None
    refusal: str  # what broke, where it is broken
    revision: str  # which plan: the event's fingerprint, and the number of its re-plan
    replan_number: int = 0  # of the re-plan that was taken last; 0 is the event's own plan


@dataclass(frozen=True)
class EventAndPlan:
    """One version of an event, with its plan."""

    event: Event
    plan: Plan


@dataclass(frozen=True)
class NextTurn:
    """A turn still to come, or being due, and who walks to it."""

    turn: Turn
    helper_id: str | None
    in_min: float


@lru_cache(maxsize=32)
def read_plan(body: str) -> Plan:
    """Return a stored plan; raises ValidationError for one that an earlier program stored."""
    return Plan.model_validate_json(body)


class PlanService:
    """Plans of events, as they stand. A plan that was asked for is a row in the store.

    So one that was being made when the service stopped is made when it starts again.
    """

    def __init__(self, context: Context) -> None:
        self._context, self._store = context, context.store.plans

    def in_force(self, name: str) -> PlanInForce:
        """Return the plan of an event's present version."""
        stored = self._context.store.events.get(name)
        try:
            return self._read(stored)
        except ValidationError as error:
            replan = self._store.replan_in_force(name, stored.version)
            log.warning(
                "%s, version %d: %s can't be read by this program (%d faults); planned anew",
                name,
                stored.version,
                f"re-plan {replan.number}, in force," if replan else "its plan",
                error.error_count(),
            )
            if self._store.ask_again(name, stored.version):
                self.ask(name, stored.version)
            return PlanInForce("asked", None, None, "", f"{stored.fingerprint}?")

    def done(self, name: str) -> Plan:
        """Return the plan in force; raises NotFound while there is none."""
        plan = self.in_force(name).plan
        if plan is None:
            raise NotFound(f"No plan of {name} yet. Look again in a moment.")
        return plan

    def previous(self, name: str) -> EventAndPlan:
        """Return the version before an event's present one, with its plan; raises NotFound."""
        version = self._context.store.events.get(name).version - 1
        event = self._context.store.events.earlier_version(name, version)
        stored = self._store.get(name, version)
        plan = _readable(stored.body) if stored.state == "done" else None
        if plan is None:
            raise NotFound(f"The version before of {name} has no plan to compare with.")
        return EventAndPlan(event, plan)

    def begun_under(self, stored: StoredEvent, version: int) -> Plan | None:
        """Return the plan that holds today for versions before one, if it is the event's day."""
        if self._context.now().astimezone(stored.event.zone).date() != stored.date:
            return None
        for earlier in range(version - 1, 0, -1):
            replan, plan = self._store.replan_in_force(stored.id, earlier), None
            own = self._store.get(stored.id, earlier)
            if replan is not None:
                plan = _readable(replan.body)
            elif own.state == "done":
                plan = _readable(own.body)
            if plan is not None:
                return plan
        return None

    def day_begun(self, name: str, plan: Plan) -> DayBegun:
        """Return where a day stands now, for a solver."""
        entries = tuple(self._context.store.diary.entries(name))
        return DayBegun(plan=plan, diary=entries, now=self._context.now())

    def ask_waiting(self) -> None:
        """Have every plan made that was asked for before the service stopped."""
        for asked in self._store.asked():
            self.ask(asked.event_id, asked.version)

    def ask(self, name: str, version: int) -> None:
        """Have one version of an event planned beside, if its plan is still asked for."""
        if self._store.get(name, version).state != "asked":
            return
        stored = self._context.store.events.get(name)
        if stored.version != version:
            self._save(name, version, PlanResult("broken", "a newer version took its place"))
            return
        plan = self.begun_under(stored, version)
        payload = job_payload(stored.event, self.day_begun(name, plan) if plan else None)
        order = Order(Lane.REPLAN if plan else Lane.PLAN, name, ASKER.get())
        future = self._context.solvers.submit(plan_job, payload, order)
        future.add_done_callback(lambda done: self._came(name, version, done))

    def _came(self, name: str, version: int, future: Future[PlanResult]) -> None:
        """Store what became of an asked plan; where the service stops, it is asked again."""
        try:
            result = future.result()
        except CancelledError:
            return
        except Stopped as stopped:
            result = PlanResult("broken", str(stopped))
        except Exception:  # a bug of ours: nobody is left waiting for a plan that never comes
            log.exception("%s, version %d", name, version)
            result = PlanResult("broken", "a fault of the program; its log says which")
        if result.state == "broken":
            log.error("%s, version %d: %s", name, version, result.body)
        self._save(name, version, result)

    def next_turns(
        self, name: str, *, now: datetime | None, helper_id: str | None, cooker_id: str | None
    ) -> list[NextTurn]:
        """Return the turns due or still to come at `now` (the clock's, unless given)."""
        at = now or self._context.now()
        event = self._context.store.events.get(name).event
        if helper_id is not None:
            event.helper(helper_id)
        if cooker_id is not None:
            event.cooker(cooker_id)
        plan = self.in_force(name).plan
        if plan is None:
            return []
        who = turners(plan)
        return [
            NextTurn(t, who.get(t.id), (t.at - at).total_seconds() / 60)
            for t in plan.turns
            if t.at > at - timedelta(minutes=SLOT_MIN)
            and (helper_id is None or who.get(t.id) == helper_id)
            and (cooker_id is None or t.cooker_id == cooker_id)
        ]

    def _read(self, stored: StoredEvent) -> PlanInForce:
        replan = self._store.replan_in_force(stored.id, stored.version)
        if replan is not None:
            return _replanned(stored, replan)
        own = self._store.get(stored.id, stored.version)
        done = own.state == "done"
        return PlanInForce(
            state=own.state,
            plan=read_plan(own.body) if done else None,
            made_at=own.made_at,
            refusal=own.body if own.state == "broken" else "",
            revision=stored.fingerprint if done else f"{stored.fingerprint}?",
        )

    def _save(self, name: str, version: int, result: PlanResult) -> None:
        now = self._context.now()
        self._store.save(name, version, state=result.state, body=result.body, now=now)
        self._context.changes.notify(name)


def _replanned(stored: StoredEvent, replan: Replan) -> PlanInForce:
    return PlanInForce(
        state="done",
        plan=read_plan(replan.body),
        made_at=replan.taken_at,
        refusal="",
        revision=f"{stored.fingerprint}.{replan.number}",
        replan_number=replan.number,
    )


def _readable(body: str) -> Plan | None:
    """Return a stored plan, or None for one that today's program can't read."""
    try:
        return read_plan(body)
    except ValidationError:
        return None
