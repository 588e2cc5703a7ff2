"""Which stage of a plan is under way, reported to whoever waits for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Literal

Stage = Literal["day", "durations", "timetable", "chances"]
Report = Callable[[Stage], None]
_report: ContextVar[Report | None] = ContextVar("report", default=None)


@contextmanager
def reporting(report: Report) -> Iterator[None]:
    """Have the plans inside report each stage as it begins."""
    token = _report.set(report)
    try:
        yield
    finally:
        _report.reset(token)


def begin(stage: Stage) -> None:
    """Report that a stage begins; nobody need listen."""
    report = _report.get()
    if report is not None:
        report(stage)
