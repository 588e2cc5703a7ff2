"""What people can ask for, one function each; every door calls only this.

Solves run in processes of their own. What was asked is a row in the store, so a plan that was
being made when the service stopped is made when it starts again.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from threading import Lock
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from events.diary import Entry, StoredEntry
from events.errors import WHOLE_FILE, FaultyEvent, NotFound, VersionMissing
from events.model import Cooker, Event
from events.quantities import within
from events.reading.forecast_file import weather_from
from events.reading.write import write_event
from events.storage.store import Store
from events.storage.tables import PlanState, StoredEvent
from events.table import changed
from service.application.forecast import Forecasts
from service.application.result_cache import ResultCache
from service.application.solver_jobs import estimates_text, fixes_text, plan_text, season_text
from service.clock import Clock
from solver.feasibility.duration_table import Estimate
from solver.feasibility.improvements import Improvement, apply
from solver.feasibility.season import Season
from solver.live.reconcile import reconcile
from solver.plan import Plan, Turn, Window, turners
from solver.policy import SLOT_MIN
from solver.simulation.day import make_day
from solver.simulation.energy_flow import HeatFlow, heat_now
from solver.solar.windows import windows
from solver.thermal.readings import CalibrationResult, litre_test

TRIES = 5  # a killed worker takes every waiting solve of its pool with it
log = logging.getLogger("noonfare")


@dataclass(frozen=True)
class PlanNow:
    """An event's plan as it stands: being counted, done, or refused by our own checks."""

    state: PlanState
    plan: Plan | None
    made_at: datetime | None
    why: str  # what broke, where it is broken
    mark: str = ""  # fingerprint of what is in force: the event's, and which replan of it
    revision: int = 0  # of the replan that was taken last; 0 is the event's own plan


@dataclass(frozen=True)
class Written:
    """An entry of the diary as people see it."""

    kept: StoredEntry
    food: str
    conflict: str  # how it contradicts the newest plan, if it does
    undone: bool


@dataclass(frozen=True)
class NextTurn:
    """A turn still to come, or being due, and who walks to it."""

    turn: Turn
    helper_id: str | None
    in_min: float


class LitreTold(BaseModel):
    """What is told of a litre test: two readings, when, and the sky as seen."""

    model_config = ConfigDict(frozen=True)

    day: date = Field(examples=["2026-11-28"])
    at: time = Field(examples=["11:00"])
    minutes: Annotated[int, Field(ge=5, le=240, examples=[20])]
    from_c: Annotated[float, Field(ge=0, le=60, examples=[20])]
    to_c: Annotated[float, Field(ge=5, le=100, examples=[58])]
    litres: Annotated[float, Field(ge=0.2, le=20, examples=[1])] = 1.0
    air_c: Annotated[float, within("air_c")] = 25.0
    cloud_pct: Annotated[float, within("cloud_pct")] = 0.0


@lru_cache(maxsize=32)
def _plan_of(body: str) -> Plan:
    return Plan.model_validate_json(body)


@lru_cache(maxsize=64)
def _windows_of(event_json: str) -> tuple[Window, ...]:
    return windows(Event.model_validate_json(event_json))


