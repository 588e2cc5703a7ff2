"""The year in words: where its cloud is from, and what a chance of a date says."""

from __future__ import annotations

from collections.abc import Collection

from events.model import Event
from service.text.formatting import listed
from solver.feasibility.season import Season

SAYS = (
    "How likely the sun alone has every dish ready in time on that day, under the month’s cloud, "
    "each dish by itself on its cooker. A plan can only be less sure."
)


def source(season: Season) -> str:
    """Return where the cloud by month is from."""
    if season.sunlit_source == "given":
        return "Cloud: your own sunny hours by month."
    return (
        f"Cloud: {season.sunlit_pct[0]} sunny hours of 100 in every month, typical of this "
        "latitude (from memory, no published source). Your own figures are better."
    )


def never(event: Event, season: Season, placed: Collection[str] = ()) -> str:
    """Return which dishes are left out of the chances, for the sun never has them in time.

    Of what the plan of this very event has in time (`placed`), it says that it is not counted.
    """
    out = [event.dish(d).name for d in season.never if d not in placed]
    only = [event.dish(d).name for d in season.never if d in placed]
    said = []
    if out:
        said.append(f"Left out, for on no day of the year has the sun it in time: {listed(out)}.")
    if only:
        said.append(f"Left out, for only the plan’s finer look or gas has it: {listed(only)}.")
    return " ".join(said)
