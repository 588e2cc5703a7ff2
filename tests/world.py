"""A world of its own, in which plans are tried (tests/trial.py does so).

It imports nothing from `solver`. Its sun, its sky, its cookers, its food and its people are written
here anew, simpler in some ways and harsher in others, with effects no planner knows: fogged glass,
leaky lids, cloud at the wrong hour and of the wrong colour, turns up to fifteen minutes late, a
cooker a quarter weak. Many drawn days are run side by side: arrays are by day.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from events.food_rules import rules_of
from events.model import Cooker, Dish, Event
from tests.world_sky import clear_beam, minute, sun_way

STEPS_A_MINUTE = 2
WATER_J_KG_K = 4186.0
SUN = ("parabolic", "box", "panel")
WARM_ENOUGH_K = 1.0  # under what the rules ask: nobody reads a thermometer finer


@dataclass(frozen=True)
class Job:
    """One batch as it is cooked, however it was planned. Minutes of the day, local midnight on."""

    dish_id: str
    cooker_id: str
    kg: float
    pot_kg: float
    pot_litres: float
    load: float
    lift: float
    serve: float
    turns: tuple[float, ...]  # first aim included
    empty_from: float | None = None
    then_id: str | None = None
    off: float | None = None
    start_c: float | None = None  # where it comes warm out of another cooker
    eaten: float | None = None  # when its last plate is served; it stands lid on until then
    id: str = ""


@dataclass(frozen=True)
class Luck:
    """Drawn days, side by side: what is not as described. By day; by dish or cooker where named."""

    clear: np.ndarray  # haze on the beam
    cloud: np.ndarray  # (days, minutes), 0 to 1, as it really is
    grey: np.ndarray  # share of the sky's light that comes through full cloud
    worth: dict[str, np.ndarray]  # by cooker: what it wins of what was described
    leaks: dict[str, np.ndarray]  # by cooker: its losses, against those described
    fog: dict[str, np.ndarray]  # by box: share of sun lost to fogged glass while it warms
    late_turn: np.ndarray
    late_load: dict[str, np.ndarray]
    kg: dict[str, np.ndarray]
    start_c: dict[str, np.ndarray]
    broken: dict[str, float] = field(default_factory=dict)  # by cooker, from when on

    @property
    def days(self) -> int:
        """How many days there are."""
        return self.clear.size


@dataclass(frozen=True)
class Came:
    """What came of a batch or a dish, by day."""

    ready: np.ndarray  # done, and safe, when it is served
    hot: np.ndarray  # as hot as the rules ask from then to the last plate, where it is to be hot
    held_min: np.ndarray  # from done to served

    @property
    def good(self) -> np.ndarray:
        """Whether it came as promised."""
        return self.ready & self.hot


@dataclass
class Pot:
    """One pot on its way, by day."""

    food_c: np.ndarray
    core_c: np.ndarray
    body_c: np.ndarray
    cooked: np.ndarray
    lethal: np.ndarray
    danger: np.ndarray
    done_at: np.ndarray
    trace: dict[int, np.ndarray] = field(default_factory=dict)  # the middle, by minute
    food: dict[int, np.ndarray] = field(default_factory=dict)  # its outside, by minute
    body: dict[int, np.ndarray] = field(default_factory=dict)  # the cooker's inside, by minute


@dataclass(frozen=True)
class Stage:
    """One cooker in which a pot stands from one minute to another; a day may begin later."""

    cooker: Cooker
    watts: np.ndarray  # (days, minutes)
    begins: np.ndarray  # by day
    ends: float


def draw(event: Event, seed: int, days: int, *, kind: bool = False) -> Luck:
    """Return drawn days; `kind` ones are as described and clear as forecast.

    They hang on the event and the seed alone: the same days for whoever cooks.
    """
    luck = np.random.default_rng(seed)
    spread = 0.0 if kind else 1.0
    told = np.zeros(1440)
    for n, h in enumerate(sorted(event.weather.hours, key=lambda h: h.start)):
        told[0 if n == 0 else int(minute(event, h.start)) :] = h.cloud_pct / 100

    def normal(size: float, *shape: int) -> np.ndarray:
        return spread * size * luck.standard_normal((days, *shape))

    # The cloud bank comes at another hour than forecast.
    shift = (spread * luck.integers(-75, 76, days)).astype(int)
    cloud = np.stack([np.roll(told, n) for n in shift]) + normal(0.12, 1)
    knots = np.clip(cloud, 0, 1)[:, ::10]
    knots = np.clip(knots + normal(0.25, 144) * np.sqrt(knots + 0.02), 0, 1)
    weak = luck.integers(len(event.cookers), size=days)
    return Luck(
        clear=np.clip(1 + normal(0.06), 0.75, 1.1),
        cloud=np.stack([np.interp(np.arange(1440), np.arange(0, 1440, 10), k) for k in knots]),
        grey=np.clip(0.35 + normal(0.1), 0.1, 0.6),
        worth={
            c.id: np.clip(1 + normal(0.15), 0.5, 1.4) * (1 - 0.25 * spread * (weak == n))
            for n, c in enumerate(event.cookers)
        },
        leaks={c.id: np.clip(1 + normal(0.08), 0.7, 1.4) for c in event.cookers},
        fog={c.id: spread * luck.uniform(0, 0.25, days) * (c.kind == "box") for c in event.cookers},
        late_turn=spread * luck.uniform(0, 15, days),
        late_load={d.id: spread * luck.choice((0, 0, 3, 8), days) for d in event.dishes},
        kg={d.id: 1 + normal(0.05) for d in event.dishes},
        start_c={d.id: normal(2.0) for d in event.dishes},
    )


def cook(event: Event, job: Job, luck: Luck) -> Pot:
    """Take one batch through drawn days by explicit steps of half a minute."""
    cookers = {c.id: c for c in event.cookers}
    dish = next(d for d in event.dishes if d.id == job.dish_id)
    none = np.zeros(luck.days)
    loaded = job.load + luck.late_load[job.dish_id]
    from_c = dish.start_c + luck.start_c[job.dish_id] if job.start_c is None else none + job.start_c
    air = _hourly(event, "air_c", 20.0)
    body_c = none + air[int(job.load)]
    pot = Pot(from_c, from_c.copy(), body_c, none.copy(), none.copy(), none.copy(), none + np.inf)
    first = cookers[job.cooker_id]
    watts = _watts(event, job, first, luck)
    if job.empty_from is not None:
        empty = Stage(
            first, watts, none + job.empty_from, job.load + float(np.max(loaded - job.load))
        )
        _run(event, job, luck, empty, pot, stop=loaded)
    _run(event, job, luck, Stage(first, watts, loaded, job.lift), pot, dish)
    until = job.lift
    if job.then_id is not None and job.off is not None:
        then = cookers[job.then_id]
        pot.body_c = none + air[int(job.lift)]
        moved = Stage(then, _watts(event, job, then, luck), none + job.lift + 5, job.off)
        _run(event, job, luck, moved, pot, dish)
        until = max(job.off, job.lift)
    _stand(event, job, luck, pot, dish, until)
    return pot


def _stand(event: Event, job: Job, luck: Luck, pot: Pot, dish: Dish, since: float) -> None:
    """Let a lifted pot cool until its last plate: Newton's law, more of it in wind (typical)."""
    air, wind = _hourly(event, "air_c", 20.0), _hourly(event, "wind_m_s", 1.0)
    boil = _boil_c(event)
    for m in range(int(since), min(int(job.eaten or 0.0), 1439)):
        loss = 8.0 * _area_m2(job) * (1 + 0.475 * wind[m])
        pot.food_c = pot.food_c - loss * (pot.food_c - air[m]) * 60 / _heat_j_k(job, dish, luck)
        pot.core_c = np.minimum(pot.core_c, pot.food_c)
        _count(pot, dish, boil, m + 1)


