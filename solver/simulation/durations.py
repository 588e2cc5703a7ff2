"""How many minutes each batch takes in each cooker from each start, and how sure that is.

Expected minutes come from the forecast sky. Fast and cautious are quantiles of *minutes to done*
(20 %, and the event's chosen chance, 80 %) over paired draws of the forecast's error, the day's
haze and each cooker's strength; cautious allows for late hands too.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Cooker, Event, Station
from events.reading.event_file import event_id
from solver.policy import SMALL_MIN
from solver.simulation.day_state import ReplanState
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.solar.ensemble import sky_ensemble
from solver.solar.horizon import profile
from solver.solar.irradiance import Sky, beam_at, expected_sky, usable
from solver.solar.tracking import declination_deg, interval_min, worst_factor
from solver.thermal import energy_balance as heat
from solver.thermal.calibration import calibrated_event
from solver.thermal.energy_balance import Array, Ensemble, Forcing, Ints, Load
from solver.thermal.food import boiling_c
from solver.thermal.light import heating_w

DRAWS = 10
LATE_HANDS_MIN = 5.0  # cautious minutes allow for loading and turning late by so much
# A band is read as eight of ten cookers: 1.28 standard deviations.
BAND_TO_SIGMA = 1 / 1.28
LOSS_SHARE = 0.5  # losses are off by half as much as strength, apart from it: judgement
STEP_S = 120.0
DRAW_STEP_S = 180.0  # what differs between draws is far more than what a step does
# The coarse step may call a batch done this much before the replay's fine one does.
GUARD_MIN = 1.0
COARSE_START_MIN = 30  # draws are run on these starts and interpolated between
LATER_MIN = 60  # how far past the meal an estimate looks, so that a refusal has a figure


class Estimate(BaseModel):
    """Minutes from loading to done for one dish's batch in one cooker at one start."""

    model_config = ConfigDict(frozen=True)

    dish_id: str
    cooker_id: str
    loaded_at: datetime
    batch_kg: float
    fast_min: int | None
    expected_min: int | None
    cautious_min: int | None
    reason: str | None


@dataclass(frozen=True)
class Day:
    """One event's day, ready for physics: the sky, each cooker's watts, where it has sun."""

    event: Event  # with the figures of its measured cookers
    event_id: str  # of the event as it was given
    sky: Sky
    boil_c: float
    rows: dict[str, int]
    forcing: Forcing  # expected
    on_sun: dict[str, heat.Bools]  # by cooker, by minute
    members: Forcing  # watts (DRAWS * cookers, minutes)
    member_strength: Array  # (DRAWS, cookers)
    member_loss: Array  # (DRAWS, cookers)
    availability: dict[str, Array]  # by cooker, by minute: what is left of its strength today
    strength_bands: Mapping[str, float] = field(
        default_factory=dict
    )  # by cooker, its band after readings
    replan: ReplanState | None = None  # planned again: what it starts from

    def strength_band(self, cooker: Cooker) -> float:
        """Return the band about a cooker's strength, as a fraction: narrower once it is known."""
        return self.strength_bands.get(cooker.id, cooker.strength_band_fraction)

    def spent(self, batch_id: str) -> float:
        """Return a batch's minutes between 5 and 60 °C in the cooker it had to leave."""
        return self.replan.spent_min.get(batch_id, 0.0) if self.replan else 0.0

    def changes(self, dish_id: str, batch_id: str, cooker_id: str, load: int, lift: int) -> int:
        """Return 1 if an earlier plan has the batch elsewhere or at other times, else 0."""
        if self.replan is None:
            return 0
        planned = self.replan.planned_uses.get(batch_id)
        if planned is None:
            return int(any(p.dish_id == dish_id for p in self.replan.plan.placements))
        begun = any(p.id == batch_id for b in self.replan.in_progress for p in b.placements)
        moved = not begun and (planned.representative, planned.load) != (cooker_id, load)
        return int(moved or abs(planned.lift - lift) >= SMALL_MIN)


def station_of(event: Event, cooker: Cooker) -> Station | None:
    """Return the station a cooker stands at."""
    return event.station(cooker.station) if cooker.station else None


def skyline_of(event: Event, cooker: Cooker) -> tuple[tuple[float, float], ...]:
    """Return the skyline a cooker sees: the site's, or its station's own, with all that is near."""
    return profile(event, station_of(event, cooker))


