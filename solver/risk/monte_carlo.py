"""How likely each dish is to be on time: the plan, simulated over many sampled days.

One sample is one day for everybody: the forecast's error by hour (each hour leans on the one
before, one sky for all cookers), the day's haze, each cooker's strength, each pot's mass and
start, and people who load and turn late. Flicker within the hour averages out in a pot.

Every spread is a constant below, typical or judged, none measured: chances are shown in steps of
five, and only where there is a forecast at all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

import numpy as np

from events.food_rules import rules_of
from events.model import Cooker, Dish, Event
from events.table import changed
from solver.plan import DishChance, MealChance, Placement, Plan, Risk, Turn
from solver.policy import SKIES_MOST
from solver.simulation.cooker_draws import CookerDraws, drawn_cooker
from solver.simulation.day import Day
from solver.simulation.day_state import LoadInProgress
from solver.simulation.holding import clock_to_plate_min, is_warmed_again, too_long_warm
from solver.simulation.replay import pointing
from solver.simulation.run import SimulationResult, advance, run, select
from solver.simulation.transfer import finish, some_pots, transfer
from solver.solar.ensemble import plain_normal, sky_ensemble
from solver.solar.horizon import skyline_of
from solver.solar.irradiance import minute_of
from solver.solar.position import skyline_deg
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Bools, Ensemble, Forcing, Load
from solver.thermal.light import heating_w
from solver.thermal.safety import CLOCK_TO_C

RUNS = 200
SEED = 2026
MASS_ERROR = 0.05  # of a pot's contents: judgement
START_ERROR_C = 2.0
LOAD_LATE_MIN = (0, 0, 5, 10)  # each a quarter of the time: judgement
TURN_LATE_MIN = (0, 0, 5, 15)
STEP_S = 180.0
SHOWN = 5  # chances in steps of five: 200 runs at 80 % carry ±6


@dataclass(frozen=True)
class Samples:
    """The sampled days: what is one for all pots, and the generator of what is each pot's own."""

    runs: int
    rng: np.random.Generator
    beam_w_m2: Array  # (runs, minutes)
    diffuse_w_m2: Array
    cookers: Mapping[str, CookerDraws]  # by run


@dataclass(frozen=True)
class Fill:
    """Batches that were or will be loaded together, and as what load in progress they stand."""

    placements: tuple[Placement, ...]
    cooker: Cooker
    load: Load
    in_progress: LoadInProgress | None

    @property
    def first(self) -> Placement:
        """Return the first batch: all of a fill have its times."""
        return self.placements[0]


def simulate(day: Day, plan: Plan, *, runs: int = RUNS, seed: int = SEED) -> Risk:
    """Return the chance of each dish and meal over `runs` sampled days."""
    event = day.event
    in_time = _in_time(day, plan, _samples(day, runs, seed))
    weakest = min(
        plan.placements, key=lambda p: (in_time[p.dish_id].mean(), p.margin_min, p.id), default=None
    )
    return Risk(
        runs=runs,
        all_of_100=_shown(
            np.all(list(in_time.values()) or [np.ones(runs, dtype=np.bool_)], axis=0)
        ),
        without=tuple(_without(event, in_time)),
        dishes=tuple(DishChance(dish_id=d, of_100=_shown(g)) for d, g in sorted(in_time.items())),
        meals=tuple(_meal_chances(event, in_time)),
        weakest_cooker_id=weakest.cooker_id if weakest else None,
        dishes_on_time=round(float(sum(g.mean() for g in in_time.values())), 3),
    )


def _samples(day: Day, runs: int, seed: int) -> Samples:
    rng = np.random.Generator(np.random.PCG64(seed))
    beam, diffuse = sky_ensemble(day.event, day.sky, rng, runs)
    cookers = {
        c.id: drawn_cooker(
            day.strength_band(c), partial(plain_normal, rng, runs), glazed=c.nature.glazed
        )
        for c in day.event.cookers
    }
    return Samples(runs, rng, beam, diffuse, cookers)


def _in_time(day: Day, plan: Plan, samples: Samples) -> dict[str, Bools]:
    """Return, by dish and run, whether all of its batches are ready when they are served."""
    by_dish: dict[str, list[Bools]] = defaultdict(list)
    for fill in _fills(day, plan):
        ready = _ready(day, plan, fill, samples)
        for p, done in zip(fill.placements, ready, strict=True):
            rested = done + day.event.dish(p.dish_id).rest_min
            eaten = not _is_unsafe(day, fill, p)
            by_dish[p.dish_id].append((rested <= minute_of(day.sky, p.served_at)) & eaten)
    return {dish_id: np.all(batches, axis=0) for dish_id, batches in by_dish.items()}