class Desk:
    """Where people ask. Needs a store, a clock, and a way to make executors for solves."""

    def __init__(
        self,
        store: Store,
        clock: Clock,
        make_pool: Callable[[], Executor],
        forecasts: Forecasts,
        *,
        page_wait_s: float | None = None,
        api_wait_s: float | None = None,
    ) -> None:
        self.page_wait_s, self.api_wait_s = page_wait_s, api_wait_s
        self.store, self.now, self._make_pool = store, clock, make_pool
        self._forecasts = forecasts
        self._pool = make_pool()
        self._renewing = Lock()
        self._closed = False
        self._answers = ResultCache(self.run)
        self.news: dict[str, int] = {}  # how often something of an event has changed
        for name, version in store.plans.asked():
            self._ask_plan(name, version)

    def close(self) -> None:
        """Stop solving; what is still asked is asked again at the next start."""
        self._closed = True
        self._answers.close()
        self._pool.shutdown(wait=False, cancel_futures=True)
        self.store.close()

    def put_event(self, event: Event) -> StoredEvent:
        """Keep a new event and have it planned."""
        kept = self.store.events.add(event, now=self.now())
        self._ask_plan(kept.id, kept.version)
        return kept

    def change_event(self, name: str, event: Event, *, if_match: str | None) -> StoredEvent:
        """Keep a new version of an event and have it planned; `if_match` is the ETag it had."""
        old = self.store.events.get(name)
        if not if_match:
            raise VersionMissing("Send If-Match with the ETag you read: another may change it too.")
        mark = if_match.removeprefix("W/").strip('"')
        before = self._before(old, old.version + 1)
        if before and event.date == old.date:
            reconcile(event, Plan.model_validate_json(before), self.now())
        kept = self.store.events.change(name, event, fingerprint=mark, now=self.now())
        self._ask_plan(kept.id, kept.version)
        return kept

    def change_weather(self, name: str, text: str | None, *, if_match: str | None) -> StoredEvent:
        """Take an event's hours from a table or a feed's text; None fetches it, where it may."""
        kept = self.store.events.get(name)
        site, source = kept.event.site, "uploaded forecast"
        if text is None:
            text = self._forecasts.text(site.latitude_deg, site.longitude_deg)
            source = f"{self._forecasts.credit}, fetched {self.now():%Y-%m-%d %H:%M} UTC"
        weather = weather_from(text, source=source, day=kept.date, zone=kept.event.zone)
        return self.change_event(name, changed(kept.event, weather=weather), if_match=if_match)

    def heat_of(self, name: str, cooker_id: str, at: datetime | None) -> HeatFlow:
        """Return where a cooker's watts go at an instant: for a talk."""
        kept = self.store.events.get(name)
        cooker = self.cooker_of(kept, cooker_id)
        plan = self.plan_of(name).plan
        placed = plan.placements if plan else ()
        return heat_now(make_day(kept.event), cooker, at or self.now(), placed)

    def litre_test(self, name: str, cooker_id: str, told: LitreTold) -> CalibrationResult:
        """Return a cooker's strength from two readings of some water."""
        kept = self.store.events.get(name)
        return litre_test(kept.event, self.cooker_of(kept, cooker_id), **told.model_dump())

    @staticmethod
    def cooker_of(kept: StoredEvent, cooker_id: str) -> Cooker:
        """Return an event's cooker; raises NotFound."""
        for cooker in kept.event.cookers:
            if cooker.id == cooker_id:
                return cooker
        raise NotFound(f"No cooker “{cooker_id}” in {kept.id}.")

    def event_of(self, name: str) -> StoredEvent:
        """Return an event; raises NotFound."""
        return self.store.events.get(name)

    def file_of(self, name: str) -> str:
        """Return an event as a file's text."""
        return write_event(self.store.events.get(name).event)

    def events(self) -> list[StoredEvent]:
        """Return every event, latest first."""
        return self.store.events.all()

    def windows_of(self, name: str) -> tuple[Window, ...]:
        """Return the sun windows of the site and of each sun cooker."""
        return _windows_of(self.store.events.get(name).event.model_dump_json())

    def estimates_of(self, name: str) -> list[Estimate]:
        """Return the table of minutes: each dish in each cooker at each start."""
        text = self.run(estimates_text, self.file_of(name))
        return [Estimate.model_validate(e) for e in json.loads(text)]

    def plan_of(self, name: str) -> PlanNow:
        """Return the plan of an event's present version."""
        kept = self.store.events.get(name)
        anew = self.store.plans.replan_in_force(name, kept.version)
        if anew is not None:
            mark = f"{kept.fingerprint}.{anew.number}"
            return PlanNow("done", _plan_of(anew.body), anew.taken_at, "", mark, anew.number)
        found = self.store.plans.get(name, kept.version)
        plan = _plan_of(found.body) if found.state == "done" else None
        why = found.body if found.state == "broken" else ""
        mark = kept.fingerprint if found.state == "done" else f"{kept.fingerprint}?"
        return PlanNow(found.state, plan, found.made_at, why, mark)

    def next_turns(
        self, name: str, *, now: datetime | None, helper_id: str | None, cooker_id: str | None
    ) -> list[NextTurn]:
        """Return the turns due or still to come at `now` (the clock's, unless given)."""
        at = now or self.now()
        kept = self.store.events.get(name)
        if helper_id is not None and helper_id not in {h.id for h in kept.event.helpers}:
            raise NotFound(f"No helper “{helper_id}” in {name}.")
        if cooker_id is not None and cooker_id not in {c.id for c in kept.event.cookers}:
            raise NotFound(f"No cooker “{cooker_id}” in {name}.")
        plan = self.plan_of(name).plan
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

    def write_down(self, name: str, entry: Entry) -> Written:
        """Append a press to the diary; what it names must be in the event."""
        kept = self.store.events.get(name)
        event = kept.event
        for field, known in (
            ("helper_id", {h.id for h in event.helpers}),
            ("cooker_id", {c.id for c in event.cookers}),
        ):
            value = getattr(entry, field)
            if value is not None and value not in known:
                raise NotFound(f"No {field.removesuffix('_id')} “{value}” in {name}.")
        if entry.kind == "probed" and entry.core_c is None:
            fault = WHOLE_FILE.fault(
                "core_c", "", "a reading needs it", "Write what the probe shows."
            )
            raise FaultyEvent("the press", [fault])
        if entry.kind == "undo" and not entry.undoes:
            fault = WHOLE_FILE.fault(
                "undoes", "", "an undo needs it", "Say which entry was a mistake."
            )
            raise FaultyEvent("the press", [fault])
        written = self.store.diary.append(name, entry, now=self.now())
        self.ring(name)
        return self._told(kept, [written], self.plan_of(name))[0]

    def diary_of(self, name: str, *, after: int = 0) -> list[Written]:
        """Return what was written down, in order, with what contradicts the plan."""
        kept = self.store.events.get(name)
        return self._told(kept, self.store.diary.entries(name, after=after), self.plan_of(name))

    def ring(self, name: str) -> None:
        """Tell those who listen that something of an event has changed."""
        self.news[name] = self.news.get(name, 0) + 1

    @staticmethod
    def _told(kept: StoredEvent, entries: list[StoredEntry], now: PlanNow) -> list[Written]:
        plan = now.plan
        undone = {k.entry.undoes for k in entries if k.entry.kind == "undo"}
        known = {p.id: p.dish_id for p in plan.placements} if plan else {}
        work = {j.id for j in plan.jobs} | {w.id for w in plan.walks} if plan else set[str]()
        names = {d.id: d.name for d in kept.event.dishes}
        out = []
        for k in entries:
            e, conflict = k.entry, ""
            if e.plan and e.plan != now.mark:
                if e.placement_id and plan and e.placement_id not in known:
                    conflict = "this pot is not in the newest plan"
                elif e.job_id and plan and e.job_id not in work:
                    conflict = "this job is not in the newest plan"
            food = names.get(known.get(e.placement_id or "", ""), "")
            out.append(Written(k, food, conflict, e.id in undone))
        return out

    def fixes_of(self, name: str, *, wait_s: float | None) -> list[Improvement]:
        """Return the smallest changes that would help refused or unsure dishes."""
        plan = self.plan_of(name).plan
        if plan is None:
            raise NotFound(f"No plan of {name} yet. Look again in a moment.")
        kept = self.store.events.get(name)
        text = self._answers.get(kept.fingerprint, fixes_text, self.file_of(name), wait_s)
        return [Improvement.model_validate(i) for i in json.loads(text)]

    def apply_fix(self, name: str, fix_id: str, *, if_match: str | None) -> StoredEvent:
        """Make one of the changes; the event is planned again."""
        better = apply(self.store.events.get(name).event, fix_id)
        if better is None:
            raise NotFound(f"No change “{fix_id}” for {name}.")
        return self.change_event(name, better, if_match=if_match)

    def season_of(self, name: str, *, wait_s: float | None) -> Season:
        """Return the year's map for an event's site, dishes and cookers."""
        mark = self.store.events.get(name).fingerprint
        text = self._answers.get(mark, season_text, self.file_of(name), wait_s)
        return Season.model_validate_json(text)

    def ask(self, key: str, work: Callable[[str], str], text: str, *, wait_s: float | None) -> str:
        """Return what work makes of a text, asked once; raises Busy where that takes longer."""
        return self._answers.get(key, work, text, wait_s)

    def run(self, work: Callable[[str], str], text: str) -> str:
        """Run work in a solver's process, and once more where that dies."""
        for _ in range(TRIES - 1):
            pool = self._pool
            try:
                return pool.submit(work, text).result()
            except BrokenProcessPool:
                self._renew(pool)
        return self._pool.submit(work, text).result()

    def _renew(self, broken: Executor) -> None:
        """Put a fresh pool in the place of a broken one, once, however many notice it."""
        with self._renewing:
            if self._pool is broken:
                self._pool = self._make_pool()

    def _to_plan(self, name: str, version: int) -> str:
        """Return what a solver needs: the file; on a day that has begun, where it stands too."""
        return self.case_of(name, self._before(self.store.events.get(name), version))

    def _before(self, kept: StoredEvent, version: int) -> str | None:
        """Return the plan that holds today for versions before one, if it is that day."""
        if self.now().astimezone(kept.event.zone).date() == kept.date:
            for earlier in range(version - 1, 0, -1):
                anew = self.store.plans.replan_in_force(kept.id, earlier)
                last = self.store.plans.get(kept.id, earlier)
                if anew is not None or last.state == "done":
                    return anew.body if anew else last.body
        return None

    def case_of(self, name: str, plan: str | None) -> str:
        """Return an event's file, plan, diary and the time as one text, for a solver's process."""
        entries = (
            [e.model_dump(mode="json") for e in self.store.diary.entries(name)] if plan else []
        )
        now = self.now().isoformat()
        return json.dumps({"file": self.file_of(name), "plan": plan, "diary": entries, "now": now})

    def _ask_plan(self, name: str, version: int, *, tries: int = TRIES) -> None:
        if self.store.plans.get(name, version).state != "asked":
            return
        if self.store.events.get(name).version != version:
            self._keep(name, version, "broken", "a newer version took its place")
            return
        pool = self._pool

        def done(future: Future[tuple[PlanState, str]]) -> None:
            if future.cancelled() or self._closed:
                return
            try:
                state, body = future.result()
            except BrokenProcessPool:
                again()
                return
            except Exception:  # a bug of ours: nobody is left waiting for a plan that never comes
                log.exception("%s, version %d", name, version)
                state, body = "broken", "a fault of the program; its log says which"
            if state == "broken":
                log.error("%s, version %d: %s", name, version, body)
            self._keep(name, version, state, body)

        def again() -> None:
            log.warning("a solver died while it planned %s", name)
            self._renew(pool)
            if tries > 1:
                self._ask_plan(name, version, tries=tries - 1)
            else:
                self._keep(name, version, "broken", f"the solver died {TRIES} times")

        try:
            pool.submit(plan_text, self._to_plan(name, version)).add_done_callback(done)
        except BrokenProcessPool:
            again()

    def _keep(self, name: str, version: int, state: PlanState, body: str) -> None:
        self.store.plans.save(name, version, state=state, body=body, now=self.now())
        self.ring(name)
