"""A world of its own, in which plans are tried (tests/trial.py does so).

It imports nothing from `solver`. Its sun, its sky, its cookers, its food and its people are written
here anew, simpler in some ways and harsher in others, with effects no planner knows: fogged glass,
wrong cloud hours, turns up to fifteen minutes late, a cooker a quarter weak.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import numpy as np

from events.model import Cooker, Dish, Event

STEP_MIN = 1.0
WATER_J_KG_K = 4186.0
SUN = ("parabolic", "box", "panel")


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
    """One drawn day: what is not as described. Its number says it all."""

    clear: float  # haze on the beam
    cloud: np.ndarray  # by minute, 0 to 1, as it really is
    worth: dict[str, float]  # by cooker
    fog: dict[str, float]  # by box: share of sun lost to fogged glass while it warms
    late_load: dict[str, float]
    late_turn: float
    kg: dict[str, float]
    start_c: dict[str, float]
    broken: dict[str, float] = field(default_factory=dict)  # by cooker, from when on


def minute(event: Event, at: datetime | time) -> float:
    """Return the minutes since local midnight."""
    zone = ZoneInfo(event.site.timezone)
    midnight = datetime.combine(event.date, time(0), tzinfo=zone)
    if isinstance(at, time):
        at = datetime.combine(event.date, at, tzinfo=zone)
    return (at.astimezone(UTC) - midnight.astimezone(UTC)).total_seconds() / 60


def sun_way(event: Event) -> tuple[np.ndarray, np.ndarray]:
    """Return (height, azimuth) in degrees by minute. Source: Cooper 1969 declination, equation of
    time after Spencer 1971 (both from memory); a quarter of a degree is enough here.
    """
    site, day = event.site, event.date.timetuple().tm_yday
    b = 2 * math.pi * (day - 1) / 365
    eot = 229.18 * (
        0.000075
        + 0.001868 * math.cos(b)
        - 0.032077 * math.sin(b)
        - 0.014615 * math.cos(2 * b)
        - 0.04089 * math.sin(2 * b)
    )
    midnight = datetime.combine(event.date, time(0), tzinfo=ZoneInfo(site.timezone))
    utc = midnight.astimezone(UTC)
    base = (utc.hour * 60 + utc.minute) - (1440 if utc.date() < event.date else 0)
    clock = np.arange(1440) + base + 4 * site.longitude_deg + eot
    hour = np.radians((clock - 720) / 4)
    dec = math.radians(23.45 * math.sin(2 * math.pi * (284 + day) / 365))
    lat = math.radians(site.latitude_deg)
    sine = math.sin(lat) * math.sin(dec) + math.cos(lat) * math.cos(dec) * np.cos(hour)
    height = np.arcsin(np.clip(sine, -1, 1))
    azimuth = np.arctan2(
        -np.sin(hour) * math.cos(dec),
        math.sin(dec) * math.cos(lat) - math.cos(dec) * math.sin(lat) * np.cos(hour),
    )
    return np.degrees(height), np.degrees(azimuth) % 360


def clear_beam(height_deg: np.ndarray, altitude_m: float) -> np.ndarray:
    """Return a clear beam in W/m². Source: Meinel & Meinel 1976 (from memory)."""
    up = np.maximum(height_deg, 0.1)
    mass = 1 / (np.sin(np.radians(up)) + 0.15 * (up + 3.885) ** -1.253)
    thin = 0.14 * altitude_m / 1000
    beam = 1353 * ((1 - thin) * 0.7 ** (mass**0.678) + thin)
    return np.where(height_deg > 0, beam, 0.0)


def draw(event: Event, jobs: list[Job], seed: int, *, kind: bool = False) -> Luck:
    """Return one day's luck; `kind` days are as described and clear as forecast."""
    luck = np.random.default_rng(seed)
    minutes = np.arange(1440)
    hours = sorted(event.weather.hours, key=lambda h: h.start)
    told = np.zeros(1440)
    for n, h in enumerate(hours):
        told[0 if n == 0 else int(minute(event, h.start)) :] = h.cloud_pct / 100
    if kind:
        ones = {c.id: 1.0 for c in event.cookers}
        none = {j.dish_id: 0.0 for j in jobs}
        return Luck(
            1.0, told, ones, dict.fromkeys(ones, 0.0), none, 0.0, dict.fromkeys(none, 1.0), none
        )
    shift = int(luck.integers(-75, 76))  # the cloud bank comes at another hour than forecast
    cloud = np.roll(told, shift)
    cloud = np.clip(cloud + 0.12 * luck.standard_normal(), 0, 1)
    knots = np.clip(
        cloud[::10] + 0.25 * luck.standard_normal(144) * np.sqrt(cloud[::10] + 0.02), 0, 1
    )
    cloud = np.interp(minutes, minutes[::10], knots)
    worth = {
        c.id: float(np.clip(1 + 0.15 * luck.standard_normal(), 0.5, 1.4)) for c in event.cookers
    }
    if event.cookers:
        worth[event.cookers[int(luck.integers(len(event.cookers)))].id] *= 0.75
    return Luck(
        clear=float(np.clip(1 + 0.06 * luck.standard_normal(), 0.75, 1.1)),
        cloud=cloud,
        worth=worth,
        fog={c.id: float(luck.uniform(0, 0.25)) if c.kind == "box" else 0.0 for c in event.cookers},
        late_load={j.dish_id: float(luck.choice((0, 0, 3, 8))) for j in jobs},
        late_turn=float(luck.uniform(0, 15)),
        kg={j.dish_id: float(1 + 0.05 * luck.standard_normal()) for j in jobs},
        start_c={j.dish_id: float(2 * luck.standard_normal()) for j in jobs},
    )


