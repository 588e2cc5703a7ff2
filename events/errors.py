"""What can go wrong, in one tree.

NoonfareError
├── FaultyEvent      an event file has faults; carries them all, each with its place
├── NotFound         nothing of that name is here
├── StaleVersion     somebody changed the event in between
├── VersionMissing   a change that doesn't say which version it was made to
├── Unreachable      something outside (a forecast) did not answer
├── Busy             asked for what can't be done just now, or here
├── Stopped          a solve that was ended: it took too long, too much, or somebody stopped it
├── TooLarge         a day that would take this machine too long to plan
├── OutOfRange       a figure is outside the range its formula holds for
└── PlanBroken       check or replay refused a plan: a bug of ours, never shown as a plan
"""

from __future__ import annotations

from dataclasses import astuple, dataclass
from datetime import date, time
from typing import Literal, cast, get_args

from events.fault_kinds import FaultKind

StopReason = Literal["stopped", "time", "memory", "died"]
ErrorKind = (
    StopReason
    | Literal["no-event", "no-version", "no-plan", "no-replan", "no-sample", "no-row"]
    | Literal["many-events", "many-entries", "many-sheets", "many-replans", "many-questions"]
    | Literal["no-backup", "stale", "out-of-range", "plan-broken"]
)
SHOWN_LONGEST = 200  # characters of a value
# What stands in a file, or a figure of a fault; a name ends in its unit, as everywhere.
Figure = str | float | time | date | tuple[str, ...]


@dataclass(frozen=True)
class Place:
    """Where in a file: which table, which row of it. Nothing given is the file as a whole."""

    table: str = ""  # "dish", "site"; "row" or "hour" of a table of readings
    number: int | None = None  # which of the table's rows, from 1; None where there is one only
    id: str = ""  # the row's own id; of a skyline's row, its file

    def fault(self, key: str, value: Figure, kind: FaultKind, **figures: Figure) -> Fault:
        """Return a mistake made here; service/text/faults.py makes its sentence."""
        known = {name: _figure(figure) for name, figure in figures.items()}
        return Fault(
            self.table, self.number, _short(self.id), _short(key), _figure(value), kind, known
        )

    def not_a_number(self, key: str, value: object) -> Fault:
        """Return that something else stands where a number belongs."""
        return self.fault(key, repr(value), "not-a-number")


@dataclass(frozen=True)
class Fault:
    """One mistake in a file or a form: its place, what stands there, its kind with its figures."""

    table: str
    number: int | None
    id: str
    key: str  # as the file spells it; empty for the whole table
    value: Figure  # what stands there; empty where nothing does
    kind: FaultKind
    figures: dict[str, Figure]


def _short(text: str) -> str:
    """Return what is shown of what somebody wrote: enough to recognise it."""
    return text if len(text) <= SHOWN_LONGEST else f"{text[:SHOWN_LONGEST]}…"


def _figure(figure: Figure) -> Figure:
    return _short(figure) if isinstance(figure, str) else figure


WHOLE_FILE, SITE, WEATHER = Place(), Place("site"), Place("weather")
NOT_UTF8 = WHOLE_FILE.fault("", "", "not-utf8")


class NoonfareError(Exception):
    """Any refusal of ours: a sentence where `service` makes it, below it a kind with its figures.

    service/text/error_words.py says both.
    """

    def __init__(
        self, said: str = "", *, kind: ErrorKind | None = None, **figures: str | float
    ) -> None:
        self.kind, self.figures = kind, figures
        super().__init__(said or f"{kind}: {', '.join(map(str, figures.values()))}")

    def __reduce__(self) -> tuple[object, ...]:
        """Travel between processes with all it carries."""
        return _again, (type(self), self.args, vars(self))


def _again(
    kind: type[NoonfareError], args: tuple[object, ...], values: dict[str, object]
) -> NoonfareError:
    error = kind.__new__(kind, *args)
    error.args = args
    vars(error).update(values)
    return error


class FaultyEvent(NoonfareError):
    """An event file has faults; `faults` lists every one."""

    def __init__(
        self, source: str, faults: list[Fault], *, units: str = "metric", clock_h: int = 24
    ) -> None:
        self.source, self.units, self.clock_h = source, units, clock_h  # as the file says figures
        self.faults = list(faults)  # plain: it travels between processes
        fields = (" ".join(str(v) for v in astuple(f) if v not in ("", None)) for f in faults)
        super().__init__(f"{source}: {'; '.join(fields)}")


class NotFound(NoonfareError):
    """Nothing of that name is here."""


class StaleVersion(NoonfareError):
    """Somebody changed the event in between; `fingerprint` is of its version now."""

    def __init__(self, name: str, fingerprint: str) -> None:
        self.fingerprint = fingerprint
        super().__init__(kind="stale", name=name)


class VersionMissing(NoonfareError):
    """A change that doesn't say which version it was made to."""


class Unreachable(NoonfareError):
    """Something outside did not answer; the rest works without it."""


class Busy(NoonfareError):
    """Asked for what can't be done just now, or here."""


class Stopped(NoonfareError):
    """A solve was ended before it had an answer."""

    def __init__(self, reason: StopReason, limit: float = 0.0) -> None:
        self.reason, self.limit = reason, limit
        super().__init__(kind=reason, limit=limit)

    @property
    def written(self) -> str:
        """Return the reason with its limit, as it is stored."""
        return f"{self.reason} {self.limit:g}"

    @classmethod
    def read(cls, written: str) -> Stopped | None:
        """Return what was written so, or None where it is something else."""
        reason, _, limit = written.partition(" ")
        if reason not in get_args(StopReason):
            return None
        return cls(cast("StopReason", reason), float(limit or 0))


class TooLarge(NoonfareError):
    """A day that would take this machine too long to plan."""


class OutOfRange(NoonfareError):
    """A figure is outside the range its formula holds for."""

    def __init__(self, name: str, value: float, low: float, high: float) -> None:
        super().__init__(kind="out-of-range", name=name, value=value, low=low, high=high)


class PlanBroken(NoonfareError):
    """Check or replay refused a plan. This is a bug of ours; the plan is never shown."""

    def __init__(self, breaches: list[str]) -> None:
        self.breaches = breaches
        super().__init__(kind="plan-broken", breaches="; ".join(breaches))