def _is_unsafe(day: Day, fill: Fill, p: Placement) -> bool:
    """Return whether a pot in progress is expected to cool, hot through, and be warmed again."""
    if fill.in_progress is None:
        return False
    (number,) = (n for n, q in enumerate(fill.in_progress.placements) if q.id == p.id)
    return is_warmed_again(day, fill.in_progress, number, minute_of(day.sky, p.lifted_at))


def _fills(day: Day, plan: Plan) -> list[Fill]:
    """Return what is loaded together, by name; pots of one load may have left it one by one."""
    started = {
        p.id: n
        for n, load in enumerate(day.replan.in_progress if day.replan else ())
        for p in load.placements
    }
    groups: dict[tuple[str, int], list[Placement]] = defaultdict(list)
    for p in plan.placements:
        groups[(p.fill, started.get(p.id, -1))].append(p)
    return [
        Fill(
            placements=tuple(group),
            cooker=day.event.cooker(group[0].cooker_id),
            load=Load(
                tuple(day.event.dish(p.dish_id) for p in group),
                tuple(p.mass_kg for p in group),
                tuple(day.event.pot(p.pot_id) for p in group),
                reheat_c=rules_of(day.event).reheat_c,
            ),
            in_progress=day.replan.in_progress[n] if day.replan and n >= 0 else None,
        )
        for (_, n), group in sorted(groups.items())
    ]


def _meal_chances(event: Event, in_time: Mapping[str, Bools]) -> Iterator[MealChance]:
    for meal in event.meals:
        dishes = [in_time[d.id] for d in event.dishes if d.meal == meal.id and d.id in in_time]
        if dishes:
            yield MealChance(meal_id=meal.id, of_100=_shown(np.all(dishes, axis=0)))


def _without(event: Event, in_time: Mapping[str, Bools]) -> Iterator[DishChance]:
    """Leave dishes out one by one, each time the one whose loss helps the others most."""
    left = dict(in_time)
    while len(left) > 1:
        others = {
            d: np.all([g for k, g in left.items() if k != d], axis=0)
            for d in sorted(left, key=lambda d: (event.dish(d).priority, d))
        }
        worst = max(others, key=lambda d: float(others[d].mean()))
        del left[worst]
        yield DishChance(dish_id=worst, of_100=_shown(others[worst]))


def _shown(good: np.ndarray) -> int:
    """Return a share of runs to the nearest step of five: nothing is certain."""
    return min(SKIES_MOST, round(100 * float(good.mean()) / SHOWN) * SHOWN)


def _ready(day: Day, plan: Plan, fill: Fill, samples: Samples) -> Array:
    """Return the minute of the day at which each batch of a fill is done, by (batch, run)."""
    forcing = _forcing(day, plan, fill, samples)
    in_progress, first = fill.in_progress, fill.first
    if in_progress is not None and in_progress.stage == "lifted":
        done = np.full(
            (len(fill.placements), samples.runs), float(minute_of(day.sky, first.done_at))
        )
        cooking_min = np.asarray(in_progress.clock_min)[_numbers(fill, in_progress), None]
        state = _as_it_stands(fill, in_progress, samples)
        return _safe(day, fill, done, cooking_min - _spent_min(fill), state.core_c)
    if in_progress is None:
        state = _loaded(day, fill, forcing, samples)
    else:
        state = _as_it_stands(fill, in_progress, samples)
    if in_progress is not None and in_progress.stage == "on-ring":
        forcing = _flame(day, in_progress.durations.query.cooker, samples.runs)
    elif first.then_cooker_id is not None and len(fill.placements) == 1:
        return _ready_in_second_cooker(day, fill, state, forcing, samples)
    loaded = state.minute.copy()
    until = np.full(samples.runs, float(minute_of(day.sky, _heat_ends(day, first))) + 1)
    stands = any(_spoils_cold(dish) for dish in fill.load.dishes)
    result = run(state, forcing, until=until, boil_c=day.boil_c, dt_s=STEP_S, follow=stands)
    done = result.done_min + loaded
    if not stands:
        return _safe(day, fill, done, result.clock_min, None)
    return _safe(day, fill, done, result.clock_min + _cooled_min(result), _last_c(result))


def _spoils_cold(dish: Dish) -> bool:
    """Return whether a dish can spoil and need not be kept hot: its clock runs while it stands."""
    return dish.hazardous and not dish.serve_hot


