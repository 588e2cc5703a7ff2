"""Plans: each asked for, made beside the pages, stored, and read again."""

from __future__ import annotations

import logging
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from threading import Lock

from pydantic import ValidationError

from events.errors import NotFound, Stopped
from events.model import Event
from events.storage.news import EventState
from events.storage.tables import AskedPlan, PlanState, Replan, StoredEvent
from service.application.asker import ASKER
from service.application.context import Context
from service.application.lanes import Lane, Order
from service.application.plan_times import PlanTimes
from service.application.price import price_of
from service.application.solver_jobs import DayBegun, PlanResult, job_payload, plan_job
from solver.plan import Plan, Turn, turners
from solver.policy import SLOT_MIN
from solver.stages import Stage

SUPERSEDED = PlanResult("stopped", "A newer version took its place.")
# A page that shows an older plan meanwhile asks again when this changes.
UNFINISHED: dict[PlanState, str] = {"done": "", "asked": "?", "broken": "!", "stopped": "-"}
KNOWN_MOST = 32  # plans in force that are held ready
log = logging.getLogger("noonfare")


@dataclass(frozen=True)
class PlanInForce:
    """An event's plan as it stands: being worked out, done, refused by our checks, or stopped.

    While that of the present version is not done, the last one that was stays in its place.
    """

    state: PlanState  # of the present version's plan
    event: Event  # of which version `plan` is; the present one where there is no plan at all
    version: int
    plan: Plan | None
    made_at: datetime | None
    refusal: str  # what broke, or why it was stopped
    revision: str  # which plan: its event's fingerprint, and the number of its re-plan
    replan_number: int = 0  # of the re-plan that was taken last; 0 is the event's own plan


@dataclass(frozen=True)
class Progress:
    """How far a plan is that is being worked out; None where it has not begun."""

    running_s: float | None
    ahead: int  # how much other work is before it
    usual_s: float | None  # the event's last plan took so long, or that of a day as large
    stage: Stage | None = None  # which is under way, where it is known


@dataclass(frozen=True)
class EventAndPlan:
    """One version of an event, with its plan."""

    event: Event
    plan: Plan


