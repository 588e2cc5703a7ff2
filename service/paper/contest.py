"""The contest on paper: draw and sun, a card for each team, sheets for judges, tickets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from events.model import Event
from service.paper.pdf import typeset
from service.paper.station_card import Facts
from service.text import allergens, formatting, messages
from service.text import contest as words
from service.text.cookers import cautions
from solver.contest_plan import ContestPlan, Tasting
from solver.plan import Plan


def contest_pdf(
    event: Event,
    plan: Plan,
    *,
    numbers: Mapping[str, int],
    codes: Sequence[str],
    vote_url: str,
    paper: Literal["a4", "us-letter"] = "a4",
) -> bytes:
    """Return everything of a contest that goes on paper; numbers and codes are secret."""
    content = contest_facts(event, plan, numbers=numbers, codes=codes, vote_url=vote_url)
    return typeset("contest.typ", content, paper)


def contest_facts(
    event: Event, plan: Plan, *, numbers: Mapping[str, int], codes: Sequence[str], vote_url: str
) -> Facts:
    """Return the contest's words and figures for paper."""
    contest, rules = plan.contest, event.contest
    assert contest is not None
    assert rules is not None
    return {
        "title": event.title,
        "day": formatting.long_date(event.date),
        "plan": plan.event_id,
        "made": "",
        "degrees": "°F" if event.units == "us" else "°C",
        "seed": contest.draw.seed if contest.draw else "",
        "lists": contest.lists_sha256,
        "rules": words.rules(event, rules),
        "how": list(words.HOW_TO_CHECK),
        "sun_line": words.sun_line(event, contest),
        "left_out": [event.station(s).name for s in contest.left_out],
        "places": _places(event, contest),
        "teams": [_team(event, t) for t in contest.tastings],
        "table": [
            {
                "at": formatting.clock(event, t.at),
                "number": numbers[t.entry_id],
                "entry": event.entry(t.entry_id).name,
                "team": event.team(event.entry(t.entry_id).team).name,
                "contains": allergens.sentence(event, event.entry(t.entry_id).dish),
            }
            for t in contest.tastings
        ],
        "contains": [
            {"number": number, "contains": allergens.sentence(event, event.entry(id).dish)}
            for id, number in sorted(numbers.items(), key=lambda n: n[1])
        ],
        "criteria": [f"{c.name}, 0 to {c.points_max}" for c in event.criteria],
        "judges": [
            {"name": j.name, "rows": _sheet_rows(event, contest, j.id, numbers)}
            for j in event.judges
        ],
        "codes": list(codes),
        "vote_url": vote_url,
        "once": words.VOTE_ONCE,
        "probe": messages.PROBE,
        "children": messages.CHILDREN,
    }


def _places(event: Event, contest: ContestPlan) -> list[Facts]:
    suns = {s.entry_id: s for s in contest.sun}
    rows: list[Facts] = []
    for p in contest.draw.places if contest.draw else ():
        sun = suns.get(p.entry_id)
        rows.append(
            {
                "entry": event.entry(p.entry_id).name,
                "place": event.station(p.station_id).name,
                "cooker": event.contest_cooker(p.cooker_id).name,
                "turn": str(p.turn or "fixed"),
                "sun": str(sun.sun_min) if sun else "–",
                "water": str(sun.water_min) if sun and sun.water_min else "–",
            }
        )
    return rows


def _team(event: Event, t: Tasting) -> Facts:
    entry = event.entry(t.entry_id)
    return {
        "team": event.team(entry.team).name,
        "entry": entry.name,
        "mass": formatting.mass(event, entry.dish.mass_kg),
        "cooker": event.contest_cooker(t.cooker_id).name,
        "pot": event.pot(t.pot_id).name,
        "cook_from": formatting.clock(event, t.cook_from),
        "load": formatting.clock(event, t.loaded_at),
        "ready": formatting.clock(event, t.ready_at),
        "at": formatting.clock(event, t.at),
        "caution": " ".join(cautions(event.contest_cooker(t.cooker_id))),
    }


def _sheet_rows(
    event: Event, contest: ContestPlan, judge_id: str, numbers: Mapping[str, int]
) -> list[Facts]:
    own = sorted(
        (j.at, numbers[t.entry_id], t.entry_id)
        for t in contest.tastings
        for j in t.judges
        if j.judge_id == judge_id
    )
    return [
        {
            "at": formatting.clock(event, at),
            "number": number,
            "contains": allergens.sentence(event, event.entry(id).dish),
        }
        for at, number, id in own
    ]
