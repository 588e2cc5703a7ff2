"""The rota on paper: a strip for each group to be cut off, a list for each stop."""

from __future__ import annotations

from collections.abc import Sequence

from events.model import Event
from service.paper.station_card import Facts
from service.text import formatting
from service.text.rota import OUTSIDE, RotaLine, refused, round_of, visits_of, who_goes
from solver.plan import Plan


def rota_facts(event: Event, plan: Plan) -> Facts:
    """Return the rota's words; no groups, nothing to print."""
    return {
        "outside": OUTSIDE,
        "refused": refused(plan.rota) if plan.rota else "",
        "groups": [
            {
                "name": g.name,
                "who": who_goes(event, g),
                "lines": _lines(event, round_of(event, plan, g.id)),
            }
            for g in event.groups
        ],
        "stops": [
            {"name": s.name, "do": s.do, "lines": _lines(event, visits_of(event, plan, s.id))}
            for s in event.stops
            if event.groups
        ],
    }


def _lines(event: Event, lines: Sequence[RotaLine]) -> list[Facts]:
    return [
        {
            "at": formatting.clock(event, line.at),
            "until": formatting.clock(event, line.ends_at),
            "title": line.title,
            "note": line.note,
            "sees": "; ".join(line.sees),
        }
        for line in lines
    ]
