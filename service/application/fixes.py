"""What would mend a plan's problems: each change is tried on the whole day, one at a time.

A trial is planned as a press would have it planned, so its chance is the one that the press brings.
Only one of an event is under way at a time, and all of them give way to plans.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass
from typing import Literal

from events.errors import Busy, NoonfareError, Stopped, TooLarge
from events.identity import fingerprint_of
from events.model import Event
from service.application.asker import ASKER
from service.application.context import Context
from service.application.lanes import Lane, Order
from service.application.price import require_plannable
from service.application.solver_jobs import job_payload, outcome_job
from solver.feasibility.changes import (
    EatLater,
    EatSooner,
    EventChange,
    LeaveOut,
    MakeLess,
    apply,
    changed_event,
)
from solver.feasibility.improvements import Tries, tries
from solver.feasibility.outcomes import NOTHING, Outcome, no_worse, outcome_of
from solver.feasibility.problems import Problem, helps, problems
from solver.feasibility.remedies import Fix
from solver.plan import Plan

TrialState = Literal["waits", "runs", "stopped", "failed", "done"]


@dataclass(frozen=True)
class Trial:
    """A change, or several at once, and how far its trial is."""

    ids: tuple[str, ...]
    state: TrialState
    outcome: Outcome | None = None


@dataclass(frozen=True)
class ProblemTrial:
    """A problem with the first of its changes that helps, or that may; None where none does."""

    problem: Problem
    fix: Fix | None
    trial: Trial | None
    tried: tuple[Fix, ...]  # of its changes


@dataclass(frozen=True)
class FixTrials:
    """All problems that are shown, and all their changes together, where there are several."""

    before: Outcome
    problems: tuple[ProblemTrial, ...]
    together: Trial | None

    @property
    def states(self) -> frozenset[TrialState]:
        """Return how far the trials are."""
        trials = [*(p.trial for p in self.problems), self.together]
        return frozenset(t.state for t in trials if t is not None)

    @property
    def tried(self) -> int:
        """Return how many changes are tried."""
        whole = self.together is not None and self.together.state == "done"
        return sum(len(p.tried) for p in self.problems) + whole


@dataclass(frozen=True)
class SmallChanges:
    """What is known of all small changes, and whether somebody stopped their trials."""

    tries: Tries
    is_stopped: bool


class FixService:
    """Trials of changes; none of them changes the event."""

    def __init__(self, context: Context) -> None:
        self._context = context

    def known(self, event: Event, plan: Plan) -> FixTrials:
        """Return what is known of the changes that may help; asks for nothing."""
        before = outcome_of(plan)
        shown = tuple(self._of(event, before, p) for p in problems(event, plan))
        return FixTrials(before, shown, self._together(event, before, shown))

    def ask(self, name: str, event: Event, plan: Plan, *, again: bool = False) -> FixTrials:
        """Return the same; the first change that is not tried yet is begun.

        What somebody stopped is begun anew only `again`.
        """
        trials = self.known(event, plan)
        waiting = ("waits", "stopped") if again else ("waits",)
        if "runs" in trials.states or ("stopped" in trials.states and not again):
            return trials
        for trial in _trials(trials):
            if trial.state in waiting:
                tried = apply(event, *trial.ids)
                assert tried is not None  # as in _trial
                self._begin(name, tried)
                return self.known(event, plan)
        return trials

    def _of(self, event: Event, before: Outcome, problem: Problem) -> ProblemTrial:
        tried: tuple[Fix, ...] = ()
        for fix in problem.fixes:
            trial = self._trial(event, tuple(one.id for one in fix.all))
            if trial.state not in ("done", "failed"):
                return ProblemTrial(problem, fix, trial, tried)
            tried += (fix,)
            if trial.outcome is not None and helps(problem, before, trial.outcome):
                return ProblemTrial(problem, fix, trial, tried)
        return ProblemTrial(problem, None, None, tried)

    def _together(
        self, event: Event, before: Outcome, shown: tuple[ProblemTrial, ...]
    ) -> Trial | None:
        """Return all changes at once, where there are several; not where that is no better."""
        fixes = _compatible([one for p in shown if p.fix is not None for one in p.fix.all])
        if sum(p.fix is not None for p in shown) < 2 or len(fixes) < 2:
            return None
        trial = self._trial(event, tuple(fix.id for fix in fixes))
        if trial.outcome is None:
            return None if trial.state == "failed" else trial
        combined = {fix.id for fix in fixes}
        alone = [
            p.trial.outcome
            for p in shown
            if p.fix and p.fix.id in combined and p.trial and p.trial.outcome
        ]
        return trial if all(no_worse(one, trial.outcome) for one in [before, *alone]) else None

    def all_tries(
        self, name: str, event: Event, plan: Plan, *, begin: bool = True, again: bool = False
    ) -> SmallChanges:
        """Return what is known of all small changes, and begin the next; none while one runs.

        They share what was tried for the day's own problems. What somebody stopped is begun anew
        only `again`.
        """
        states = set[TrialState]()

        def known(change: EventChange) -> Outcome | None:
            trial = self._of_event(changed_event(event, change), ())
            states.add(trial.state)
            return NOTHING if trial.state == "failed" else trial.outcome

        found = tries(event, plan, known)
        is_free = begin and "runs" not in states and ("stopped" not in states or again)
        if found.next is not None and is_free:
            self._begin(name, changed_event(event, found.next))
            states.clear()
            found = tries(event, plan, known)
        return SmallChanges(found, "stopped" in states)

    def _trial(self, event: Event, ids: tuple[str, ...]) -> Trial:
        tried = apply(event, *ids)
        assert tried is not None  # a problem's changes are changes of its event
        return self._of_event(tried, ids)

    def _of_event(self, tried: Event, ids: tuple[str, ...]) -> Trial:
        try:
            require_plannable(tried)
        except TooLarge:
            return Trial(ids, "failed")
        future = self._context.results.known(fingerprint_of(tried), outcome_job)
        return Trial(ids, "waits") if future is None else _read(ids, future)

    def _begin(self, name: str, tried: Event) -> None:
        key, order = fingerprint_of(tried), Order(Lane.ADVICE, name, ASKER.get())
        with suppress(Busy):  # begun when less is asked about this day
            self._context.results.ask(key, outcome_job, job_payload(tried), order=order)


def _compatible(fixes: list[Fix]) -> list[Fix]:
    """Return the changes that can be made at once: of one meal's moves the furthest alone.

    Of one dish's portions the fewest. No dish is left out where others may help.
    """
    of: dict[object, Fix] = {}
    for fix in fixes:
        change = fix.change
        if isinstance(change, LeaveOut):
            continue
        key: object = change
        if isinstance(change, EatLater | EatSooner):
            key = ("meal", change.meal_id)
        elif isinstance(change, MakeLess):
            key = ("portions", change.dish_id)
        if key not in of or _size(change) > _size(of[key].change):
            of[key] = fix
    return list(of.values())


def _size(change: EventChange) -> int:
    """Return how much a change is, beside another of its sort."""
    if isinstance(change, EatLater | EatSooner):
        return change.by_min
    return -change.portions if isinstance(change, MakeLess) else 0


def _trials(trials: FixTrials) -> Iterator[Trial]:
    """Yield the trials as they are made: of the least tried problem first, together last."""
    for problem in sorted(trials.problems, key=lambda p: len(p.tried)):
        if problem.trial is not None:
            yield problem.trial
    if trials.together is not None:
        yield trials.together


def _read(ids: tuple[str, ...], future: Future[str]) -> Trial:
    if future.cancelled():
        return Trial(ids, "waits")
    if not future.done():
        return Trial(ids, "runs")
    try:
        return Trial(ids, "done", Outcome.model_validate_json(future.result()))
    except Stopped as stopped:
        return Trial(ids, "stopped" if stopped.reason == "stopped" else "failed")
    except NoonfareError:  # it breaks a rule of food, or its plan one of ours
        return Trial(ids, "failed")
