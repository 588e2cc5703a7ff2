"""The solver's sentences with their figures as an event says them."""

from __future__ import annotations

import re
from datetime import time

from events.model import Event, changed
from service.text.formatting import hour
from solver.plan import Plan

# How the solver's sentences say figures, and what they are in US units. Longer patterns first.
_US_SAID = (
    (r"(\d+) and (\d+) °C", lambda a, b: f"{_f(a):.0f} and {_f(b):.0f} °F"),
    (r"(-?\d+(?:\.\d+)?) °C", lambda c: f"{_f(c):.0f} °F"),
    (r"(\d+(?:\.\d+)?) kg\b", lambda kg: f"{float(kg) / 0.45359237:.1f} lb"),
    (r"(\d+(?:\.\d+)?) litres\b", lambda litres: f"{float(litres) / 0.946352946:.1f} qt"),
    (r"(\d+(?:\.\d+)?) m/s", lambda m_s: f"{float(m_s) / 0.44704:.0f} mph"),
)
_CLOCK = re.compile(r"\b([01]\d|2[0-3]):([0-5]\d)\b(?! [ap]m)")


def _f(at_c: str) -> float:
    return float(at_c) * 9 / 5 + 32


def said(event: Event, text: str) -> str:
    """Return a sentence of the solver's with its figures as the event says them."""
    if event.clock_h != 24:
        text = _CLOCK.sub(lambda m: hour(event, time(int(m[1]), int(m[2]))), text)
    if event.units == "us":
        for pattern, other in _US_SAID:
            text = re.sub(pattern, lambda m, other=other: other(*m.groups()), text)  # type: ignore[misc]
    return text


def plan_said(event: Event, plan: Plan) -> Plan:
    """Return a plan whose sentences say figures as the event does."""
    if event.units == "metric" and event.clock_h == 24:
        return plan
    return changed(
        plan,
        warnings=tuple(said(event, w) for w in plan.warnings),
        reasons=tuple(said(event, r) for r in plan.reasons),
        unplaced=tuple(
            changed(u, reasons=tuple(changed(r, text=said(event, r.text)) for r in u.reasons))
            for u in plan.unplaced
        ),
    )
