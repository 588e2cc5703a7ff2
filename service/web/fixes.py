"""What weighs most in a plan, and what each press that mends it would bring, as it comes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Query, Response

from service.application.fixes import FixTrials, ProblemTrial, Trial, TrialState
from service.charts.day_legend import chance_dots
from service.dependencies import Name, ServicesDep
from service.text.improvements import change as change_words
from service.text.outcomes import brings
from service.text.verdict import ProblemWords, cost, fix_words, problem_words
from service.web.context import PageContext, PageContextDep
from service.web.rendering import page_router, render, see_other
from solver.feasibility.problems import Problem

router = page_router()


def may_try(context: PageContext) -> bool:
    """Return whether changes can be tried: on the day itself, what has begun would be left out."""
    is_own = context.in_force.replan_number == 0 and context.standing is None
    return context.role == "organiser" and is_own and context.now is None


@dataclass(frozen=True)
class Press:
    """A press that makes changes: what it sends, how far its trial is, and what that brought."""

    value: str
    state: TrialState
    brings: str
    dots: str


@dataclass(frozen=True)
class ProblemShown:
    """A problem in words with its press; without one where nothing that was tried helps."""

    words: ProblemWords
    press: Press | None
    tried: list[str]  # what else was tried


@dataclass(frozen=True)
class FixesShown:
    """The part of a page that shows what weighs most and what mends it."""

    problems: list[ProblemShown]
    together: Press | None
    together_words: list[tuple[str, str]]  # each change that it makes, and what that costs
    tried: int
    is_trying: bool
    is_stopped: bool


def fixes_shown(context: PageContext, trials: FixTrials) -> FixesShown:
    """Return the problems of a plan with their presses, for whoever looks."""
    can_press = context.role == "organiser" and context.standing is None
    together = trials.together if can_press else None
    is_stopped = "stopped" in trials.states
    is_left = bool(trials.states & {"waits", "runs"})
    return FixesShown(
        problems=[_problem(context, trials, p, can_press=can_press) for p in trials.problems],
        together=_press(context, trials, None, together) if together else None,
        together_words=_made(context, trials, together) if together else [],
        tried=trials.tried,
        is_trying=may_try(context) and is_left and not is_stopped,
        is_stopped=is_stopped,
    )


@router.get("/e/{name}/fixes")
def fixes(
    context: PageContextDep,
    services: ServicesDep,
    revision: Annotated[str, Query(max_length=40)] = "",
) -> Response:
    """Show the problems of a page's plan; what is not tried yet is begun, one at a time."""
    plan = context.plan
    if plan is None or revision != context.in_force.revision:
        return Response(status_code=204)  # the page is about to show another plan
    if may_try(context):
        trials = services.fixes.ask(context.name, context.event, plan)
    else:
        trials = services.fixes.known(context.event, plan)
    return render(
        "problems.html",
        event=context.event,
        stored=context.stored,
        role=context.role,
        plan_revision=context.in_force.revision,
        fixes=fixes_shown(context, trials),
    )


@router.post("/e/{name}/fixes")
def try_again(name: Name, context: PageContextDep, services: ServicesDep) -> Response:
    """Go on with trials that were stopped."""
    if context.plan is not None and may_try(context):
        services.fixes.ask(name, context.event, context.plan, again=True)
    return see_other(f"/e/{name}")


def _made(context: PageContext, trials: FixTrials, together: Trial) -> list[tuple[str, str]]:
    """Return what a press does that makes several changes: on a phone, most are folded away."""
    made = {one.id: one.change for p in trials.problems if p.fix for one in p.fix.all}
    changes = [made[fix_id] for fix_id in together.ids]
    return [(change_words(context.event, c), cost(context.event, c)) for c in changes]


def _problem(
    context: PageContext, trials: FixTrials, shown: ProblemTrial, *, can_press: bool
) -> ProblemShown:
    trial = shown.trial if can_press else None
    return ProblemShown(
        words=problem_words(context.event, shown.problem, shown.fix),
        press=_press(context, trials, shown.problem, trial) if trial else None,
        tried=[fix_words(context.event, fix) for fix in shown.tried],
    )


def _press(context: PageContext, trials: FixTrials, problem: Problem | None, trial: Trial) -> Press:
    after = trial.outcome
    return Press(
        value=",".join(trial.ids),
        state=trial.state,
        brings=brings(context.event, problem, trials.before, after) if after else "",
        dots=chance_dots(after.of_100) if after and after.of_100 is not None else "",
    )