def _hourly(event: Event, key: str, usual: float) -> np.ndarray:
    out = np.full(1440, usual)
    for n, h in enumerate(sorted(event.weather.hours, key=lambda h: h.start)):
        out[0 if n == 0 else int(minute(event, h.start)) :] = getattr(h, key)
    return out


def _boil_c(event: Event) -> float:
    return 100 - 0.00332 * event.site.altitude_m


def _area_m2(job: Job) -> float:
    return 1.5 * math.pi * (4 * job.pot_litres / 1000 / math.pi) ** (2 / 3)


def _heat_j_k(job: Job, dish: Dish, luck: Luck) -> np.ndarray:
    return job.kg * luck.kg[job.dish_id] * specific(dish) + job.pot_kg * 600


def _watts(event: Event, job: Job, cooker: Cooker, luck: Luck) -> np.ndarray:
    """Return what a cooker wins by day and minute."""
    shape = (luck.days, 1440)
    if cooker.kind == "burner":
        return np.full(shape, cooker.optical_efficiency * (cooker.power_w or 0.0))
    if cooker.kind == "insulated":
        return np.zeros(shape)
    height, azimuth = sun_way(event)
    beam = clear_beam(height, event.site.altitude_m)
    upright = np.maximum(np.sin(np.radians(height)), 0.0)
    sky = 0.1 * beam * upright + luck.cloud * luck.grey[:, None] * beam * upright
    beam = beam * luck.clear[:, None] * (1 - luck.cloud)
    beam = np.where(np.interp(azimuth, *_line(event, cooker)) >= height, 0.0, beam)
    if cooker.glass_tilt_deg is not None:  # it is turned, not tilted
        beam = beam * np.maximum(np.sin(np.radians(height + cooker.glass_tilt_deg)), 0.0)
    light = (beam + cooker.diffuse_fraction * sky) * _pointed(cooker, job, luck, height, azimuth)
    works = np.arange(1440) < luck.broken.get(cooker.id, math.inf)
    won = cooker.optical_efficiency * (cooker.aperture_m2 or 0.0) * light * works
    return won * luck.worth[cooker.id][:, None]


