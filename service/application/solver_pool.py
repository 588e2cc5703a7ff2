"""Solver processes and the work that waits for them: limits, lanes, work begun again, stopped."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from contextlib import suppress
from dataclasses import dataclass, field
from threading import Event, Lock, Thread
from typing import Protocol, TypeVar, cast

from events.errors import Stopped
from service.application.lanes import ALL_LANES, Lane, Lanes, Order, gives_way
from service.application.worker_process import (
    Allowance,
    Outcome,
    ProcessDied,
    Work,
    WorkerProcess,
)
from service.settings import Settings
from solver.stages import Stage

LOOK_S = 0.1  # so often a thread looks whether its work shall stop
CLOCK_TIMES = 4  # by the clock, work may last so many times its processor time
TRIES = 2  # of work whose process died
NO_ORDER = Order()
REPLANS, REPLAN_NICE = frozenset((Lane.REPLAN,)), 3
T = TypeVar("T")
log = logging.getLogger("noonfare.solvers")


@dataclass(frozen=True)
class WorkStanding:
    """A piece of work that waits or runs: what it is for, since how many seconds."""

    order: Order
    running_s: float | None  # None while it waits
    ahead: int = 0  # how many wait before it
    waiting_s: float = 0.0  # how long it waited, or has
    stage: Stage | None = None  # of a plan that runs in a process of ours


class Solvers(Protocol):
    """Whatever can work: processes of our own, or a test's."""

    def submit(self, work: Callable[[str], T], payload: str, order: Order = NO_ORDER) -> Future[T]:
        """Begin work as soon as there is room; the future has what it makes of the payload."""

    def stop(self, event_id: str, lane: Lane) -> int:
        """Stop an event's work in a lane; return how many pieces. Their futures raise Stopped."""

    def standing(self) -> list[WorkStanding]:
        """Return what runs, then what waits."""

    def look(self) -> None:
        """Look for results now: another process says that there are some."""

    def close(self) -> None:
        """Stop all work. What is not done ends as cancelled."""


@dataclass(frozen=True)
class Limits:
    """What one piece of work may take."""

    memory_mb: int = 2000
    work_s: float = 120.0  # of processor time: a busy machine is not the work's doing


@dataclass(eq=False)
class _Job:
    """A piece of work on its way."""

    work: Work
    payload: str
    order: Order
    future: Future[object] = field(default_factory=Future)
    stop: Event = field(default_factory=Event)
    tries_left: int = TRIES
    asked_s: float = field(default_factory=time.monotonic)
    began_s: float | None = None
    stage: Stage | None = None
    put_back: bool = False  # it waits again, and is begun anew


