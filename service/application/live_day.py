"""The day itself: where it stands, a plan made anew, taking it, what it says of the cookers."""

from __future__ import annotations

from concurrent.futures import Future
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock

from pydantic import ValidationError

from events.diary import effective_entries
from events.errors import NotFound, PlanBroken
from events.storage.tables import Replan
from service.application.asker import ASKER
from service.application.context import Context
from service.application.lanes import Lane, Order
from service.application.plans import PlanInForce, PlanService, read_plan
from service.application.single_flight import SingleFlight
from service.application.solver_jobs import PlanResult, job_payload, plan_job
from service.application.waiting import Waiting, waiting
from solver.live.pots import PotStatus, pot_statuses
from solver.live.recalibration import recalibrated
from solver.live.status import DayStatus, day_status
from solver.plan import Plan

OFFER_EVERY = timedelta(minutes=10)  # a re-plan is suggested no more often


@dataclass(frozen=True)
class LiveDay:
    """The day as it runs: where it stands, its pots, and whether to plan again."""

    day_status: DayStatus
    pots: list[PotStatus]
    replan_suggested: bool  # something may be late, and the last plan is not from just now
    plan: Plan  # in force


@dataclass(frozen=True)
class Offer:
    """A plan made anew: in force once it is taken."""

    number: int
    after: int  # the re-plan that was in force when this was made; 0 is the event's own plan
    taken_at: datetime | None
    plan: Plan


@dataclass(frozen=True)
class _BeingMade:
    """An offer on its way, and where plan and diary stood when it was asked for."""

    stands: tuple[str, int]
    future: Future[Offer]


class LiveDayService:
    """An event on its day."""

    def __init__(self, context: Context, plans: PlanService) -> None:
        self._context, self._store, self._plans = context, context.store.plans, plans
        self._days: SingleFlight[LiveDay] = SingleFlight()
        self._being_made: dict[str, _BeingMade] = {}
        self._lock = Lock()

    def status(self, name: str) -> LiveDay:
        """Return where the day stands now; raises NotFound before there is a plan.

        Worked out once for each plan, diary entry and minute, however many look.
        """
        in_force, now = self._plans.in_force(name), self._context.now()
        plan, event = self._plans.shown(name).plan, in_force.event
        number = self._context.store.diary.last_number(name)
        minute = now.replace(second=0, microsecond=0)
        state = (in_force.version, in_force.replan_number, in_force.made_at, number, minute)

        def work() -> LiveDay:
            status = day_status(event, plan, self._context.store.diary.entries(name), now)
            pots = pot_statuses(status)
            trouble = status.unavailable or status.parked or any(p.may_be_late for p in pots)
            suggested = bool(trouble) and not _just_made(in_force, now)
            return LiveDay(status, pots, suggested, plan)

        return self._days.get(name, state, work)

    def in_hand(self, name: str) -> list[PotStatus]:
        """Return the pots out of broken cookers; nothing is worked out where none can be."""
        plan = self._plans.in_force(name).plan
        entries = effective_entries(self._context.store.diary.entries(name))
        if plan is None or not (
            plan.in_hand or any(k.entry.kind == "out-of-action" for k in entries)
        ):
            return []
        return [pot for pot in self.status(name).pots if pot.off_heat_at is not None]

    def offer(self, name: str) -> Waiting[Offer]:
        """Make the plan anew from where the day stands, and store it as an offer.

        Whoever asks again while it is being made, with nothing pressed since, gets the same.
        """
        plan, in_force = self._plans.done(name), self._plans.in_force(name)
        stored = self._context.store.events.get(name)
        stands = (in_force.revision, self._context.store.diary.last_number(name))
        with self._lock:
            made = self._being_made.get(name)
            if made is not None and made.stands == stands and not made.future.done():
                return waiting(made.future)
            offer: Future[Offer] = Future()
            self._being_made[name] = _BeingMade(stands, offer)
        payload = job_payload(stored.event, self._plans.day_begun(name, plan))
        order = Order(Lane.REPLAN, name, ASKER.get())
        future = self._context.solvers.submit(plan_job, payload, order)

        def came(done: Future[PlanResult]) -> None:
            try:
                result = done.result()
                if result.state != "done":
                    raise PlanBroken([result.body])
                offer.set_result(self.store_offer(name, in_force, result.body))
            except BaseException as error:
                offer.set_exception(error)
            self._context.changes.notify(name)

        future.add_done_callback(came)
        return waiting(offer)

    def store_offer(self, name: str, in_force: PlanInForce, body: str) -> Offer:
        """Store a plan made anew as an offer after the plan in force."""
        replan = self._store.save_offer(
            name,
            version=in_force.version,
            after=in_force.replan_number,
            body=body,
            now=self._context.now(),
        )
        return _offer(name, replan)

    def offered(self, name: str, number: int) -> Offer:
        """Return an offer; raises NotFound."""
        return _offer(name, self._store.replan(name, number))

    def take(self, name: str, number: int) -> Offer:
        """Put an offer in force; raises StaleVersion where another was taken in between."""
        self.offered(name, number)  # one that can't be read is not taken
        taken = self._store.take(name, number, now=self._context.now())
        self._context.changes.notify(name)
        return _offer(name, taken)

    def save_figures(self, name: str, *, owner: str) -> int:
        """Store what the day said of each cooker as an owner's own figures; return how many."""
        event = self._context.store.events.get(name).event
        source = f"{event.title}, {event.date.isoformat()}"
        better = recalibrated(event, self.status(name).day_status.strengths, source)
        for cooker in better:
            own_cookers = self._context.store.own_cookers
            own_cookers.save(cooker, owner=owner, source=source, now=self._context.now())
        return len(better)


def _just_made(in_force: PlanInForce, now: datetime) -> bool:
    made_at = in_force.made_at
    return bool(in_force.replan_number and made_at and now - made_at < OFFER_EVERY)


def _offer(name: str, replan: Replan) -> Offer:
    try:
        plan = read_plan(replan.body)
    except ValidationError:
        number = replan.number
        raise NotFound(f"Plan {number} of {name} is an earlier program's. Plan again.") from None
    return Offer(replan.number, replan.after, replan.taken_at, plan)
