"""What can go wrong, in one tree.

NoonfareError
├── FaultyEvent      an event file has faults; carries them all, each with its place
├── NotFound         nothing of that name is here
├── StaleVersion     somebody changed the event in between
├── VersionMissing   a change that doesn't say which version it was made to
├── Unreachable      something outside (a forecast) did not answer
├── Busy             asked for what can't be done just now, or here
├── OutOfRange       a figure is outside the range its formula holds for
└── PlanBroken       check or replay refused a plan: a bug of ours, never shown as a plan
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One mistake in an event file: where it is, what stands there, the limit, what to do."""

    where: str  # "[[dish]] 2 (stew)" or "[site]"; empty for the file as a whole
    key: str
    value: str
    limit: str
    do: str

    def __str__(self) -> str:
        """Say the fault in one line, place first."""
        place = " ".join(part for part in (self.where, self.key) if part)
        shown = f" is {self.value}" if self.value else ""
        return f"{place or 'file'}{shown}: {self.limit}. {self.do}".rstrip()


class NoonfareError(Exception):
    """Any refusal of ours."""


class FaultyEvent(NoonfareError):
    """An event file has faults; `faults` lists every one."""

    def __init__(self, source: str, faults: list[Fault]) -> None:
        self.source = source
        self.faults = faults
        super().__init__(
            f"{source}: {len(faults)} fault(s)\n" + "\n".join(f"  {f}" for f in faults)
        )


class NotFound(NoonfareError):
    """Nothing of that name is here."""


class StaleVersion(NoonfareError):
    """Somebody changed the event in between; `mark` is what it is now."""

    def __init__(self, name: str, mark: str) -> None:
        self.mark = mark
        super().__init__(f"{name} was changed in between. Read it again, then change that.")


class VersionMissing(NoonfareError):
    """A change that doesn't say which version it was made to."""


class Unreachable(NoonfareError):
    """Something outside did not answer; the rest works without it."""


class Busy(NoonfareError):
    """Asked for what can't be done just now, or here."""


class OutOfRange(NoonfareError):
    """A figure is outside the range its formula holds for."""

    def __init__(self, name: str, value: float, low: float, high: float) -> None:
        super().__init__(f"{name} is {value:g}; it must be {low:g} to {high:g}.")


class PlanBroken(NoonfareError):
    """Check or replay refused a plan. This is a bug of ours; the plan is never shown."""

    def __init__(self, breaches: list[str]) -> None:
        self.breaches = breaches
        super().__init__("the plan broke its own rules: " + "; ".join(breaches))
