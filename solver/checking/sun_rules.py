"""The sun of a contest's places, counted again from the plan's own sky and the event's skylines."""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from events.site import Station
from solver.checking.breach import Breach
from solver.checking.context import Case
from solver.contest_plan import ContestPlan
from solver.plan import SunStep

SUN_W_M2, DIFFUSE_SHARE = 700.0, 0.1  # a minute of sun, and what a cooker gathers of the sky's own
STEP_MIN = 10
OFF_MIN = 1.5  # the plan's sky is told every ten minutes, and the figures are whole minutes


def sun_is_counted(case: Case, plan: ContestPlan) -> Iterator[Breach]:
    """Each tasted entry's minutes of sun are what its place gives from cooking to tasting.

    Where somebody saw the shade's edge (`shade`), the skyline hangs on the sun of another day, and
    the figure is not counted again.
    """
    told = {s.entry_id: s.sun_min for s in plan.sun}
    places = {p.entry_id: p.station_id for p in plan.draw.places} if plan.draw else {}
    stations = {s.id: s for s in case.event.stations}
    for t in plan.tastings:
        station = stations.get(places.get(t.entry_id, ""))
        if station is None or t.entry_id not in told:
            continue  # other rules say so
        if case.event.site.shade or station.shade:
            continue
        counted = _sun_min(case, station, t.cook_from, t.at)
        if counted is not None and abs(counted - told[t.entry_id]) > OFF_MIN:
            yield Breach("wrong-sun-minutes", (t.entry_id,), told[t.entry_id], round(counted))


def _sun_min(case: Case, station: Station, start: datetime, end: datetime) -> float | None:
    """Return minutes of sun at a place; None where the plan's sky does not reach so far."""
    steps = case.plan.sun
    if not steps or start < steps[0].at or end > steps[-1].at + timedelta(minutes=STEP_MIN):
        return None
    total, at = 0.0, start
    while at < end:
        beam, diffuse, height, azimuth = _sky_at(steps, at)
        lit = height > _skyline_deg(case, station, azimuth)
        total += (beam * lit + DIFFUSE_SHARE * diffuse) / SUN_W_M2
        at += timedelta(minutes=1)
    return total


def _sky_at(steps: Sequence[SunStep], at: datetime) -> tuple[float, float, float, float]:
    """Return beam, diffuse, the sun's height and azimuth, straight between the steps' middles."""
    middles = [s.at + timedelta(minutes=STEP_MIN / 2) for s in steps]
    n = min(max(bisect.bisect(middles, at), 1), len(steps) - 1)
    one, two = steps[n - 1], steps[n]
    share = (at - middles[n - 1]) / (middles[n] - middles[n - 1])
    turn = (two.azimuth_deg - one.azimuth_deg + 180) % 360 - 180

    def between(a: float, b: float) -> float:
        return max(0.0, a + (b - a) * share)

    return (
        between(one.beam_w_m2, two.beam_w_m2),
        between(one.diffuse_w_m2, two.diffuse_w_m2),
        one.elevation_deg + (two.elevation_deg - one.elevation_deg) * share,
        (one.azimuth_deg + turn * share) % 360,
    )


def _skyline_deg(case: Case, station: Station, azimuth: float) -> float:
    """Return how high what stands around a place is in one direction."""
    site = case.event.site
    pairs = sorted(site.skyline if station.skyline is None else station.skyline)
    height = 0.0
    if pairs:
        ring = [(pairs[-1][0] - 360, pairs[-1][1]), *pairs, (pairs[0][0] + 360, pairs[0][1])]
        for (a, low), (b, high) in itertools.pairwise(ring):
            if a <= azimuth and b > a:  # the last that begins before it
                height = low + (high - low) * (azimuth - a) / (b - a)
    for one in (*site.obstacles, *station.obstacles):
        half = math.degrees(math.atan2(one.width_m / 2, one.distance_m))
        if abs((azimuth - one.bearing_deg + 180) % 360 - 180) <= half:
            height = max(height, math.degrees(math.atan2(one.height_m, one.distance_m)))
    return height
