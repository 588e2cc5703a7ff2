"""The contest in words: why an entry is not tasted, how alike the sun is, how it was drawn."""

from __future__ import annotations

from datetime import datetime, timedelta
from fractions import Fraction

from events.contest import Contest, TieRule
from events.model import Event
from service.text.formatting import clock, listed, plain_hour
from solver.contest_plan import ContestLevelKey, ContestPlan, NotTasted, NotTastedKind

NOT_TASTED: dict[NotTastedKind, str] = {
    "no-pot": "No pot on the list holds it and fits its cooker.",
    "no-sun": "Its place has no usable sun in time.",
    "oven-too-cool": "Its oven does not get hot enough.",
    "never-ready": "It is not ready within {cook_min} min{best}.",
    "unsafe": "It would be too long between 5 and 60 °C from every start.",
    "held-too-long": "It would be held for {held_min} min; the rule is {limit_min}.",
    "goes-cold": "It would be colder than {limit_c} °C before all have tasted.",
    "no-time-left": "It could be ready, but all its times are taken by others.",
}
LEVEL: dict[ContestLevelKey, str] = {
    "left-out": "entries without a tasting",
    "unsure": "steps of 5 of 100 that chances fall short",
    "moved": "entries at another time than before",
    "difference": "minutes of sun between the best and the worst place",
    "longest-held": "minutes the longest-held entry waits",
    "held": "minutes that all entries wait together",
}
TIE: dict[TieRule, str] = {
    "heaviest": "more points in the weightiest criterion, then the next",
    "more-judges": "preferred by more of the judges who tasted both",
    "lot": "by lot, from the same seed",
    "shared": "the place is shared, the next is left free",
}
HOW_TO_CHECK = (
    "Write the seed, a line feed, “entries”, a line feed and an entry’s id; take its SHA-256.",
    "Sort the entries that are drawn by these, smallest first. Do the same for places, with"
    " “places” in the middle, and for cookers with “cookers”.",
    "The first entry has the first place, the second the second. For cookers only the entries"
    " count that are drawn one.",
)
BLIND = "Judges know numbers, not names. Who has a judge’s link sees that judge’s own sheets."
KEEPER = (
    "Sums are told to nobody before the count is closed. Whoever runs this machine could read the"
    " store."
)
TOOK_PART = "Took part"
VISITORS_CHOICE = "and the visitors’ choice"
SIGNED = ("For the judges", "For the organisers")
VOTE_ONCE = "A ticket votes once, and a vote can’t be changed."


def moves(event: Event, plan: ContestPlan | None, before: ContestPlan | None) -> list[str]:
    """Return which tastings are at another time than an earlier plan had them, or fall away."""
    was = {t.entry_id: t for t in before.tastings} if before else {}
    now = {t.entry_id: t for t in plan.tastings} if plan else {}
    said = []
    for id, t in was.items():
        name = event.entry(id).name if any(e.id == id for e in event.entries) else id
        if id not in now:
            said.append(f"{name} is not tasted any more, was at {clock(event, t.at)}.")
        elif now[id].at != t.at:
            at = clock(event, now[id].at)
            said.append(f"{name} is tasted at {at}, no more at {clock(event, t.at)}.")
        elif now[id].loaded_at != t.loaded_at:
            at, no_more = clock(event, now[id].loaded_at), clock(event, t.loaded_at)
            said.append(f"{name} is loaded at {at}, no more at {no_more}.")
    return said


def day_line(event: Event, plan: ContestPlan) -> str:
    """Return a contest on one line: its entries, its tastings, the least sure of them."""
    count = len(event.entries)
    said = f"{count} {'entry' if count == 1 else 'entries'}"
    if plan.draw is None:
        return f"{said}. Places are not drawn yet."
    if plan.tastings:
        first = min(t.at for t in plan.tastings)
        last = max(t.at + timedelta(minutes=t.minutes) for t in plan.tastings)
        said += f", tastings {clock(event, first)}–{clock(event, last)}"
        if event.weather.is_forecast:
            said += f", the least sure {min(t.of_100 for t in plan.tastings)} of 100"
    if plan.not_tasted:
        said += f"; {len(plan.not_tasted)} not tasted"
    return f"{said}."


def not_tasted(why: NotTasted) -> str:
    """Return why an entry has no tasting."""
    best = why.figures.get("best_min")
    words = {"best": f"; {best:g} at best" if best is not None else ""}
    return NOT_TASTED[why.kind].format_map(
        {**{k: f"{v:g}" for k, v in why.figures.items()}, **words}
    )


def sun_line(event: Event, plan: ContestPlan) -> str:
    """Return how alike the sun is, in one line: the most, the least, and what that is for water."""
    if not plan.sun:
        return ""
    best = max(plan.sun, key=lambda sun: sun.sun_min)
    worst = min(plan.sun, key=lambda sun: sun.sun_min)
    level = next((level for level in plan.levels if level.key == "difference"), None)
    sure = "It could not be made smaller with these places and hours."
    if level is None or not level.proven:
        sure = "A smaller one may exist: it was not proven."
    line = (
        f"Most sun: {event.entry(best.entry_id).name}, {best.sun_min} min. "
        f"Least: {event.entry(worst.entry_id).name}, {worst.sun_min} min. "
        f"The difference is {plan.difference_min} min"
    )
    waters = [s.water_min for s in plan.sun if s.water_min is not None]
    if waters:
        line += f"; two litres of water would take {min(waters)} to {max(waters)} min"
    return f"{line}. {sure}"


def level_lines(plan: ContestPlan) -> list[str]:
    """Return the levels of the goal in words."""
    return [
        f"{LEVEL[x.key]}: {x.value} "
        + ("(proven)" if x.proven else f"(best possible {x.bound}, not proven)")
        for x in plan.levels
    ]


def rules(event: Event, contest: Contest) -> list[str]:
    """Return the rules of the contest, as they stand before it begins."""
    how = "Plates are carried to the judges’ table; judges know numbers only."
    if contest.how == "walk":
        how = "Judges go from pot to pot: they see who cooked."
    start = f"Each team may load {contest.cook_min} min before its tasting."
    if contest.together_at is not None:
        start = f"All teams may load from {plain_hour(contest.together_at, event.clock_h)}."
    criteria = listed(
        [f"{c.name} (weight {c.weight}, 0 to {c.points_max})" for c in event.criteria]
    )
    return [
        how,
        start,
        f"From ready to the end of its tasting an entry waits {contest.held_max_min} min at most.",
        f"Points: {criteria}.",
        "Missing sheets are evened out, so that a strict judge who misses some puts nobody ahead.",
        "Ties: " + "; ".join(TIE[t] for t in contest.ties) + ".",
    ]


def place_words(place: int, *, shared: bool) -> str:
    """Return a place as a certificate has it: 1st place, or 2nd place, shared."""
    tens = 10 < place % 100 < 14
    ending = "th" if tens else {1: "st", 2: "nd", 3: "rd"}.get(place % 10, "th")
    return f"{place}{ending} place{', shared' if shared else ''}"


def figure(value: Fraction) -> str:
    """Return a sum with two decimals, halves to even."""
    return f"{float(round(value, 2)):.2f}"


def hours(event: Event, start: datetime, end: datetime) -> str:
    """Return a stretch of time."""
    return f"{clock(event, start)}–{clock(event, end)}"
