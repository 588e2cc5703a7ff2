"""Whether a plan is good, in words and a state first; what weighs most in it, and what mends it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from events.model import Event
from service.text import improvements as improvement_text
from service.text.formatting import hour, listed, lower_first, mass, month_name
from service.text.notices import cool_at_once, danger_zone, quicker
from service.text.sun import site_sun
from solver.feasibility.changes import (
    AddCooker,
    AddHelper,
    AddRing,
    BeginEarlier,
    DoneNearer,
    EatLater,
    EatSooner,
    EventChange,
    KeepOut,
    LeaveOut,
    MakeLess,
    MakeLessOfAll,
    MorePots,
    UseGas,
)
from solver.feasibility.outcomes import is_gas_day
from solver.feasibility.problems import Problem
from solver.feasibility.remedies import Fix
from solver.plan import Plan

State = Literal["good", "tight", "bad", "early"]
SYMBOL: dict[State, str] = {"good": "tick", "tight": "warn", "bad": "refused", "early": "clock"}
NO_SUN_COOKER = "No sun cooker is used."
TIGHT_POINTS = 15  # under the wanted chance by no more than this: tight, not failing


@dataclass(frozen=True)
class Verdict:
    """How good a plan is: its state, what to say of it, and its chance where one can be told."""

    state: State
    heading: str
    sentence: str
    of_100: int | None

    @property
    def symbol(self) -> str:
        """Return the drawing that goes with it: no state is told by colour alone."""
        return SYMBOL[self.state]


@dataclass(frozen=True)
class ProblemWords:
    """A problem as it is shown: what is wrong, why, and the press with what it costs."""

    heading: str
    why: str
    press: str = ""
    cost: str = ""


def verdict(
    event: Event, plan: Plan, *, on_the_day: bool = False, usual_of_100: int | None = None
) -> Verdict:
    """Return whether a plan is good enough for the chance that the event wants.

    Food that is lukewarm too long stands before any chance, by its name; so does, without a
    forecast, what has no minute to spare. `usual_of_100` is the chance in the month's usual skies.
    """
    said = _with_no_minute(event, plan, _by_chance(event, plan, on_the_day, usual_of_100))
    warm = [w for w in plan.warnings if w.kind in ("do-not-serve", "warm-long")]
    if not warm:
        return said
    names = list(dict.fromkeys(event.dish(d).name for w in warm for d in w.dish_ids))
    heading = f"{listed(names)}: lukewarm for too long."
    if said.state == "bad":
        return Verdict("bad", f"{said.heading} {heading}", said.sentence, said.of_100)
    state: State = "bad" if any(w.kind == "do-not-serve" for w in warm) else "tight"
    return Verdict(state, heading, f"{said.heading} {said.sentence}", said.of_100)


def _with_no_minute(event: Event, plan: Plan, said: Verdict) -> Verdict:
    names = [event.dish(p.dish_id).name for p in plan.placements if p.margin_min <= 0]
    if not names:
        return said
    none = f"No minute to spare: {listed(list(dict.fromkeys(names)))}."
    if said.state == "early":
        return Verdict("tight", none, f"{said.heading} {said.sentence}", said.of_100)
    return Verdict(said.state, said.heading, f"{said.sentence} {none}", said.of_100)


def _by_chance(event: Event, plan: Plan, on_the_day: bool, usual_of_100: int | None) -> Verdict:
    placed = len({p.dish_id for p in plan.placements})
    dishes, out = len(event.dishes), len(plan.unplaced)
    meals = plan.risk.meals if plan.risk else ()
    worst = min(meals, key=lambda m: m.of_100, default=None)
    name = event.meal(worst.meal_id).name if worst else event.meals[0].name
    is_gas = is_gas_day(event, plan)
    if out:
        heading = f"{name} will not be whole: {_found_none(out, dishes)}"
        sentence = f"{placed} of {dishes} dishes are planned." if placed else ""
        if worst and placed:
            sentence += f" They are all on time in {_likely(worst.of_100)}; {_asked(event)}"
        if is_gas:
            sentence += f" {NO_SUN_COOKER} {_sun(event, plan)}"
        return Verdict("bad", heading, sentence.strip(), worst.of_100 if worst else None)
    fits = {1: "The dish fits", 2: "Both dishes fit"}.get(dishes, f"All {dishes} dishes fit")
    if is_gas and (worst is None or worst.of_100 >= event.chance_pct):
        chance = f", and {lower_first(name)} is on time in {_likely(worst.of_100)}" if worst else ""
        heading = f"This is a gas day: {lower_first(NO_SUN_COOKER)}"
        return Verdict(
            "good", heading, f"{fits}{chance}. {_sun(event, plan)}", worst.of_100 if worst else None
        )
    if worst is None:
        return _without_forecast(event, fits, on_the_day, usual_of_100)
    said = f"all of {lower_first(name)} is on time in {_likely(worst.of_100)}"
    if worst.of_100 >= event.chance_pct:
        return Verdict("good", f"{name} looks good.", f"{fits}, and {said}.", worst.of_100)
    sentence = f"{fits}, but {said}; {_asked(event)}"
    if worst.of_100 >= event.chance_pct - TIGHT_POINTS:
        return Verdict("tight", f"{name} is tight.", sentence, worst.of_100)
    likely = "probably" if worst.of_100 < 50 else "quite possibly"
    return Verdict("bad", f"{name} will {likely} be late.", sentence, worst.of_100)


def _without_forecast(
    event: Event, fits: str, on_the_day: bool, usual_of_100: int | None
) -> Verdict:
    """Return what can be said of a plan that was made under no forecast: on its day, what to do."""
    planned = f"Planned for {'the sky that you put in' if event.weather.hours else 'a clear sky'}."
    if on_the_day and event.weather.is_forecast:
        later = (
            "Now says how it stands under your sky, and offers a better plan where there is one."
        )
        return Verdict("early", "Planned before the sky was known.", f"{fits}. {later}", None)
    if on_the_day:
        heading = "No forecast given. What does the sky look like?"
        return Verdict("early", heading, f"{fits}. {planned}", None)
    early = "No forecast yet, so nobody can say how likely it is."
    if usual_of_100 is not None:
        skies = f"{usual_of_100} of 100 usual {month_name(event.date.month)} skies"
        early = f"No forecast yet; the sun alone has all of it in time in {skies} at most."
    return Verdict("early", "Too early to say.", f"{fits}. {early} {planned}", None)


def state_of(event: Event, of_100: int) -> Literal["good", "tight", "bad"]:
    """Return how good a chance is for what the event wants."""
    if of_100 >= event.chance_pct:
        return "good"
    return "tight" if of_100 >= event.chance_pct - TIGHT_POINTS else "bad"


def short_verdict(event: Event, plan: Plan) -> str:
    """Return how good a plan is in a few words, to set beside another."""
    placed, dishes = len({p.dish_id for p in plan.placements}), len(event.dishes)
    of_100 = verdict(event, plan).of_100
    chance = "" if of_100 is None else f", {of_100} of 100"
    return f"{placed} of {dishes} dishes{chance}"


def problem_words(event: Event, problem: Problem, fix: Fix | None = None) -> ProblemWords:
    """Return a problem as it is shown, with the change that a press makes."""
    heading, why = _what(event, problem)
    if fix is None:
        return ProblemWords(heading, why)
    costs = "; ".join(cost(event, one.change) for one in fix.all)
    return ProblemWords(heading, why, fix_words(event, fix), costs)


def fix_words(event: Event, fix: Fix) -> str:
    """Return what a press does: one change, or two at once."""
    first, *others = [improvement_text.change(event, one.change) for one in fix.all]
    return " and ".join([first, *map(lower_first, others)])


def cost(event: Event, change: EventChange) -> str:
    """Return what a change takes from whom."""
    if isinstance(change, EatLater):
        return f"{event.meal(change.meal_id).name} is {change.by_min} minutes later"
    if isinstance(change, EatSooner):
        return f"{event.meal(change.meal_id).name} is {change.by_min} minutes earlier"
    if isinstance(change, MakeLess):
        dish = event.dish(change.dish_id)
        return f"costs {dish.portions - change.portions} of its {dish.portions} portions"
    if isinstance(change, MorePots):
        return "costs their places in the cookers, and more work"
    if isinstance(change, LeaveOut):
        return f"costs all {event.dish(change.dish_id).portions} portions of it"
    if isinstance(change, DoneNearer):
        return "costs time to spare: its cooker must be free for it later"
    if isinstance(change, KeepOut):
        return "costs time: a weaker cooker takes longer"
    if isinstance(change, MakeLessOfAll):
        whole_kg = sum(d.mass_kg for d in event.dishes)
        less = mass(event, whole_kg * change.pct / 100)
        return (
            f"costs {100 - change.pct} portions of 100: {less} of food, not {mass(event, whole_kg)}"
        )
    if isinstance(change, BeginEarlier):
        return f"all helpers come at {hour(event, change.opens)}"
    if isinstance(change, AddHelper):
        return "costs one more pair of hands"
    if isinstance(change, AddCooker):
        return "costs one more cooker to bring and to turn"
    if isinstance(change, UseGas):
        return "costs gas where the sun would do on most days"
    assert isinstance(change, AddRing)
    return "costs a ring, and gas on a poor day"


def _what(event: Event, problem: Problem) -> tuple[str, str]:
    names = [event.dish(d).name for d in problem.dish_ids]
    if problem.kind == "warm-long":
        others = f" Also: {listed(names[1:])}." if names[1:] else ""
        return (
            f"{names[0]}: lukewarm for too long, {problem.minutes} min.",
            f"Between {danger_zone(event)} germs grow. {_against_warm(event, problem)}{others}",
        )
    if problem.kind == "too-much":
        food = mass(event, sum(d.mass_kg for d in event.dishes))
        return (
            f"{food} of food is more than these cookers take in time.",
            f"{listed(names)} found no place beside the rest.",
        )
    if problem.kind == "too-many-bakes":
        return (
            f"{len(names)} bakes more than the ovens take in time.",
            "An oven bakes one thing after another, and heats up empty before each. "
            f"{listed(names)} found no place.",
        )
    if problem.kind == "boils-dry":
        in_pot, away = mass(event, problem.in_pot_kg), mass(event, problem.water_kg)
        if problem.water_kg >= problem.in_pot_kg:
            away = "all"
        others = f" Also: {listed(names[1:])}." if names[1:] else ""
        return (
            f"{names[0]} boils dry: of {in_pot} of water in a pot, {away} would boil away.",
            "Left alone it burns and smokes. Look every half hour and add boiling water, or cook "
            f"it in a weaker cooker or later.{others}",
        )
    if problem.kind == "pulls-down":
        return (
            f"{names[0]} makes the day least sure.",
            f"Without it all the rest is on time in {_likely(problem.without_of_100 or 0)}, with "
            f"it {problem.of_100}.",
        )
    if problem.kind == "gas-day":
        return (
            f"{_on_gas(names)} on gas; the sun cookers stand idle.",
            "The sun is too low, or comes too late, for the hours of the meals.",
        )
    if problem.kind == "not-placed":
        return f"{names[0]} found no place.", "Why, cooker by cooker, stands below."
    if problem.kind == "all-late":
        meal = event.meal(problem.meal_id or "").name
        return (
            f"{len(names)} dishes are ready only just in time for {lower_first(meal)}.",
            f"The least sure of them is on time in {_likely(problem.of_100 or 0)}.",
        )
    if problem.kind == "whole-unsure":
        meal = lower_first(event.meal(problem.meal_id or "").name)
        return (
            f"Each dish is sure enough; all of {meal} together is not.",
            f"It is whole and on time in {_likely(problem.of_100 or 0)}; {_asked(event)} "
            f"The least sure: {listed(names)}.",
        )
    if problem.kind == "few-rings":
        return (
            "If it clouds over, there are not enough gas rings.",
            f"None is free in time for {listed(names)}.",
        )
    return (
        f"{names[0]}: ready only just in time.",
        f"It is on time in {_likely(problem.of_100 or 0)}; {_asked(event)}",
    )


def _against_warm(event: Event, problem: Problem) -> str:
    if event.dish(problem.dish_ids[0]).serve_hot:
        return f"{quicker(event, event.dish(problem.dish_ids[0]))} into each pot: it heats faster."
    return f"It stands after it is cooked. {cool_at_once(event)}"


def _on_gas(names: list[str]) -> str:
    return f"{names[0]} is" if len(names) == 1 else f"{listed(names)} are"


def _found_none(out: int, dishes: int) -> str:
    if out == dishes:
        return "no dish found a place." if dishes > 1 else "the dish found no place."
    return f"{out} of {dishes} dishes found no place."


def _sun(event: Event, plan: Plan) -> str:
    """Return how high the sun gets, and from when to when it is of use."""
    highest = max((step.elevation_deg for step in plan.sun), default=0.0)
    sunny = plan.windows[0].stretches
    if not sunny:
        return f"The sun reaches {highest:.0f}° at its highest, and is of no use that day."
    return f"The sun reaches {highest:.0f}° at its highest. {site_sun(event, sunny)}."


def _likely(of_100: int) -> str:
    return f"{of_100} of 100 likely skies"


def _asked(event: Event) -> str:
    return f"you asked for {event.chance_pct:g}."