def _line(event: Event, cooker: Cooker) -> tuple[list[float], list[float]]:
    station = next((s for s in event.stations if s.id == cooker.station), None)
    own = station.skyline if station and station.skyline is not None else event.site.skyline
    pairs = sorted(own) or [(0.0, 0.0)]
    return [a for a, _ in pairs] + [360.0], [h for _, h in pairs] + [pairs[0][1]]


def _pointed(
    cooker: Cooker, job: Job, luck: Luck, height: np.ndarray, azimuth: np.ndarray
) -> np.ndarray:
    """Return the share of power left by day and minute: the sun moves away from each aim."""
    out = np.ones((luck.days, 1440))
    aims = sorted(job.turns)
    minutes = np.arange(1440)
    for n, at in enumerate(aims):
        planned_end = aims[n + 1] if n + 1 < len(aims) else job.lift
        middle = int(min(1439, (at + planned_end) / 2))
        turn = np.abs((azimuth - azimuth[middle] + 180) % 360 - 180)
        rise = 0.0 if cooker.glass_tilt_deg is not None else height - height[middle]
        off = np.hypot(rise, turn * np.cos(np.radians(height)))
        fade = (off - cooker.acceptance_deg) / max(cooker.lost_deg - cooker.acceptance_deg, 1)
        # Where a helper is late, the aim before goes on.
        since = at + (luck.late_turn if n else 0.0 * luck.late_turn)
        out = np.where(minutes >= since[:, None], 1 - np.clip(fade, 0, 1), out)
    return out


def specific(dish: Dish) -> float:
    """Return a dish's specific heat, J/(kg K), of handbook values for its parts."""
    c = dish.composition
    dry = c.protein * 2.0 + c.fat * 2.0 + c.carbohydrate * 1.6 + c.fibre * 1.8 + c.ash * 1.1
    return 1000 * (4.19 * c.water + dry)