def make_day(event: Event) -> Day:
    """Return the day's sky and what each cooker can win from it."""
    given, event = event, calibrated_event(event)
    sky = expected_sky(event)
    dec = declination_deg(event.date)
    skylines = {c.id: skyline_of(event, c) for c in event.cookers}

    def table(one: Sky) -> Array:
        rows = []
        for c in event.cookers:
            light = heating_w(
                c, beam_at(one, skylines[c.id]), one.diffuse_w_m2, elevation_deg=one.elevation_deg
            )
            if c.on_sun:
                light = light * worst_factor(c, interval_min(c, declination_deg=dec), dec)
                light = np.where(on_sun[c.id], light, 0.0)
            rows.append(light)
        return np.asarray(rows)

    on_sun = {
        c.id: usable(
            event,
            sky,
            skyline=skylines[c.id],
            low_deg=c.sun_low_deg,
            high_deg=c.sun_high_deg,
        )
        for c in event.cookers
        if c.on_sun
    }
    rng = np.random.Generator(np.random.PCG64(20))
    beams, diffuses = sky_ensemble(event, sky, rng, DRAWS)
    skies = [
        dataclasses.replace(sky, beam_w_m2=b, diffuse_w_m2=d)
        for b, d in zip(beams, diffuses, strict=True)
    ]
    band = np.asarray([c.strength_band_fraction for c in event.cookers]) * BAND_TO_SIGMA
    strength = 1.0 + band * rng.standard_normal((DRAWS, len(event.cookers)))
    loss = 1.0 + LOSS_SHARE * band * rng.standard_normal((DRAWS, len(event.cookers)))
    return Day(
        event=event,
        event_id=event_id(given),
        sky=sky,
        boil_c=boiling_c(event.site.altitude_m),
        rows={c.id: k for k, c in enumerate(event.cookers)},
        forcing=Forcing(table(sky), sky.air_c, sky.wind_m_s),
        on_sun=on_sun,
        members=Forcing(np.concatenate([table(s) for s in skies]), sky.air_c, sky.wind_m_s),
        member_strength=np.maximum(strength, 0.3),
        member_loss=np.maximum(loss, 0.3),
        availability={c.id: np.ones(sky.beam_w_m2.size) for c in event.cookers},
    )


@dataclass(frozen=True)
class SimulationResult:
    """What came of lanes: minutes after loading, by (pot, lane); inf where never."""

    done_min: Array
    hot_min: Array
    clock_min: Array  # minutes between 5 and 60 °C until done
    peak_c: Array  # hottest core
    body_peak_c: Array  # (lanes,)


def join(parts: Sequence[Ensemble]) -> Ensemble:
    """Put lanes with the same number of pots side by side."""
    return Ensemble(
        **{
            f.name: np.concatenate([getattr(p, f.name) for p in parts], axis=-1)
            for f in dataclasses.fields(Ensemble)
        }
    )


def copies(state: Ensemble, which: heat.Ints) -> Ensemble:
    """Return lanes of their own, copied from the named ones."""
    return _keep(state, which)


def _keep(state: Ensemble, which: heat.Bools | heat.Ints) -> Ensemble:
    return Ensemble(
        **{f.name: getattr(state, f.name)[..., which] for f in dataclasses.fields(Ensemble)}
    )


def run(
    state: Ensemble, forcing: Forcing, *, until: Array, boil_c: float, dt_s: float = STEP_S
) -> SimulationResult:
    """Walk lanes until every pot is done or the lane's minute reaches `until`."""
    shape, n = state.pot_c.shape, state.minute.size
    done, hot = np.full(shape, np.inf), np.full(shape, np.inf)
    clock, peak = np.zeros(shape), state.core_c.copy()
    body_peak = state.body_c.copy()
    start, index = state.minute.copy(), np.arange(n)
    turn = 0
    while index.size:
        heat.step(state, forcing, dt_s=dt_s, boil_c=boil_c)
        since = state.minute - start[index]
        ready = heat.is_done(state)
        late = since + GUARD_MIN
        done[:, index] = np.where(ready, np.minimum(done[:, index], late), done[:, index])
        warm = state.core_c >= 60.0
        hot[:, index] = np.where(warm, np.minimum(hot[:, index], since), hot[:, index])
        clock[:, index] = state.clock_min
        peak[:, index] = np.maximum(peak[:, index], state.core_c)
        body_peak[index] = np.maximum(body_peak[index], state.body_c)
        turn += 1
        if turn % 5 == 0:
            going = (~np.isfinite(done[:, index]).all(0)) & (state.minute < until[index])
            if going.sum() < 0.9 * index.size:
                state, index = _keep(state, going), index[going]
    return SimulationResult(done, hot, clock, peak, body_peak)


def body_start_c(day: Day, cooker: Cooker, load: Load, minutes: Ints) -> Array:
    """Return the body's temperature when the load goes in (air, or preheated)."""
    return heat.preheated_c(
        cooker, day.forcing, day.rows[cooker.id], minutes=minutes, for_min=load.preheat_min
    )


def _lanes(day: Day, ask: DurationQuery, starts: Ints, *, row: int, strength: float) -> Ensemble:
    return heat.ensemble(
        ask.cooker,
        ask.load,
        minutes=starts.astype(np.float64),
        row=np.full(len(starts), row, dtype=np.int64),
        body_c=body_start_c(day, ask.cooker, ask.load, starts),
        strength=np.full(len(starts), strength),
        boil_c=day.boil_c,
    )