def _cooled_min(result: SimulationResult) -> Array:
    """Return by (pot, run) how long a pot that was done stayed under 60 °C in its cooker."""
    assert result.core_c is not None
    minute = np.arange(len(result.core_c))[:, None, None] * STEP_S / 60
    cold = (result.core_c < CLOCK_TO_C) & (minute > result.done_min)
    cooled: Array = cold.sum(axis=0) * STEP_S / 60
    return cooled


def _last_c(result: SimulationResult) -> Array:
    """Return the middle of each pot by run when it was last followed: NaN comes after it."""
    assert result.core_c is not None
    last = np.isfinite(result.core_c).sum(axis=0) - 1
    lifted: Array = np.take_along_axis(result.core_c, last[None], axis=0)[0].astype(np.float64)
    return lifted


def _spent_min(fill: Fill) -> Array:
    """Return each pot's minutes between 5 and 60 °C in a cooker that it had to leave before."""
    return np.asarray([[float(p.spent_min)] for p in fill.placements])


def _safe(day: Day, fill: Fill, done: Array, cooking_min: Array, lifted_c: Array | None) -> Array:
    """Return when pots are done, never where they are too long between 5 and 60 °C when eaten.

    All by (batch, run). `lifted_c` is how warm they are lifted, where that is asked.
    """
    clock_min = np.broadcast_to(cooking_min + _spent_min(fill), done.shape).copy()
    for n, (p, dish, pot) in enumerate(
        zip(fill.placements, fill.load.dishes, fill.load.pots, strict=True)
    ):
        if lifted_c is not None and _spoils_cold(dish):
            clock_min[n] = clock_to_plate_min(
                day,
                dish,
                p.mass_kg,
                pot,
                before_min=clock_min[n],
                from_c=lifted_c[n],
                lift=min(
                    minute_of(day.sky, p.off_at or p.lifted_at), minute_of(day.sky, p.last_plate_at)
                ),
                last_plate=minute_of(day.sky, p.last_plate_at),
            )
        done[n] = np.where(too_long_warm(day, dish, clock_min[n]), np.inf, done[n])
    return done


def _heat_ends(day: Day, p: Placement) -> datetime:
    """Return when a pot gets no more heat, done or not; a hay box goes on cooking."""
    if p.then_cooker_id is None:
        return min(p.lifted_at, p.served_at)
    ring = day.event.cooker(p.then_cooker_id).on_gas
    return min(p.off_at or p.served_at, p.served_at) if ring else p.served_at


def _forcing(day: Day, plan: Plan, fill: Fill, samples: Samples) -> Forcing:
    """Return what each sampled day gives a fill's cooker, over the minutes that it is used.

    The rest of the day is left dark: nothing is run through it.
    """
    cooker, first = fill.cooker, fill.first
    begins = minute_of(day.sky, first.preheat_at or first.loaded_at)
    if day.replan is not None:
        begins = min(begins, day.replan.minute)
    span = slice(max(0, begins - 5), minute_of(day.sky, first.served_at) + 20)
    floor_deg = skyline_deg(skyline_of(day.event, cooker), day.sky.azimuth_deg[span])
    above = day.sky.elevation_deg[span] > floor_deg
    beam = np.where(above, samples.beam_w_m2[:, span], 0.0)
    won = heating_w(
        cooker, beam, samples.diffuse_w_m2[:, span], elevation_deg=day.sky.elevation_deg[span]
    )
    if cooker.on_sun:
        won = won * _pointing(day, plan, fill, samples)[:, span]
    watts = np.zeros(samples.beam_w_m2.shape)
    watts[:, span] = won * day.availability[cooker.id][span]
    return Forcing(watts, day.sky.air_c, day.sky.wind_m_s)


def _pointing(day: Day, plan: Plan, fill: Fill, samples: Samples) -> Array:
    """Return the share of power left by run and minute, where the helper comes late by a sample."""
    first, cooker = fill.first, fill.cooker
    begins = first.preheat_at or first.loaded_at
    # A load in progress stands as it was aimed, whenever that was.
    own = [t for t in plan.turns if t.cooker_id == cooker.id and t.at < first.lifted_at]
    turns = [t for t in own if begins <= t.at or fill.in_progress is not None]
    lates = sorted(set(TURN_LATE_MIN))
    share = np.asarray([pointing(day, _delayed(turns, late), cooker) for late in lates])
    late_by_run = samples.rng.choice(TURN_LATE_MIN, samples.runs)
    return share[np.searchsorted(lates, late_by_run)]