class SolverPool:
    """Processes, each with the lanes that it serves."""

    def __init__(
        self,
        lanes_of_each: list[frozenset[Lane]],
        limits: Limits,
        *,
        nice: int = 15,
    ) -> None:
        self._limits, self._nice = limits, nice
        self._lanes = Lanes[_Job]()
        self._running: set[_Job] = set()
        self._lock, self._closing = Lock(), Event()
        self._threads = [Thread(target=self._serve, args=(s,), daemon=True) for s in lanes_of_each]
        for thread in self._threads:
            thread.start()

    def submit(self, work: Callable[[str], T], payload: str, order: Order = NO_ORDER) -> Future[T]:
        """Begin work as soon as there is room; the future has what it makes of the payload."""
        job = _Job(work, payload, order)
        if self._closing.is_set():
            job.future.cancel()
        else:
            self._lanes.put(job)
        return cast("Future[T]", job.future)

    def stop(self, event_id: str, lane: Lane) -> int:
        """Stop an event's work in a lane; return how many pieces. Their futures raise Stopped."""
        stopped = 0
        for job in [*self._running_now(), *self._lanes.waiting()]:
            if (job.order.event_id, job.order.lane) == (event_id, lane):
                stopped += 1
                job.stop.set()
                if self._lanes.remove(job):
                    _fail(job, Stopped("stopped"))
        return stopped

    def standing(self) -> list[WorkStanding]:
        """Return what runs, then what waits."""
        now = time.monotonic()
        running = [
            WorkStanding(j.order, now - j.began_s, 0, j.began_s - j.asked_s, j.stage)
            for j in self._running_now()
            if j.began_s is not None
        ]
        waiting = [
            WorkStanding(j.order, None, n, now - j.asked_s)
            for n, j in enumerate(self._lanes.waiting())
        ]
        return running + waiting

    def look(self) -> None:
        """Do nothing: results of our own processes come by themselves."""

    def close(self) -> None:
        """Stop all work. What is not done ends as cancelled."""
        self._closing.set()
        for job in self._lanes.close():
            job.future.cancel()
        for thread in self._threads:
            thread.join()

    def _running_now(self) -> list[_Job]:
        with self._lock:
            return list(self._running)

    def _serve(self, lanes: frozenset[Lane]) -> None:
        """Work in a process of its own, which is renewed where it dies, until the pool closes."""
        # People stand at hot pots: what does re-plans alone goes before other solves.
        nice = min(REPLAN_NICE, self._nice) if lanes == REPLANS else self._nice
        allowance = Allowance(self._limits.memory_mb, self._limits.work_s, nice)
        process = self._started(allowance)
        while process is not None and (job := self._lanes.take(lanes)) is not None:
            with self._lock:
                self._running.add(job)
            if process.has_died():  # while it was idle: not this work's doing
                process.kill()
                process = self._started(allowance)
            keep = process is not None and (job.future.cancelled() or self._work(process, job))
            with self._lock:
                if job.put_back and self._closing.is_set():
                    job.future.cancel()
                elif job.put_back:
                    job.put_back, job.began_s = False, None
                    self._lanes.put(job)
                self._running.discard(job)
            if process is None:
                job.future.cancel()
            elif not keep:
                process.kill()
                process = self._started(allowance)
        if process is not None:
            process.kill()

    def _started(self, allowance: Allowance) -> WorkerProcess | None:
        """Return a new process, as soon as the machine has room for one; None once it closes."""
        while not self._closing.is_set():
            try:
                return WorkerProcess(allowance)
            except (OSError, EOFError) as error:  # EOFError: what they are forked from has died
                log.warning("a solver could not be started, and is tried again: %r", error)
                self._closing.wait(LOOK_S)
        return None

    def _work(self, process: WorkerProcess, job: _Job) -> bool:
        """Do a piece of work; return whether its process can do another."""
        job.began_s, job.stage = time.monotonic(), None
        try:
            before_s = process.worked_s()
            process.begin(job.work, job.payload)
            while not process.ended(LOOK_S):
                job.stage = process.stage
                if self._closing.is_set():
                    job.future.cancel()
                    return False
                if job.stop.is_set():
                    _fail(job, Stopped("stopped"))
                    return False
                if job.future.cancelled():  # who asked wants it no more
                    return False
                if self._gives_way(job):
                    job.put_back = True
                    return False
                worked_s = process.worked_s() - before_s
                lasted_s = time.monotonic() - job.began_s
                if max(worked_s, lasted_s / CLOCK_TIMES) > self._limits.work_s:
                    _fail(job, Stopped("time", self._limits.work_s))
                    return False
            return self._deliver(job, process.outcome())
        except ProcessDied:
            self._begin_again(job)
            return False

    def _gives_way(self, job: _Job) -> bool:
        running = sorted(self._running_now(), key=lambda other: other.began_s or 0.0)
        return gives_way(job, running, [other.order for other in self._lanes.waiting()])

    def _deliver(self, job: _Job, outcome: Outcome) -> bool:
        if outcome.kind == "memory":
            _fail(job, Stopped("memory", self._limits.memory_mb))
            return False
        if outcome.kind == "error":
            assert isinstance(outcome.value, Exception)
            _fail(job, outcome.value)
        else:
            with suppress(InvalidStateError):  # given up in the same moment
                job.future.set_result(outcome.value)
        return outcome.grown_mb < self._limits.memory_mb // 2  # what has grown large is renewed

    def _begin_again(self, job: _Job) -> None:
        """Put work back whose process died; the second time, it is the work that kills."""
        job.tries_left -= 1
        if job.stop.is_set() or self._closing.is_set():
            _fail(job, Stopped("stopped"))
        elif job.tries_left:
            log.warning("a solver died; its work is begun again: %s", job.order.event_id)
            job.put_back = True
        else:
            log.error("a solver died twice of the same work: %s", job.order.event_id)
            _fail(job, Stopped("died", self._limits.memory_mb))


def limits_of(settings: Settings) -> Limits:
    """Return the limits that an operator set."""
    return Limits(settings.solver_memory_mb, settings.solver_work_s)


def solver_processes(count: int, limits: Limits) -> SolverPool:
    """Return one process for re-plans alone, one for plans, and those that also give advice."""
    plans = frozenset((Lane.REPLAN, Lane.PLAN))
    each = [REPLANS, *[plans] * (count - 1), ALL_LANES]
    return SolverPool(each, limits)


def _fail(job: _Job, error: Exception) -> None:
    with suppress(Exception):  # who asked may have given up in the same moment
        job.future.set_exception(error)
