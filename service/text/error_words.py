"""What is refused whole, in words: nothing of that name, too many at once, a solve that ended."""

from __future__ import annotations

from events.errors import ErrorKind, NoonfareError, Stopped

_FEWER = "Take fewer dishes or cookers at once."
ERRORS: dict[ErrorKind, str] = {
    "no-event": "No event “{name}” here.",
    "no-version": "No version {version} of {name} here.",
    "no-plan": "No plan of {name}, version {version}.",
    "no-replan": "No plan {number} made anew for {name}.",
    "no-sample": 'No sample "{name}". There are: {known}.',
    "no-row": "{event} has no {table} “{id}”.",
    "many-events": "Many put in events at once. Send it again.",
    "many-entries": "The diary of {name} is being written by many at once. Send it again.",
    "many-sheets": "The contest of {name} is being written by many at once. Send it again.",
    "many-replans": "Many plan {name} anew at once. Try again.",
    "many-questions": "Many ask the same at once. Ask again.",
    "no-backup": "This database has its own tools for backup: pg_dump for PostgreSQL.",
    "stale": "{name} was changed in between. Read it again, then change that.",
    "out-of-range": "{name} is {value:g}; it must be {low:g} to {high:g}.",
    "plan-broken": "the plan broke its own rules: {breaches}",
    "stopped": "It was stopped.",
    "time": f"It takes more than {{limit:g}} seconds of work on this machine. {_FEWER}",
    "memory": f"It needs more than {{limit:g}} MB. {_FEWER}",
    "died": "Its solver died twice, perhaps for want of memory ({limit:g} MB).",
}


def error_text(error: Exception) -> str:
    """Return what an error of ours says: its kind's sentence, or its own."""
    if not isinstance(error, NoonfareError) or error.kind is None:
        return str(error)
    return ERRORS[error.kind].format(**error.figures)


def why_stopped(written: str) -> str:
    """Return why a plan was stopped, as its row has it; a sentence that stands there as it is."""
    stopped = Stopped.read(written)
    return written if stopped is None else error_text(stopped)