@dataclass
class Pot:
    """One pot on its way."""

    food_c: float
    core_c: float
    body_c: float
    cooked: float = 0.0
    lethal: float = 0.0
    danger: float = 0.0
    done_at: float = math.inf
    trace: list[tuple[float, float]] = field(default_factory=list)


def cook(event: Event, job: Job, luck: Luck) -> Pot:
    """Walk one batch through a drawn day by explicit steps of a minute (sub-stepped)."""
    cookers = {c.id: c for c in event.cookers}
    dish = next(d for d in event.dishes if d.id == job.dish_id)
    cooker = cookers[job.cooker_id]
    height, azimuth = sun_way(event)
    beam = clear_beam(height, event.site.altitude_m) * luck.clear * (1 - luck.cloud)
    blocked = np.interp(azimuth, *_line(event, cooker)) >= height
    beam = np.where(blocked, 0.0, beam)
    if cooker.glass_tilt_deg is not None:  # it is turned, not tilted
        beam = beam * np.maximum(np.sin(np.radians(height + cooker.glass_tilt_deg)), 0.0)
    share = _pointed(cooker, job, luck, height, azimuth)
    air = _hourly(event, "air_c", 20.0)
    wind = _hourly(event, "wind_m_s", 1.0)
    boil = 100 - 0.00332 * event.site.altitude_m
    start = job.load + luck.late_load[job.dish_id]
    from_c = dish.start_c + luck.start_c[job.dish_id] if job.start_c is None else job.start_c
    pot = Pot(from_c, 0.0, air[int(start)])
    pot.core_c = pot.food_c
    heat_j_k = job.kg * luck.kg[job.dish_id] * specific(dish) + job.pot_kg * 600
    if job.empty_from is not None:
        _run(
            pot,
            None,
            cooker,
            luck,
            beam,
            share,
            air,
            wind,
            boil,
            job,
            heat_j_k,
            job.empty_from,
            start,
        )
    _run(pot, dish, cooker, luck, beam, share, air, wind, boil, job, heat_j_k, start, job.lift)
    if job.then_id is not None and job.off is not None:
        then = cookers[job.then_id]
        pot.body_c = air[int(job.lift)]
        _run(
            pot,
            dish,
            then,
            luck,
            beam,
            share,
            air,
            wind,
            boil,
            job,
            heat_j_k,
            job.lift + 5,
            job.off,
        )
    if job.eaten is not None:
        _stand(pot, dish, air, wind, boil, job, heat_j_k)
    return pot


