"""Sunny hours of 100 by month, as somebody types or pastes them."""

from __future__ import annotations

import re

from events.errors import FaultyEvent, Place

MONTHS = 12
FIELD = Place("site")


def twelve_percents(text: str) -> tuple[int, ...]:
    """Return twelve figures from 0 to 100, apart by anything; none where nothing is typed.

    Raises FaultyEvent for another count, or a figure that is no share of 100.
    """
    figures = [float(f) for f in re.findall(r"\d+(?:\.\d+)?", text)]
    if not text.strip():
        return ()
    if len(figures) != MONTHS or any(f > 100 for f in figures):
        fault = FIELD.fault("sunlit_pct", f"“{text.strip()}”", "not-twelve-shares")
        raise FaultyEvent("sunny hours by month", [fault])
    return tuple(round(f) for f in figures)
