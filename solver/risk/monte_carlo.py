"""How likely each dish is to be on time: the finished plan, flown through many drawn days.

One draw is one day for everybody: the forecast's error by hour (each hour leans on the one
before, one sky for all cookers), the day's haze, each cooker's strength, each pot's mass and
start, and people who load and turn late. Flicker within the hour averages out in a pot.

Every spread is a constant below, typical or judged, none measured: chances are shown in steps of
five, and only where there is a forecast at all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

import numpy as np

from events.model import Cooker, Dish, Event, changed
from solver.plan import DishChance, MealChance, Placement, Plan, Risk, Turn
from solver.policy import CLOCK_LIMIT_MIN, SKIES_MOST
from solver.simulation.day_state import LoadInProgress
from solver.simulation.durations import BAND_TO_SIGMA, Day, copies, skyline_of
from solver.simulation.durations import run as walk
from solver.simulation.replay import pointing
from solver.simulation.transfer import MOVE_MIN, advance, finish, hand_over, some_pots
from solver.solar.ensemble import sky_ensemble
from solver.solar.irradiance import minute_of
from solver.solar.position import skyline_deg
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Forcing, Load
from solver.thermal.food import HOT_HOLDING_C
from solver.thermal.light import heating_w

RUNS = 200
SEED = 2026
MASS_ERROR = 0.05  # of a pot's contents: judgement
START_ERROR_C = 2.0
LOAD_LATE_MIN = (0, 0, 5, 10)  # each a quarter of the time: judgement
TURN_LATE_MIN = (0, 0, 5, 15)
STEP_S = 180.0
SHOWN = 5  # chances in steps of five: 200 runs at 80 % carry ±6


def simulate(day: Day, plan: Plan, *, runs: int = RUNS, seed: int = SEED) -> Risk:
    """Return the chance of each dish and meal, flown through `runs` drawn days."""
    event = day.event
    rng = np.random.Generator(np.random.PCG64(seed))
    beam, diffuse = sky_ensemble(event, day.sky, rng, runs)
    strength = {
        c.id: np.maximum(1 + day.strength_band(c) * BAND_TO_SIGMA * rng.standard_normal(runs), 0.3)
        for c in event.cookers
    }
    fills: dict[str, list[Placement]] = defaultdict(list)
    for p in plan.placements:
        fills[p.fill].append(p)
    on_time: dict[str, list[np.ndarray]] = defaultdict(list)
    for name in sorted(fills):
        fill = fills[name]
        ready = _ready(day, plan, fill, beam, diffuse, strength, rng, runs)
        for p, done in zip(fill, ready, strict=True):
            dish = next(d for d in event.dishes if d.id == p.dish_id)
            on_time[p.dish_id].append(done + dish.rest_min <= minute_of(day.sky, p.served_at))
    good = {d: np.all(v, axis=0) for d, v in on_time.items()}
    dishes = tuple(DishChance(dish_id=d, of_100=_shown(g)) for d, g in sorted(good.items()))
    meals = []
    for meal in event.meals:
        mine = [good[d.id] for d in event.dishes if d.meal == meal.id and d.id in good]
        if mine:
            meals.append(MealChance(meal_id=meal.id, of_100=_shown(np.all(mine, axis=0))))
    weak = min(
        plan.placements, key=lambda p: (good[p.dish_id].mean(), p.margin_min, p.id), default=None
    )
    expected = float(sum(g.mean() for g in good.values()))
    return Risk(
        runs=runs,
        all_of_100=_shown(np.all(list(good.values()) or [np.ones(runs)], axis=0)),
        without=tuple(_without(event, good)),
        dishes=dishes,
        meals=tuple(meals),
        weakest_cooker_id=weak.cooker_id if weak else None,
        dishes_on_time=round(expected, 1),
    )


def _without(event: Event, good: dict[str, np.ndarray]) -> Iterator[DishChance]:
    """Leave dishes out one by one, each time the one whose loss helps the others most."""
    left = dict(good)
    weight = {d.id: d.priority for d in event.dishes}
    while len(left) > 1:
        names = sorted(left, key=lambda d: (weight[d], d))
        gain = {
            d: float(np.all([g for k, g in left.items() if k != d], axis=0).mean()) for d in names
        }
        worst = max(names, key=lambda d: gain[d])
        del left[worst]
        yield DishChance(dish_id=worst, of_100=_shown(np.all(list(left.values()), axis=0)))


def _shown(good: np.ndarray) -> int:
    """Return a share of runs in steps of five, rounded down: nothing is certain."""
    return min(SKIES_MOST, int(100 * float(good.mean()) // SHOWN) * SHOWN)


def _ready(
    day: Day,
    plan: Plan,
    fill: list[Placement],
    beam: Array,
    diffuse: Array,
    strength: dict[str, Array],
    rng: np.random.Generator,
    runs: int,
) -> Array:
    """Return the minute of the day at which each batch of a fill is done, by (batch, run)."""
    event, first = day.event, fill[0]
    cooker = next(c for c in event.cookers if c.id == first.cooker_id)
    # Only the minutes that the load is walked through: the rest of the day is left dark.
    begins = minute_of(day.sky, first.preheat_at or first.loaded_at)
    if day.replan is not None:
        begins = min(begins, day.replan.minute)
    span = slice(max(0, begins - 5), minute_of(day.sky, first.served_at) + 20)
    light = np.zeros(beam.shape)
    some = heating_w(
        cooker,
        _unblocked(event, day, cooker, beam[:, span], span),
        diffuse[:, span],
        elevation_deg=day.sky.elevation_deg[span],
    )
    if cooker.on_sun:
        some = some * _aimed(day, plan, first, cooker, rng, runs, span)
    light[:, span] = some * day.availability[cooker.id][span]
    forcing = Forcing(light, day.sky.air_c, day.sky.wind_m_s)
    lift, serve = minute_of(day.sky, first.lifted_at), minute_of(day.sky, first.served_at)
    begun = _begun(day, first)
    if begun is not None and begun.stage == "lifted":
        return np.full((len(fill), runs), float(minute_of(day.sky, first.done_at)))
    if begun is not None:
        state = _as_it_stands(begun, fill, runs, strength[cooker.id])
        start = day.replan.minute if day.replan else 0
        if begun.stage == "on-ring":
            forcing = _flame(day, begun.durations.ask.cooker, runs)
    else:
        start = minute_of(day.sky, first.loaded_at)
        state = _loaded(day, fill, cooker, forcing, strength[cooker.id], rng, runs)
    hazardous = np.asarray([d.hazardous for d in state_dishes(event, fill)])[:, None]
    then = next((c for c in event.cookers if c.id == first.then_cooker_id), None)
    if then is not None and (begun is None or begun.stage == "cooking"):
        cooked = minute_of(day.sky, first.done_at) <= lift
        if not cooked:
            return _in_two(day, fill, state, forcing, then, lift, serve, runs)
    minutes = state.minute.copy()
    until = np.full(runs, float(serve) + 1)
    told = walk(state, forcing, until=until, boil_c=day.boil_c, dt_s=STEP_S)
    safe = ~hazardous | (told.clock_min <= CLOCK_LIMIT_MIN)
    late = 0.0 if begun is None else np.maximum(minutes - start, 0.0)
    return np.where(safe, told.done_min + minutes - late, np.inf)


def state_dishes(event: Event, fill: list[Placement]) -> list[Dish]:
    """Return the dishes of a fill, pot by pot."""
    dishes = {d.id: d for d in event.dishes}
    return [dishes[p.dish_id] for p in fill]


def _loaded(
    day: Day,
    fill: list[Placement],
    cooker: Cooker,
    forcing: Forcing,
    strength: Array,
    rng: np.random.Generator,
    runs: int,
) -> Ensemble:
    """Return lanes from the loading on, late hands, unlike pots and unlike starts included."""
    event, first = day.event, fill[0]
    pots = {p.id: p for p in event.pots}
    load = Load(
        tuple(state_dishes(event, fill)),
        tuple(p.mass_kg for p in fill),
        tuple(pots[p.pot_id] for p in fill),
    )
    late = rng.choice(LOAD_LATE_MIN, runs)
    start = minute_of(day.sky, first.loaded_at)
    body = np.full(runs, float(day.sky.air_c[start]))
    if first.preheat_at is not None:
        empty = start - minute_of(day.sky, first.preheat_at)
        body = heat.preheated_c(
            cooker, forcing, np.arange(runs), minutes=np.full(runs, start), for_min=empty
        )
    state = heat.ensemble(
        cooker,
        load,
        minutes=start + late.astype(np.float64),
        row=np.arange(runs),
        body_c=body,
        strength=strength,
        boil_c=day.boil_c,
    )
    state.pot_j_k = state.pot_j_k * (1 + MASS_ERROR * rng.standard_normal((len(fill), runs)))
    warmer = START_ERROR_C * rng.standard_normal((len(fill), runs))
    warm = day.replan.warm if day.replan else {}
    above = [warm.get(p.id, d.start_c) - d.start_c for p, d in zip(fill, load.dishes, strict=True)]
    warmer = warmer + np.asarray(above)[:, None]
    state.pot_c, state.core_c = state.pot_c + warmer, state.core_c + warmer
    return state


def _begun(day: Day, p: Placement) -> LoadInProgress | None:
    if day.replan is None:
        return None
    return next((b for b in day.replan.in_progress if p.id in {q.id for q in b.placements}), None)


def _as_it_stands(
    begun: LoadInProgress, fill: list[Placement], runs: int, strength: Array
) -> Ensemble:
    """Return lanes that go on from where the pots of a load stand, at drawn strengths."""
    ids = [p.id for p in begun.placements]
    stays = some_pots(begun.state, [ids.index(p.id) for p in fill])
    state = copies(stays, np.full(runs, 1, dtype=np.int64))
    state.row = np.arange(runs)
    state.strength = strength.copy()
    return state


def _flame(day: Day, ring: Cooker, runs: int) -> Forcing:
    flame = heating_w(ring, day.sky.beam_w_m2, day.sky.diffuse_w_m2, elevation_deg=None)
    return Forcing(np.tile(flame, (runs, 1)), day.sky.air_c, day.sky.wind_m_s)


def _in_two(
    day: Day,
    fill: list[Placement],
    state: Ensemble,
    forcing: Forcing,
    then: Cooker,
    lift: int,
    serve: int,
    runs: int,
) -> Array:
    """Return when a lone pot that is moved on is done: as drawn at first, then kept or on gas."""
    pots = {p.id: p for p in day.event.pots}
    load = Load(
        tuple(state_dishes(day.event, fill)),
        tuple(p.mass_kg for p in fill),
        tuple(pots[p.pot_id] for p in fill),
    )
    advance(state, forcing, until=np.full(runs, float(lift)), boil_c=day.boil_c)
    air_c = float(day.sky.air_c[min(lift, day.sky.air_c.size - 1)])
    after = heat.ensemble(
        then,
        load,
        minutes=np.full(runs, float(lift + MOVE_MIN)),
        row=np.zeros(runs, dtype=np.int64),
        body_c=np.full(runs, air_c),
        strength=np.ones(runs),
        boil_c=day.boil_c,
    )
    every = np.arange(runs)
    hand_over(state, after, every, air_c=air_c, litres=load.pots[0].litres)
    second = heating_w(
        then, day.sky.beam_w_m2, day.sky.diffuse_w_m2, elevation_deg=day.sky.elevation_deg
    )[None, :]
    forcing = Forcing(second, day.sky.air_c, day.sky.wind_m_s)
    end = finish(after, forcing, until=np.full(runs, float(serve)), boil_c=day.boil_c)
    safe = (end.clock_min <= CLOCK_LIMIT_MIN) | (not load.dishes[0].hazardous)
    hot = HOT_HOLDING_C[day.event.site.food_rules] if load.dishes[0].serve_hot else 0.0
    warm = (end.end_c >= hot) | then.on_gas
    return np.where(safe & warm, end.done, np.inf)[None, :]


def _unblocked(event: Event, day: Day, cooker: Cooker, beam: Array, span: slice) -> Array:
    floor = skyline_deg(skyline_of(event, cooker), day.sky.azimuth_deg[span])
    return np.where(day.sky.elevation_deg[span] > floor, beam, 0.0)


def _aimed(
    day: Day,
    plan: Plan,
    first: Placement,
    cooker: Cooker,
    rng: np.random.Generator,
    runs: int,
    span: slice,
) -> Array:
    """Return the share of power left by run and minute, where the walker comes late by a draw."""
    begins = first.preheat_at or first.loaded_at
    if _begun(day, first) is not None:
        # Where it stands it was aimed by somebody; only what is to come can be late.
        begins = min((t.at for t in plan.turns if t.cooker_id == cooker.id), default=begins)
    turns = [t for t in plan.turns if t.cooker_id == cooker.id and begins <= t.at < first.lifted_at]
    lates = sorted(set(TURN_LATE_MIN))
    kinds = np.asarray([pointing(day, _delayed(turns, late), cooker)[span] for late in lates])
    drawn = rng.choice(TURN_LATE_MIN, runs)
    return kinds[np.searchsorted(lates, drawn)]


def _delayed(turns: list[Turn], minutes: int) -> list[Turn]:
    """Return turns done late; each still aims where it was to aim, so the aim holds as long."""
    late = timedelta(minutes=minutes)
    return [t if t.first else changed(t, at=t.at + late, holds_until=t.holds_until) for t in turns]