def _stand(
    pot: Pot, dish: Dish, air: np.ndarray, wind: np.ndarray, boil: float, job: Job, heat_j_k: float
) -> None:
    """Let a lifted pot cool until its last plate: Newton's law, more of it in wind (typical)."""
    area = 1.5 * math.pi * (4 * job.pot_litres / 1000 / math.pi) ** (2 / 3)
    at = max(job.lift, job.off or 0.0)
    while at < min(job.eaten or 0.0, 1439):
        m = int(at)
        loss = 8.0 * area * (1 + 0.475 * wind[m])
        pot.food_c -= loss * (pot.food_c - air[m]) * 60 * STEP_MIN / heat_j_k
        pot.core_c = min(pot.core_c, pot.food_c) if pot.core_c > pot.food_c else pot.core_c
        at += STEP_MIN
        _count(pot, dish, boil, at)
        pot.trace.append((at, pot.core_c))


def _hourly(event: Event, key: str, usual: float) -> np.ndarray:
    out = np.full(1440, usual)
    for n, h in enumerate(sorted(event.weather.hours, key=lambda h: h.start)):
        out[0 if n == 0 else int(minute(event, h.start)) :] = getattr(h, key)
    return out


def _line(event: Event, cooker: Cooker) -> tuple[list[float], list[float]]:
    station = next((s for s in event.stations if s.id == cooker.station), None)
    own = station.skyline if station and station.skyline is not None else event.site.skyline
    pairs = sorted(own) or [(0.0, 0.0)]
    return [a for a, _ in pairs] + [360.0], [h for _, h in pairs] + [pairs[0][1]]


def _pointed(
    cooker: Cooker, job: Job, luck: Luck, height: np.ndarray, azimuth: np.ndarray
) -> np.ndarray:
    """Return the share of power left minute by minute: the sun walks away from each aim."""
    out = np.ones(1440)
    if cooker.kind not in SUN:
        return out
    marks = sorted(job.turns)
    for n, at in enumerate(marks):
        real = at if n == 0 else at + luck.late_turn
        until = marks[n + 1] + luck.late_turn if n + 1 < len(marks) else job.lift
        middle = int(min(1439, (at + (marks[n + 1] if n + 1 < len(marks) else job.lift)) / 2))
        for m in range(int(real), min(1440, int(until) + 1)):
            rise = abs(height[m] - height[middle])
            turn = abs((azimuth[m] - azimuth[middle] + 180) % 360 - 180)
            off = math.hypot(rise, turn * math.cos(math.radians(height[m])))
            fade = (off - cooker.acceptance_deg) / max(cooker.lost_deg - cooker.acceptance_deg, 1)
            out[m] = 1 - min(max(fade, 0), 1)
    return out


def specific(dish: Dish) -> float:
    c = dish.composition
    dry = c.protein * 2.0 + c.fat * 2.0 + c.carbohydrate * 1.6 + c.fibre * 1.8 + c.ash * 1.1
    return 1000 * (4.19 * c.water + dry)


