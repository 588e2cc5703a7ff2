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
from solver.feasibility.improvements import apply
from solver.feasibility.outcomes import Outcome, helps, no_worse, outcome_of
from solver.feasibility.problems import Fix, Problem, problems
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
    tried: int  # how many of its changes are tried


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
        return sum(p.tried for p in self.problems) + whole


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
                self._begin(name, event, trial)
                return self.known(event, plan)
        return trials

    def _of(self, event: Event, before: Outcome, problem: Problem) -> ProblemTrial:
        tried = 0
        for fix in problem.fixes:
            trial = self._trial(event, (fix.id,))
            if trial.state not in ("done", "failed"):
                return ProblemTrial(problem, fix, trial, tried)
            tried += 1
            if trial.outcome is not None and helps(problem, before, trial.outcome):
                return ProblemTrial(problem, fix, trial, tried)
        return ProblemTrial(problem, None, None, tried)

    def _together(
        self, event: Event, before: Outcome, shown: tuple[ProblemTrial, ...]
    ) -> Trial | None:
        """Return all changes at once, where there are several; not where that is no better."""
        fixes = [p.fix for p in shown if p.fix is not None]
        if len({fix.change for fix in fixes}) < 2:
            return None
        trial = self._trial(event, tuple(dict.fromkeys(fix.id for fix in fixes)))
        if trial.outcome is None:
            return None if trial.state == "failed" else trial
        alone = [p.trial.outcome for p in shown if p.trial and p.trial.outcome]
        return trial if all(no_worse(one, trial.outcome) for one in [before, *alone]) else None

    def _trial(self, event: Event, ids: tuple[str, ...]) -> Trial:
        try:
            tried = _with(event, ids)
        except TooLarge:
            return Trial(ids, "failed")
        future = self._context.results.known(fingerprint_of(tried), outcome_job)
        return Trial(ids, "waits") if future is None else _read(ids, future)

    def _begin(self, name: str, event: Event, trial: Trial) -> None:
        tried = _with(event, trial.ids)
        key, order = fingerprint_of(tried), Order(Lane.ADVICE, name, ASKER.get())
        with suppress(Busy):  # begun when less is asked about this day
            self._context.results.ask(key, outcome_job, job_payload(tried), order=order)


def _with(event: Event, ids: tuple[str, ...]) -> Event:
    """Return an event with some changes made; raises TooLarge."""
    tried = apply(event, *ids)
    assert tried is not None  # a problem's changes are changes of its event
    require_plannable(tried)
    return tried


def _trials(trials: FixTrials) -> Iterator[Trial]:
    """Yield the trials as they are made: of the least tried problem first, together last."""
    for problem in sorted(trials.problems, key=lambda p: p.tried):
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
