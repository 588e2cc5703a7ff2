"""How surely a moment is seen in a stretch of time: each load run once more under drawn days."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from events.food_rules import rules_of
from events.rounds import HAND_MOMENTS, Moment
from solver.plan import Placement, Plan
from solver.policy import BOIL_WITHIN_K, FIRST_STEAM_K, LAST_LOOK_MIN, LASTING_MIN, SETTLE_MIN
from solver.rounds.sights import OVER_C, Sighting, sightings
from solver.simulation.cooker_draws import drawn_cooker
from solver.simulation.day import Day, loaded
from solver.solar.ensemble import plain_normal, sky_ensemble
from solver.solar.horizon import skyline_of
from solver.solar.irradiance import beam_at, minute_of
from solver.solar.tracking import declination_deg
from solver.solar.turned import worst_share
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Bools, Forcing, Load
from solver.thermal.light import heating_w

DRAWS = 200  # choosing the best of many times on few draws flatters it
CHOOSING_SEED, TELLING_SEED = 61, 62  # a time is chosen by the one, its chance told by the other
STEP_S = 60.0
LASTS: tuple[Moment, ...] = ("boil", "over-100")


@dataclass(frozen=True)
class Shown:
    """A moment of a load, or of a cooker's turns: minute by minute whether it is so, by draw.

    For what begins (first steam) only the minute it begins is set, for work of hands the planned
    one, in every draw in which what it needs has come: what is lifted must be done.
    """

    moment: Moment
    cooker_id: str
    dish_ids: tuple[str, ...]
    start: int  # the minute of the first column
    seen: Bools  # (draws, minutes)

    def share(self, start: int, end: int) -> float:
        """Return the share of draws in which a talk between two minutes shows it."""
        lasts = self.moment in LASTS
        first = max(start + SETTLE_MIN - self.start, 0)
        last = (end if lasts else end - LAST_LOOK_MIN + 1) - self.start
        if last <= first:
            return 0.0
        count = self.seen[:, first:last].sum(axis=1)
        return float(np.mean(count >= (LASTING_MIN if lasts else 1)))


def shown_moments(day: Day, plan: Plan, seed: int, wanted: set[Moment]) -> list[Shown]:
    """Return every moment of the plan that is wanted, under drawn days of a seed."""
    hands = [
        s
        for s in sightings(day, plan.placements, plan.jobs, plan.turns)
        if s.moment in wanted and s.moment in HAND_MOMENTS
    ]
    fills: dict[str, list[Placement]] = {}
    for p in plan.placements:
        if p.id not in plan.started_ids:
            fills.setdefault(p.fill, []).append(p)
    rng = np.random.Generator(np.random.PCG64(seed))
    beams, diffuses = sky_ensemble(day.event, day.sky, rng, DRAWS)
    needed = bool(wanted - set(HAND_MOMENTS)) or "lifted" in wanted
    found = [_planned(s, fills) for s in hands if s.moment != "lifted"]
    for fill in fills.values() if needed else ():
        found += _of_load(day, fill, rng, beams, diffuses, wanted, hands)
    return found


def _planned(sighting: Sighting, fills: dict[str, list[Placement]]) -> Shown:
    """Return work of hands: it is done when it is planned."""
    dishes = tuple(
        p.dish_id for fill in fills.values() for p in fill if p.cooker_id == sighting.cooker_id
    )
    once = np.ones((1, 1), dtype=bool)
    return Shown(sighting.moment, sighting.cooker_id, dishes, sighting.start, once)


def _of_load(
    day: Day,
    fill: Sequence[Placement],
    rng: np.random.Generator,
    beams: Array,
    diffuses: Array,
    wanted: set[Moment],
    hands: Sequence[Sighting],
) -> list[Shown]:
    """Run one load under every draw, minute by minute, and read off what is to be seen."""
    first, event = fill[0], day.event
    cooker, dishes = event.cooker(first.cooker_id), tuple(p.dish_id for p in fill)
    start, lift = minute_of(day.sky, first.loaded_at), minute_of(day.sky, first.lifted_at)
    load = Load(
        tuple(event.dish(p.dish_id) for p in fill),
        tuple(p.mass_kg for p in fill),
        tuple(event.pot(p.pot_id) for p in fill),
        start - minute_of(day.sky, first.preheat_at) if first.preheat_at else 0,
        rules_of(event).reheat_c,
    )
    normal = partial(plain_normal, rng, DRAWS)
    drawn = drawn_cooker(day.strength_band(cooker), normal, glazed=cooker.nature.glazed)
    state = loaded(day, cooker, load, np.full(DRAWS, start, dtype=np.int64))
    state.row = np.arange(DRAWS, dtype=np.int64)
    state.strength, state.loss = drawn.strength, drawn.loss
    forcing = Forcing(_watts(day, fill[0], beams, diffuses), day.sky.air_c, day.sky.wind_m_s)
    hottest, body = [], []
    for _ in range(lift - start + 1):
        hottest.append(state.pot_c.max(axis=0).copy())
        body.append(state.body_c.copy())
        heat.step(state, forcing, dt_s=STEP_S, boil_c=day.boil_c)
    done: Bools = np.all(heat.is_done(state), axis=0, keepdims=True).T
    food_c, body_c = np.asarray(hottest).T, np.asarray(body).T
    shown = []
    if "first-steam" in wanted:
        above = food_c >= day.boil_c - FIRST_STEAM_K
        begins = above & ~np.concatenate([np.zeros((DRAWS, 1), bool), above[:, :-1]], axis=1)
        shown.append(Shown("first-steam", cooker.id, dishes, start, begins))
    if "boil" in wanted:
        boils = food_c >= day.boil_c - BOIL_WITHIN_K
        shown.append(Shown("boil", cooker.id, dishes, start, boils))
    if "over-100" in wanted and cooker.is_oven:
        shown.append(Shown("over-100", cooker.id, dishes, start, body_c >= OVER_C))
    if any(s.moment == "lifted" and s.cooker_id == cooker.id and s.start == lift for s in hands):
        shown.append(Shown("lifted", cooker.id, dishes, lift, done))
    return shown


def _watts(day: Day, first: Placement, beams: Array, diffuses: Array) -> Array:
    """Return the watts of a load's cooker by (draw, minute), as the day's own draws have them."""
    cooker, event = day.event.cooker(first.cooker_id), day.event
    skyline = skyline_of(event, cooker)
    worst = worst_share(cooker, day.sky, declination_deg(event.date))
    rows = []
    for beam, diffuse in zip(beams, diffuses, strict=True):
        sky = dataclasses.replace(day.sky, beam_w_m2=beam, diffuse_w_m2=diffuse)
        watts = heating_w(cooker, beam_at(sky, skyline), diffuse, elevation_deg=sky.elevation_deg)
        if cooker.on_sun:
            watts = np.where(day.on_sun[cooker.id], watts * worst, 0.0)
        rows.append(watts * day.availability[cooker.id])
    return np.asarray(rows)