@dataclass(frozen=True)
class DayPlans:
    """The plan with which a day began, and every plan that was ever in force, oldest first."""

    morning: Plan
    all: tuple[Plan, ...]


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
        self._times = PlanTimes()
        self._missed: set[AskedPlan] = set()
        self._lock = Lock()
        self._known: dict[str, tuple[EventState, PlanInForce]] = {}

    def in_force(self, name: str) -> PlanInForce:
        """Return the plan of an event's present version.

        One that is done changes only with what one short question shows, so it is read once.
        """
        state = self._context.store.news.states([name]).get(name)
        key = state and replace(state, diary_number=0)
        known = self._known.get(name)
        if known is not None and known[0] == key:
            return known[1]
        in_force = self._in_force(name)
        with self._lock:
            self._known.pop(name, None)
            if key is not None and in_force.state == "done":
                self._known[name] = (key, in_force)
            while len(self._known) > KNOWN_MOST:
                del self._known[next(iter(self._known))]
        return in_force

    def _in_force(self, name: str) -> PlanInForce:
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
            return self._read(stored)

    def done(self, name: str) -> Plan:
        """Return the present version's plan; raises NotFound while there is none."""
        in_force = self.in_force(name)
        if in_force.plan is None or in_force.state != "done":
            raise NotFound(f"No plan of {name} yet. Look again in a moment.")
        return in_force.plan

    def shown(self, name: str) -> EventAndPlan:
        """Return the plan that pages show, with its version; raises NotFound where none is."""
        in_force = self.in_force(name)
        if in_force.plan is None:
            raise NotFound(f"No plan of {name} yet. Look again in a moment.")
        return EventAndPlan(in_force.event, in_force.plan)

    def progress(self, name: str) -> Progress | None:
        """Return how far an event's plan is; None where none is being worked out."""
        lanes = (Lane.PLAN, Lane.REPLAN)
        for at in self._context.solvers.standing():
            if at.order.event_id == name and at.order.lane in lanes:
                event = self._context.store.events.get(name).event
                usual_s = self._times.usual_s(name, price_of(event))
                return Progress(at.running_s, at.ahead, usual_s, at.stage)
        return None

    def stop(self, name: str) -> None:
        """Stop working out an event's plan; the last one stays."""
        for lane in (Lane.PLAN, Lane.REPLAN):
            self._context.solvers.stop(name, lane)

    def stop_advice(self, name: str) -> None:
        """Stop what is worked out beside an event's plan: what would help, the year, what if."""
        self._context.solvers.stop(name, Lane.ADVICE)

    def retry(self, name: str) -> None:
        """Work out a plan again that failed or was stopped."""
        version = self._context.store.events.get(name).version
        if self._store.ask_after_failure(name, version):
            self.ask(name, version)
            self._context.changes.notify(name)

    def previous(self, name: str) -> EventAndPlan:
        """Return the plan in force before the present version, with its event.

        Raises NotFound where there was none.
        """
        last = self._last_good(name, before=self._context.store.events.get(name).version)
        if last is None or last.plan is None:
            raise NotFound(f"No version before of {name} has a plan to compare with.")
        return EventAndPlan(last.event, last.plan)

    def of_the_day(self, name: str) -> DayPlans:
        """Return the plan with which the day began, and all that were ever in force.

        Raises NotFound where there is none.
        """
        plans = [plan for body in self._store.bodies_in_order(name) if (plan := _readable(body))]
        if not plans:
            raise NotFound(f"No plan of {name} yet. Look again in a moment.")
        morning = [plan for plan in plans if plan.replanned_at is None]
        return DayPlans(morning[-1] if morning else plans[0], tuple(plans))

    def begun_under(self, stored: StoredEvent, version: int) -> Plan | None:
        """Return the plan that holds today for versions before one, if it is the event's day."""
        if self._context.now().astimezone(stored.event.zone).date() != stored.date:
            return None
        last = self._last_good(stored.id, before=version)
        return last.plan if last else None

    def day_begun(self, name: str, plan: Plan) -> DayBegun:
        """Return where a day stands now, for a solver."""
        entries = tuple(self._context.store.diary.entries(name))
        return DayBegun(plan=plan, diary=entries, now=self._context.now())

    def keep(self, name: str, version: int, plan: Plan) -> None:
        """Leave a plan in force for a new version of its event."""
        self._save(name, version, PlanResult("done", plan.model_dump_json()))

    def ask_waiting(self) -> None:
        """Have every plan made that was asked for before the service stopped."""
        for asked in self._store.asked():
            self.ask(asked.event_id, asked.version)

    def ask_missed(self) -> None:
        """Ask again for plans that nobody works at, as seen twice in a row.

        So a plan comes whose service was killed, or whose result found the database locked.
        """
        at_work = {work.order.event_id for work in self._context.solvers.standing()}
        missed = {asked for asked in self._store.asked() if asked.event_id not in at_work}
        again, self._missed = missed & self._missed, missed
        for asked in again:
            log.warning("%s, version %d: asked for again", asked.event_id, asked.version)
            self.ask(asked.event_id, asked.version)

    def ask(self, name: str, version: int) -> None:
        """Have one version of an event planned beside, if its plan is still asked for."""
        if self._store.get(name, version).state != "asked":
            return
        stored = self._context.store.events.get(name)
        if stored.version != version:
            self._save(name, version, SUPERSEDED)
            return
        plan = self.begun_under(stored, version)
        payload = job_payload(stored.event, self.day_begun(name, plan) if plan else None)
        order = Order(Lane.REPLAN if plan else Lane.PLAN, name, ASKER.get())
        future = self._context.solvers.submit(plan_job, payload, order)

        def came(done: Future[PlanResult]) -> None:
            self._came(name, version, done)
            if not done.cancelled() and done.exception() is None and done.result().took_s:
                self._times.add(name, price_of(stored.event), done.result().took_s)

        future.add_done_callback(came)

    def make_way(self, name: str) -> None:
        """Stop all that is being worked out for a version that is no longer the newest."""
        for lane in Lane:
            self._context.solvers.stop(name, lane)

    def _came(self, name: str, version: int, future: Future[PlanResult]) -> None:
        """Store what became of an asked plan; where the service stops, it is asked again."""
        try:
            result = future.result()
        except CancelledError:
            return
        except Stopped as stopped:
            result = PlanResult("stopped", stopped.written)
            if self._context.store.events.get(name).version != version:
                result = SUPERSEDED
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
        in_force = self.in_force(name)
        event, plan = in_force.event, in_force.plan
        if helper_id is not None:
            event.helper(helper_id)
        if cooker_id is not None:
            event.cooker(cooker_id)
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
        last = None if done else self._last_good(stored.id, before=stored.version)
        shown = PlanInForce(
            state=own.state,
            event=last.event if last else stored.event,
            version=last.version if last else stored.version,
            plan=last.plan if last else None,
            made_at=last.made_at if last else own.made_at,
            refusal="" if own.state == "asked" else own.body,
            revision=revision_of(stored.fingerprint, own.state),
        )
        return replace(shown, plan=read_plan(own.body), refusal="") if done else shown

    def _last_good(self, name: str, *, before: int) -> PlanInForce | None:
        """Return what was in force before a version, re-plans and all; None where nothing was."""
        while (own := self._store.last_done(name, before=before)) is not None:
            before = own.version
            replan = self._store.replan_in_force(name, own.version)
            plan = _readable(replan.body if replan else own.body)
            if plan is not None:
                return PlanInForce(
                    state="done",
                    event=self._context.store.events.version(name, own.version),
                    version=own.version,
                    plan=plan,
                    made_at=replan.taken_at if replan else own.made_at,
                    refusal="",
                    revision="",
                    replan_number=replan.number if replan else 0,
                )
        return None

    def _save(self, name: str, version: int, result: PlanResult) -> None:
        now = self._context.now()
        self._store.save(name, version, state=result.state, body=result.body, now=now)
        self._context.changes.notify(name)


def revision_of(fingerprint: str, state: PlanState, *, replan_number: int = 0) -> str:
    """Return which plan is in force: of which version of the event, by which re-plan."""
    return f"{fingerprint}.{replan_number}" if replan_number else fingerprint + UNFINISHED[state]


def _replanned(stored: StoredEvent, replan: Replan) -> PlanInForce:
    return PlanInForce(
        state="done",
        event=stored.event,
        version=stored.version,
        plan=read_plan(replan.body),
        made_at=replan.taken_at,
        refusal="",
        revision=revision_of(stored.fingerprint, "done", replan_number=replan.number),
        replan_number=replan.number,
    )


def _readable(body: str) -> Plan | None:
    """Return a stored plan, or None for one that today's program can't read."""
    try:
        return read_plan(body)
    except ValidationError:
        return None
