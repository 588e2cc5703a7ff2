"""Why another plan is suggested on the day, and what it wins, in words."""

from __future__ import annotations

from collections.abc import Sequence

from events.diary import Cloud
from events.model import Event
from service.text.formatting import listed
from solver.live.watch import DayLook, back_to_sun, has_fallen
from solver.plan import GainKind, Plan

GAIN_WORDS: dict[GainKind, str] = {
    "cooker": "it does without the cooker that is out of action",
    "people": "it gives the work of whoever is away to others",
    "dishes": "it has more dishes",
    "chance": "more is likely to be on time",
    "sooner": "food is served sooner",
    "gas": "it needs less gas",
    "tastings": "entries of the contest are surer to be ready",
    "timetable": "its timetable is better",
}


def cause(event: Event, plan: Plan, look: DayLook) -> str:
    """Return why a day was planned again unasked: the most telling reason."""
    if "sun" in look.causes:
        return "The sun is back, and the plan was made for the cloud."
    if "cooker" in look.causes:
        names = [event.cooker(c).name for c in look.broken_ids]
        are, it = ("is", "it") if len(names) == 1 else ("are", "them")
        return f"{listed(names)} {are} out of action. The plan still counts on {it}."
    if "people" in look.causes:
        return "The plan has work for somebody who is away."
    if "forecast" in look.causes:
        return f"The forecast has changed. {chances(event, plan, look)}".strip()
    return chances(event, plan, look)


def chances(event: Event, plan: Plan, look: DayLook, *, only_fallen: bool = True) -> str:
    """Return how likely meals are by now, against what was planned."""
    planned = {m.meal_id: m.of_100 for m in plan.risk.meals} if plan.risk else {}
    said = [
        f"{event.meal(m.meal_id).name}: {m.of_100} of 100 by now, {planned[m.meal_id]} as planned."
        for m in look.meals
        if m.meal_id in planned and (has_fallen(plan, m) or not only_fallen)
    ]
    return " ".join(said)


def returning(plan: Plan, clouds: Sequence[Cloud], offered: Plan) -> str:
    """Return that an offer takes back what a plan did for a cloud; nothing where it does not."""
    at = offered.replanned_at
    if at is None or not back_to_sun(plan, clouds, at):
        return ""
    return "Back to the sun: the cloud that the plan was made for is over."


def wins(gains: Sequence[GainKind]) -> str:
    """Return what another plan wins: "More is likely to be on time and it needs less gas."."""
    said = listed([GAIN_WORDS[g] for g in gains])
    return f"{said[:1].upper()}{said[1:]}." if said else ""