def _run(
    pot: Pot,
    dish: Dish | None,
    cooker: Cooker,
    luck: Luck,
    beam: np.ndarray,
    share: np.ndarray,
    air: np.ndarray,
    wind: np.ndarray,
    boil: float,
    job: Job,
    heat_j_k: float,
    start: float,
    end: float,
) -> None:
    has_body = cooker.kind in ("box", "insulated")
    area = 1.5 * math.pi * (4 * job.pot_litres / 1000 / math.pi) ** (2 / 3)
    lag_s = _lag_s(dish)
    at = start
    while at < min(end, 1439):
        m = int(at)
        if cooker.kind == "burner":
            q = cooker.optical_efficiency * (cooker.power_w or 0.0)
        elif cooker.kind == "insulated":
            q = 0.0
        else:
            fog = luck.fog[cooker.id] if at < start + 40 else 0.0
            q = cooker.optical_efficiency * (cooker.aperture_m2 or 0) * beam[m] * share[m]
            q *= luck.worth[cooker.id] * (1 - fog) * (at < luck.broken.get(cooker.id, math.inf))
        blow = 1 + cooker.wind_factor_s_m * wind[m]
        for _ in range(6):
            dt = STEP_MIN * 10
            if has_body:
                give = cooker.coupling_w_m2_k * area * (pot.body_c - pot.food_c) if dish else 0.0
                part = cooker.sun_on_pots_fraction if dish else 0.0
                net = (1 - part) * q - (cooker.loss_w_k or 0) * blow * (pot.body_c - air[m]) - give
                body = max(cooker.body_kj_k * 1000, 2000.0)
                pot.body_c += net * dt / body
                into = part * q + give
            else:
                into = q - cooker.pot_loss_w_m2_k * area * blow * (pot.food_c - air[m])
            if dish is None:
                continue
            pot.food_c = min(pot.food_c + into * dt / heat_j_k, boil)
            surface = pot.body_c if dish.shape == "baked" else pot.food_c
            pot.core_c += (min(surface, boil + 5) - pot.core_c) * (1 - math.exp(-dt / lag_s))
            pot.core_c = min(pot.core_c, boil)
        at += STEP_MIN
        if dish is not None:
            _count(pot, dish, boil, at)
            pot.trace.append((at, pot.core_c))


def _lag_s(dish: Dish | None) -> float:
    """Return one time constant for the middle: R²/6a of a ball, L²/2a of a slab; liquids none."""
    if dish is None or dish.shape == "liquid" or not dish.thickness_mm:
        return 1.0
    half = dish.thickness_mm / 2000
    per = 6 if dish.shape == "pieces" else 2
    return half**2 / (per * dish.diffusivity_mm2_s * 1e-6)


def _count(pot: Pot, dish: Dish, boil: float, at: float) -> None:
    pot.danger += 1.0 if 5 < pot.core_c < 60 else 0.0
    over = pot.core_c - 70
    pot.lethal += 10 ** (over / 7.5) if over > -10 else 0.0
    if dish.done == "simmer":
        pot.cooked += 10 ** ((pot.core_c - 100) / dish.z_c)
        enough = pot.cooked >= _simmered(dish)
    elif dish.done == "boil":
        pot.cooked = pot.cooked + 1 if pot.food_c >= boil - 0.6 else 0.0
        enough = pot.cooked >= max(dish.hold_min, 1)
    else:
        least = 74.0 if dish.done == "reheat" else min(dish.core_c or 0.0, boil - 0.6)
        pot.cooked = pot.cooked + 1 if pot.core_c >= least else 0.0
        enough = pot.cooked >= max(dish.hold_min, 1)
    safe = not dish.hazardous or (pot.lethal >= 2 and pot.danger <= 240)
    if enough and safe and math.isinf(pot.done_at):
        pot.done_at = at


def _simmered(dish: Dish) -> float:
    """Return the cook value of the recipe's minutes in boiling water, with this world's lag."""
    lag, total, core = _lag_s(dish) / 60, 0.0, dish.start_c
    for _ in range(dish.ordinary_min):
        core += (100 - core) * (1 - math.exp(-1 / lag)) if lag > 0.02 else 100 - core
        total += 10 ** ((core - 100) / dish.z_c)
    return total


def on_time(event: Event, jobs: list[Job], luck: Luck) -> dict[str, bool]:
    """Return for each dish of the event whether all of it was done, safe, and in time."""
    out = {d.id: False for d in event.dishes}
    for dish in event.dishes:
        mine = [j for j in jobs if j.dish_id == dish.id]
        if mine:
            out[dish.id] = all(
                cook(event, j, luck).done_at + dish.rest_min <= j.serve + 1 for j in mine
            )
    return out


def coldest(event: Event, job: Job, luck: Luck) -> float:
    """Return the coldest middle of a pot from done until its last plate; inf if never done."""
    pot = cook(event, job, luck)
    return min((c for at, c in pot.trace if at >= pot.done_at), default=math.inf)