def expected_done(day: Day, cooker: Cooker, load: Load, starts: Ints, *, until: int) -> Array:
    """Return minutes to done from each start under the expected sky alone; inf where never."""
    ask = DurationQuery(cooker, load, starts, until)
    state = _lanes(day, ask, starts, row=day.rows[cooker.id], strength=1.0)
    last = np.full(len(starts), float(until))
    done: Array = run(state, day.forcing, until=last, boil_c=day.boil_c).done_min.max(axis=0)
    return done


def estimate(
    day: Day,
    asks: Sequence[DurationQuery],
    wanted: Callable[[int, Array, Array], heat.Bools] | None = None,
) -> list[DurationEstimate]:
    """Return minutes to done for every ask at every start: expected, fast and cautious.

    `wanted` says, by the number of an ask, its expected minutes and its minutes between 5 and
    60 °C, which starts can be of use: only these are walked under drawn skies.
    """
    told: dict[int, DurationEstimate] = {}
    by_pots: dict[int, list[int]] = {}
    for k, ask in enumerate(asks):
        if len(ask.starts):
            by_pots.setdefault(len(ask.load.pots), []).append(k)
    for which in by_pots.values():
        group = [asks[k] for k in which]
        want = None if wanted is None else [partial(wanted, k) for k in which]
        for k, one in zip(which, _estimate_group(day, group, want), strict=True):
            told[k] = one
    return [told[k] if k in told else _nothing(ask) for k, ask in enumerate(asks)]


def _nothing(ask: DurationQuery) -> DurationEstimate:
    none = np.zeros((len(ask.load.pots), 0))
    return DurationEstimate(ask, none, none, none, none, none, none, none[0])


def _estimate_group(
    day: Day,
    group: list[DurationQuery],
    wanted: Sequence[Callable[[Array, Array], heat.Bools]] | None,
) -> list[DurationEstimate]:
    parts = [_lanes(day, a, a.starts, row=day.rows[a.cooker.id], strength=1.0) for a in group]
    until = np.concatenate([np.full(len(a.starts), float(a.until)) for a in group])
    sure = run(join(parts), day.forcing, until=until, boil_c=day.boil_c)
    coarse = [_coarse(a.starts) for a in group]
    if wanted is not None:
        at = 0
        for k, a in enumerate(group):
            cut = slice(at, at + len(a.starts))
            use = wanted[k](sure.done_min[:, cut], sure.clock_min[:, cut])
            coarse[k] = _beside(coarse[k], a.starts[use])
            at += len(a.starts)
    width = len(day.event.cookers)
    once = join(
        [
            _lanes(day, a, starts, row=day.rows[a.cooker.id], strength=1.0)
            for a, starts in zip(group, coarse, strict=True)
        ]
    )
    rng = join([once] * DRAWS)
    rng.strength = day.member_strength[:, once.row].ravel()
    rng.loss = day.member_loss[:, once.row].ravel()
    rng.row = (np.arange(DRAWS)[:, None] * width + once.row).ravel()
    last = np.concatenate(
        [np.full(len(s), float(a.until)) for a, s in zip(group, coarse, strict=True)]
    )
    drawn = run(rng, day.members, until=np.tile(last, DRAWS), boil_c=day.boil_c, dt_s=DRAW_STEP_S)
    spread = np.sort(drawn.done_min.reshape(drawn.done_min.shape[0], DRAWS, -1), axis=1)
    nth = -(-DRAWS * day.event.chance_pct // 100) - 1
    out, at, thin = [], 0, 0
    for a, starts in zip(group, coarse, strict=True):
        cut, few = slice(at, at + len(a.starts)), slice(thin, thin + len(starts))
        expected = sure.done_min[:, cut]
        fast = _between(a.starts, starts, spread[:, 1, few])
        slow = _between(a.starts, starts, spread[:, nth, few]) + LATE_HANDS_MIN
        out.append(
            DurationEstimate(
                a,
                expected,
                np.minimum(fast, expected),
                np.maximum(slow, expected),
                sure.hot_min[:, cut],
                sure.clock_min[:, cut],
                sure.peak_c[:, cut],
                sure.body_peak_c[cut],
            )
        )
        at, thin = at + len(a.starts), thin + len(starts)
    return out


def _coarse(starts: Ints) -> Ints:
    """Return a thinned set of starts that keeps the first and the last.

    The grain is the clock's, not the first start's: the same start is as sure in every plan.
    """
    kept = starts[starts % COARSE_START_MIN == 0]
    return np.unique(np.concatenate([kept, starts[[0, -1]]]))


def _beside(coarse: Ints, used: Ints) -> Ints:
    """Return the thinned starts between which those in use lie."""
    above = np.searchsorted(coarse, used)
    kept: Ints = coarse[np.unique(np.concatenate([above, above[coarse[above] != used] - 1]))]
    return kept


def _between(starts: Ints, coarse: Ints, values: Array) -> Array:
    """Interpolate over starts; beside a start that never gets done, nothing is promised."""
    if not coarse.size:
        return np.full((values.shape[0], starts.size), np.inf)
    big = np.where(np.isfinite(values), values, 1e7)
    filled = np.asarray([np.interp(starts, coarse, row) for row in big])
    return np.where(filled > 1e4, np.inf, filled)