def _run(
    event: Event,
    job: Job,
    luck: Luck,
    stage: Stage,
    pot: Pot,
    dish: Dish | None = None,
    *,
    stop: np.ndarray | None = None,
) -> None:
    """Step a pot (or, without a dish, an empty cooker) through one stage."""
    air, wind = _hourly(event, "air_c", 20.0), _hourly(event, "wind_m_s", 1.0)
    boil, cooker, area, lag_s = _boil_c(event), stage.cooker, _area_m2(job), _lag_s(dish)
    leaks = luck.leaks[cooker.id]
    heat_j_k = _heat_j_k(job, dish, luck) if dish is not None else np.ones(luck.days)
    has_body = cooker.kind in ("box", "insulated")
    give_w_k = cooker.coupling_w_m2_k * area if has_body and dish is not None else 0.0
    part = (cooker.sun_on_pots_fraction if dish is not None else 0.0) if has_body else 1.0
    body_j_k, dt = max(cooker.body_kj_k * 1000, 2000.0), 60.0 / STEPS_A_MINUTE
    # A lid leaks vapour, most near the boil; a baked dish, or an insulated box, next to none.
    leaky = dish is not None and dish.shape != "baked" and cooker.kind != "insulated"
    vapour_w_k2 = 0.03 * area * leaky * (0.5 if cooker.kind in ("box", "panel") else 1.0)
    gains = 1 - math.exp(-dt / lag_s)
    for m in range(int(np.min(stage.begins)), min(int(stage.ends), 1439)):
        going = (stage.begins <= m) & (True if stop is None else m < stop)
        q = stage.watts[:, m] * (1 - luck.fog[cooker.id] * (m < stage.begins + 40))
        blow = leaks * (1 + cooker.wind_factor_s_m * wind[m])
        for _ in range(STEPS_A_MINUTE):
            into = part * q - vapour_w_k2 * np.maximum(pot.food_c - 50, 0) ** 2
            if has_body:
                give = give_w_k * (pot.body_c - pot.food_c)
                net = (1 - part) * q - (cooker.loss_w_k or 0) * blow * (pot.body_c - air[m]) - give
                pot.body_c = pot.body_c + going * net * dt / body_j_k
                into = into + give
            else:
                into = into - cooker.pot_loss_w_m2_k * area * blow * (pot.food_c - air[m])
            if dish is None:
                continue
            pot.food_c = np.minimum(pot.food_c + going * into * dt / heat_j_k, boil)
            surface = pot.body_c if dish.shape == "baked" else pot.food_c
            warmer = (np.minimum(surface, boil + 5) - pot.core_c) * gains
            pot.core_c = np.minimum(pot.core_c + going * warmer, boil)
        pot.body[m + 1] = pot.body_c
        if dish is not None:
            pot.food[m + 1] = pot.food_c
            _count(pot, dish, boil, m + 1)


def heated_empty(event: Event, job: Job, luck: Luck) -> dict[int, np.ndarray]:
    """Return how hot an empty cooker gets inside, by minute and day: without food no glass fogs."""
    cooker, none = next(c for c in event.cookers if c.id == job.cooker_id), np.zeros(luck.days)
    air = none + _hourly(event, "air_c", 20.0)[int(job.load)]
    pot = Pot(none, none, air, none, none, none, none)
    begins = job.load + luck.late_load[job.dish_id]
    luck = replace(luck, fog=dict.fromkeys(luck.fog, none))
    _run(event, job, luck, Stage(cooker, _watts(event, job, cooker, luck), begins, job.lift), pot)
    return pot.body


