"""A running day watched: its chances by now, and where they fall another plan, offered only.

A look is worked out once for each plan, press that matters and five minutes, in the lane of
re-plans; one at a time for each event, the newest. An event is watched while its pages are open.
"""

from __future__ import annotations

import logging
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from threading import Lock

from events.diary import EntryKind
from events.errors import NoonfareError
from service.application.context import Context
from service.application.lanes import Lane, Order
from service.application.live_day import LiveDayService
from service.application.plans import PlanInForce, PlanService
from service.application.solver_jobs import watch_job, watch_payload
from solver.live.watch import DayLook

LOOK_EVERY = timedelta(minutes=5)  # with nothing pressed
PLAN_EVERY = timedelta(minutes=10)  # with nothing pressed, where nothing better was found
WATCHED = timedelta(minutes=10)  # after a page of it was shown
CHANGES_NOTHING: frozenset[EntryKind] = frozenset(
    ["seen", "read-changes", "note", "stirred", "need-help", "hurt", "fire"]
)
log = logging.getLogger("noonfare")


@dataclass(frozen=True)
class DaySeen:
    """What the last look at a day saw, under the plan that is in force."""

    revision: str
    entry_number: int  # of the newest press that matters
    look: DayLook
    planned_at: datetime | None  # when it was last planned again, unasked
    offer_number: int | None  # of the plan that is better, if one was found
    declined: bool = False  # whoever runs the day stays with the plan in force

    @property
    def nothing_better(self) -> bool:
        """Whether another plan was looked for, and none was better."""
        return self.planned_at is not None and self.offer_number is None and not self.declined


class DayWatch:
    """Events on their day, looked at while somebody has a page of theirs open."""

    def __init__(self, context: Context, plans: PlanService, live_day: LiveDayService) -> None:
        self._context, self._plans, self._live_day = context, plans, live_day
        self._lock = Lock()
        self._shown_at: dict[str, datetime] = {}
        self._seen: dict[str, DaySeen] = {}
        self._looking: set[str] = set()

    def shown(self, name: str) -> None:
        """Note that a page of an event was shown."""
        with self._lock:
            self._shown_at[name] = self._context.now()

    def seen(self, name: str, revision: str) -> DaySeen | None:
        """Return what the last look saw, if it was under the plan that is in force."""
        found = self._seen.get(name)
        return found if found and found.revision == revision else None

    def decline(self, name: str, number: int) -> None:
        """Offer a plan no longer: whoever runs the day has seen it, and stays with theirs."""
        with self._lock:
            seen = self._seen.get(name)
            if seen is not None and seen.offer_number == number:
                self._seen[name] = replace(seen, offer_number=None, declined=True)

    def look_at_all(self) -> None:
        """Look at every event of which a page was shown lately."""
        now = self._context.now()
        with self._lock:
            self._shown_at = {n: at for n, at in self._shown_at.items() if now - at < WATCHED}
            self._seen = {n: seen for n, seen in self._seen.items() if n in self._shown_at}
            names = list(self._shown_at)
        for name in names:
            try:
                self.look(name)
            except NoonfareError:  # it was deleted, or its plan is being made
                log.info("%s could not be looked at", name)

    def look(self, name: str) -> None:
        """Have an event looked at, if it is its day and something may have changed."""
        in_force, now = self._plans.in_force(name), self._context.now()
        event, plan = in_force.event, in_force.plan
        today = now.astimezone(event.zone).date() == event.date
        if plan is None or in_force.state != "done" or not today:
            return
        if all(p.last_plate_at <= now for p in plan.placements):
            return
        number = self._newest_that_matters(name)
        with self._lock:
            before = self.seen(name, in_force.revision)
            is_known = before is not None and before.entry_number == number
            if name in self._looking or (before and is_known and _is_fresh(before, now)):
                return
            self._looking.add(name)
        planned_at = before.planned_at if before else None
        plan_again = not is_known or planned_at is None or now - planned_at >= PLAN_EVERY
        payload = watch_payload(event, self._plans.day_begun(name, plan), plan_again=plan_again)
        order = Order(Lane.REPLAN, name, "watch")
        try:
            future = self._context.solvers.submit(watch_job, payload, order)
        except BaseException:
            self._looking.discard(name)
            raise
        future.add_done_callback(lambda done: self._came(name, in_force, number, done))

    def _newest_that_matters(self, name: str) -> int:
        entries = self._context.store.diary.entries(name)
        numbers = (k.number for k in entries if k.entry.kind not in CHANGES_NOTHING)
        return max(numbers, default=0)

    def _came(self, name: str, in_force: PlanInForce, number: int, done: Future[str]) -> None:
        """Keep what a look saw, with the plan it found as an offer; look again if it is old."""
        try:
            look = DayLook.model_validate_json(done.result())
            before = self.seen(name, in_force.revision)
            seen = DaySeen(in_force.revision, number, look, None, None)
            if look.plan is not None:
                offer = self._offer(name, in_force, look) if look.plan.gains else None
                seen = DaySeen(in_force.revision, number, look, look.at, offer)
            elif before is not None and look.causes:
                seen = replace(before, entry_number=number, look=look)
            with self._lock:
                self._seen[name] = seen
        except CancelledError:
            return  # the service stops
        except Exception:  # a bug of ours, or an event that is gone: the day goes on without it
            log.exception("%s: a look at the day failed", name)
            return
        finally:
            with self._lock:
                self._looking.discard(name)
        self._context.changes.notify(name)

    def _offer(self, name: str, in_force: PlanInForce, look: DayLook) -> int:
        assert look.plan is not None
        body = look.plan.model_dump_json()
        return self._live_day.store_offer(name, in_force, body).number


def _is_fresh(seen: DaySeen, now: datetime) -> bool:
    return now - seen.look.at < LOOK_EVERY