def _delayed(turns: list[Turn], minutes: int) -> list[Turn]:
    """Return turns done late: the shadow's tip is brought to the same place, only later."""
    late = timedelta(minutes=minutes)
    return [t if t.first else changed(t, at=t.at + late, to_elevation_deg=None) for t in turns]


def _flame(day: Day, ring: Cooker, runs: int) -> Forcing:
    watts = heating_w(ring, day.sky.beam_w_m2, day.sky.diffuse_w_m2, elevation_deg=None)
    return Forcing(np.tile(watts, (runs, 1)), day.sky.air_c, day.sky.wind_m_s)


def _loaded(day: Day, fill: Fill, forcing: Forcing, samples: Samples) -> Ensemble:
    """Return the initial state, with sampled loading delay, pot mass and start temperature."""
    runs, rng, first = samples.runs, samples.rng, fill.first
    late_min = rng.choice(LOAD_LATE_MIN, runs)
    start = minute_of(day.sky, first.loaded_at)
    body_c = np.full(runs, float(day.sky.air_c[start]))
    if first.preheat_at is not None:
        empty_min = start - minute_of(day.sky, first.preheat_at)
        starts = np.full(runs, start)
        body_c = heat.preheated_c(
            fill.cooker,
            forcing,
            np.arange(runs),
            minutes=starts,
            for_min=empty_min,
            strength=samples.cookers[fill.cooker.id].strength,
        )
    state = heat.ensemble(
        fill.cooker,
        fill.load,
        minutes=start + late_min.astype(np.float64),
        row=np.arange(runs),
        body_c=body_c,
        strength=samples.cookers[fill.cooker.id].strength.copy(),
        boil_c=day.boil_c,
    )
    state.loss = samples.cookers[fill.cooker.id].loss.copy()
    shape = (len(fill.placements), runs)
    state.pot_j_k = state.pot_j_k * (1 + MASS_ERROR * rng.standard_normal(shape))
    warm_c = day.replan.warm_c if day.replan else {}
    pots = zip(fill.placements, fill.load.dishes, strict=True)
    above_c = np.asarray([warm_c.get(p.id, d.start_c) - d.start_c for p, d in pots])
    warmer_c = START_ERROR_C * rng.standard_normal(shape) + above_c[:, None]
    state.pot_c, state.core_c = state.pot_c + warmer_c, state.core_c + warmer_c
    return state


def _numbers(fill: Fill, in_progress: LoadInProgress) -> list[int]:
    """Return which pots of a load in progress are a fill's."""
    ids = [p.id for p in in_progress.placements]
    return [ids.index(p.id) for p in fill.placements]


def _as_it_stands(fill: Fill, in_progress: LoadInProgress, samples: Samples) -> Ensemble:
    """Return the state of a load in progress (its expected member), at sampled strengths."""
    pots = some_pots(in_progress.state, _numbers(fill, in_progress))
    state = select(pots, np.full(samples.runs, 1, dtype=np.int64))
    state.row = np.arange(samples.runs)
    state.strength = samples.cookers[fill.cooker.id].strength.copy()
    state.loss = samples.cookers[fill.cooker.id].loss.copy()
    return state


def _ready_in_second_cooker(
    day: Day, fill: Fill, state: Ensemble, forcing: Forcing, samples: Samples
) -> Array:
    """Return when a lone pot that is moved on is done: as sampled at first, then kept or on gas."""
    first, dish = fill.first, fill.load.dishes[0]
    runs = state.minute.size
    then = day.event.cooker(first.then_cooker_id or "")
    lifted = np.full(runs, float(minute_of(day.sky, first.lifted_at)))
    ends = _heat_ends(day, first) if then.on_gas else first.last_plate_at
    advance(state, forcing, until=lifted, boil_c=day.boil_c)
    after = transfer(day, state, fill.load, then, members=np.arange(runs), lifted=lifted)
    after.strength = samples.cookers[then.id].strength.copy()
    after.loss = samples.cookers[then.id].loss.copy()
    until = np.full(runs, float(minute_of(day.sky, ends)))
    end = finish(after, day.forcing, until=until, boil_c=day.boil_c, cools=not then.on_gas)
    hot_c = rules_of(day.event).hot_holding_c if dish.serve_hot else 0.0
    warm = (end.coldest_c >= hot_c) | then.on_gas
    done = np.where(warm, end.done, np.inf)[None, :]
    return _safe(day, fill, done, end.clock_min[None, :], None)