def _lag_s(dish: Dish | None) -> float:
    """Return one time constant for the middle: R²/6a of a ball, L²/2a of a slab; liquids none."""
    if dish is None or dish.shape == "liquid" or not dish.thickness_mm:
        return 1.0
    half = dish.thickness_mm / 2000
    per = 6 if dish.shape == "pieces" else 2
    return half**2 / (per * dish.diffusivity_mm2_s * 1e-6)


def _count(pot: Pot, dish: Dish, boil: float, at: int) -> None:
    pot.trace[at] = pot.core_c
    pot.danger = pot.danger + ((pot.core_c > 5) & (pot.core_c < 60))
    over = pot.core_c - 70
    pot.lethal = pot.lethal + np.where(over > -10, 10 ** (over / 7.5), 0.0)
    if dish.done == "simmer":
        pot.cooked = pot.cooked + 10 ** ((pot.core_c - 100) / dish.z_c)
        enough = pot.cooked >= _simmered(dish)
    else:
        least = 74.0 if dish.done == "reheat" else min(dish.core_c or 0.0, boil - 0.6)
        there = pot.food_c >= boil - 0.6 if dish.done == "boil" else pot.core_c >= least
        pot.cooked = np.where(there, pot.cooked + 1, 0.0)
        enough = pot.cooked >= max(dish.hold_min, 1)
    safe = not dish.hazardous or (pot.lethal >= 2) & (pot.danger <= 240)
    pot.done_at = np.where(enough & safe, np.minimum(pot.done_at, at), pot.done_at)


def _simmered(dish: Dish) -> float:
    """Return the cook value of the recipe's minutes in boiling water, with this world's lag."""
    return _cooked_min(_lag_s(dish) / 60, dish.ordinary_min, dish.start_c, dish.z_c)


@lru_cache(maxsize=256)
def _cooked_min(lag_min: float, minutes: int, start_c: float, z_c: float) -> float:
    total, core = 0.0, start_c
    for _ in range(minutes):
        core += (100 - core) * (1 - math.exp(-1 / lag_min)) if lag_min > 0.02 else 100 - core
        total += 10 ** ((core - 100) / z_c)
    return total


def came_of(event: Event, job: Job, luck: Luck) -> Came:
    """Return what came of one batch, by day."""
    return judged(event, job, cook(event, job, luck))


def judged(event: Event, job: Job, pot: Pot) -> Came:
    """Return whether a pot was ready and hot, and how long it was held, by day."""
    dish = next(d for d in event.dishes if d.id == job.dish_id)
    ready = pot.done_at + dish.rest_min <= job.serve + 1
    held_min = np.where(ready, job.serve - pot.done_at, 0.0)
    hot = np.ones(ready.size, dtype=bool)
    if dish.serve_hot:
        at_table = [c for at, c in pot.trace.items() if at >= job.serve]
        coldest_c = np.min(at_table or [np.full(ready.size, np.inf)], axis=0)
        hot = coldest_c >= rules_of(event).hot_holding_c - WARM_ENOUGH_K
    return Came(ready, hot, held_min)


def by_dish(event: Event, jobs: list[Job], came: list[Came], days: int) -> dict[str, Came]:
    """Return what came of each dish of the event: as good as its worst batch."""
    out = {}
    for dish in event.dishes:
        mine = [c for j, c in zip(jobs, came, strict=True) if j.dish_id == dish.id]
        if not mine:
            never = np.zeros(days, dtype=bool)
            out[dish.id] = Came(never, never, np.zeros(days))
            continue
        out[dish.id] = Came(
            np.all([c.ready for c in mine], axis=0),
            np.all([c.hot for c in mine], axis=0),
            np.max([c.held_min for c in mine], axis=0),
        )
    return out


def coldest(event: Event, job: Job, luck: Luck) -> np.ndarray:
    """Return the coldest middle of a pot from done until its last plate, by day; inf if never."""
    pot = cook(event, job, luck)
    since = [np.where(at >= pot.done_at, c, np.inf) for at, c in pot.trace.items()]
    coldest_c: np.ndarray = np.min(since, axis=0)
    return coldest_c
