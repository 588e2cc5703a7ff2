"""Work for a solver's process: text in, text out, so that any executor can carry it."""

from __future__ import annotations

import json
from datetime import datetime

from events.diary import StoredEntry
from events.errors import NoonfareError
from events.reading.event_file import read_event
from events.storage.tables import PlanState
from solver.feasibility.duration_table import estimates
from solver.feasibility.improvements import improvements
from solver.feasibility.season import season
from solver.live.replan import replan
from solver.plan import Plan
from solver.planning.pipeline import make_plan


def plan_text(case: str) -> tuple[PlanState, str]:
    """Return ("done", plan as JSON) or ("broken", why). Runs in a process of its own.

    Where the day has begun (the case has a plan), what has begun goes on.
    """
    told = json.loads(case)
    event = read_event(told["file"])
    try:
        if told["plan"] is None:
            return "done", make_plan(event).model_dump_json()
        entries = [StoredEntry.model_validate(e) for e in told["diary"]]
        now = datetime.fromisoformat(told["now"])
        plan = Plan.model_validate_json(told["plan"])
        return "done", replan(event, plan, entries, now).model_dump_json()
    except NoonfareError as error:
        return "broken", str(error)


def anew_text(case: str) -> str:
    """Return a plan made anew, or why there is none, as one text. As `plan_text`."""
    return json.dumps(plan_text(case))


def estimates_text(file: str) -> str:
    """Return an event file's estimates as JSON. Runs in a process of its own."""
    return json.dumps([e.model_dump(mode="json") for e in estimates(read_event(file))])


def fixes_text(file: str) -> str:
    """Return the changes that would help an event, as JSON. Runs in a process of its own."""
    event = read_event(file)
    return json.dumps([i.model_dump(mode="json") for i in improvements(event, make_plan(event))])


def season_text(file: str) -> str:
    """Return an event's year as JSON. Runs in a process of its own."""
    event = read_event(file)
    return season(event, event.date.year).model_dump_json()
