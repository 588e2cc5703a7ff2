"""A process beside ours that does one piece of work at a time, within limits, and can be stopped.

It ends with its parent, however that ends. All are forked from one process that has loaded what
they need, so that one that was stopped is replaced at once. What it may take of memory is counted
from what it has when it is ready, so that libraries it maps do not count.
"""

from __future__ import annotations

import gc
import math
import os
import signal
from collections.abc import Callable
from contextlib import suppress
from contextvars import ContextVar
from dataclasses import dataclass
from multiprocessing import forkserver, get_all_start_methods, get_context, parent_process
from multiprocessing.connection import Connection, wait
from pathlib import Path
from threading import Thread
from time import process_time
from typing import TYPE_CHECKING, Literal

from solver.stages import Stage, reporting

if TYPE_CHECKING:  # a system that can't fork has no such name
    from multiprocessing.context import ForkServerContext, SpawnContext

MB = 1024 * 1024
OutcomeKind = Literal["value", "error", "memory"]
PRELOAD = (  # takes a second or three; what plans import as they come to it, they share as well
    "service.application.reading",
    "service.application.solver_jobs",
    "solver.scheduling.lexicographic",
    "solver.rostering.model",
    "service.application.loaded_ahead",
)
Work = Callable[[str], object]
GOOD_SHARE = 1 / 2  # of the time that work may take; the rest is for what comes after the best plan
_ends_s: ContextVar[float] = ContextVar("ends_s", default=math.inf)  # of processor time


@dataclass(frozen=True)
class Allowance:
    """What a process may take, and how far it stands back."""

    memory_mb: int
    work_s: float = math.inf  # of processor time
    nice: int = 15


@dataclass(frozen=True)
class Outcome:
    """How a piece of work ended: with a value, an error, or for want of memory."""

    kind: OutcomeKind
    value: object
    grown_mb: int  # the most that the process has held over what it had when it was ready


@dataclass(frozen=True)
class Begun:
    """A stage of a plan that its process has begun."""

    stage: Stage


class ProcessDied(Exception):
    """The process ended in the middle of its work."""


def seconds_left() -> float:
    """Return how long the work that this process is at may go on improving its answer."""
    return _ends_s.get() - process_time()


class WorkerProcess:
    """A process that waits for work."""

    def __init__(self, allowance: Allowance) -> None:
        context = _context()
        self.stage: Stage | None = None  # of the plan that it is at
        self._heard: object = None
        self._line, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, allowance), daemon=True)
        self._process.start()
        theirs.close()

    @property
    def pid(self) -> int:
        """Return its number on this machine."""
        return self._process.pid or 0

    def worked_s(self) -> float:
        """Return the processor time that it has had; 0 where the system says none or it is gone."""
        try:
            figures = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        except OSError:
            return 0.0
        return (int(figures[11]) + int(figures[12])) / os.sysconf("SC_CLK_TCK")

    def begin(self, work: Work, payload: str) -> None:
        """Hand it work; raises ProcessDied."""
        self.stage = None
        try:
            self._line.send((work, payload))
        except OSError as error:
            raise ProcessDied from error

    def ended(self, wait_s: float) -> bool:
        """Wait a while; return whether the work has ended. Raises ProcessDied."""
        ready = wait([self._line, self._process.sentinel], wait_s)
        if not ready:
            return False
        if self._line not in ready:
            raise ProcessDied
        try:
            self._heard = self._line.recv()
        except Exception as error:  # its end, or an answer that can't be read here
            raise ProcessDied from error
        if isinstance(self._heard, Begun):
            self.stage = self._heard.stage
        return not isinstance(self._heard, Begun)

    def outcome(self) -> Outcome:
        """Return how the work ended, once it has."""
        assert isinstance(self._heard, Outcome)
        return self._heard

    def has_died(self) -> bool:
        """Return whether it is gone."""
        return bool(wait([self._process.sentinel], 0))

    def kill(self) -> None:
        """End it at once, in the middle of its work."""
        self._process.kill()
        self._process.join()
        self._line.close()


def load_ahead(main: str) -> None:
    """Begin to load what processes are forked with: who starts meanwhile waits less for it.

    `main` is the module that a command begins with: each process would load it for itself.
    """
    context = _context()
    if context.get_start_method() == "forkserver":
        context.set_forkserver_preload([*PRELOAD, main])
        forkserver.ensure_running()


def _context() -> ForkServerContext | SpawnContext:
    """Return how processes are made; where none can be forked, each loads what it needs itself."""
    if "forkserver" not in get_all_start_methods():
        return get_context("spawn")
    context = get_context("forkserver")
    context.set_forkserver_preload(list(PRELOAD))  # counts for the first process
    return context


def _serve(line: Connection, allowance: Allowance) -> None:
    """Work until the parent goes."""
    gc.freeze()  # looking through what is shared would copy it, page by page
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches all; the parent stops us
    Thread(target=_end_with_parent, daemon=True).start()
    with suppress(OSError):
        os.nice(allowance.nice)
    _limit_memory(allowance.memory_mb)
    ready_mb = _peak_mb()
    while True:
        try:
            work, payload = line.recv()
        except EOFError:
            return
        _ends_s.set(process_time() + allowance.work_s * GOOD_SHARE)
        with reporting(lambda stage: line.send(Begun(stage))):
            kind, value = _done(work, payload)
        line.send(Outcome(kind, value, _peak_mb() - ready_mb))


def _done(work: Work, payload: str) -> tuple[OutcomeKind, object]:
    try:
        return "value", work(payload)
    except MemoryError:
        return "memory", None
    except Exception as error:
        return "error", error


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _limit_memory(memory_mb: int) -> None:
    try:
        import resource  # noqa: PLC0415  not on every system
    except ImportError:
        return
    mapped = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    most = mapped + memory_mb * MB
    resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _peak_mb() -> int:
    """Return the most memory that this process has held; 0 where the system does not say."""
    try:
        status = Path("/proc/self/status").read_text()
    except OSError:
        return 0
    peak = next(line for line in status.splitlines() if line.startswith("VmHWM"))
    return int(peak.split()[1]) // 1024
