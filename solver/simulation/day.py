"""One event's day, ready for physics: the sky, each cooker's watts, where it has sun."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial

import numpy as np

from events.identity import fingerprint_of
from events.model import Cooker, Event
from solver.policy import BAKE_SPARE_K, SMALL_MIN, STAND_WIND_FACTOR_S_M
from solver.simulation.cooker_draws import drawn_cooker
from solver.simulation.day_state import ReplanState
from solver.solar.ensemble import sky_ensemble, stratified_normal
from solver.solar.horizon import skyline_of
from solver.solar.irradiance import Sky, beam_at, expected_sky, usable
from solver.solar.position import Skyline
from solver.solar.tracking import declination_deg
from solver.solar.turned import worst_share
from solver.thermal import energy_balance as heat
from solver.thermal.calibration import calibrated_event
from solver.thermal.energy_balance import Array, Bools, Ensemble, Forcing, Ints, Load
from solver.thermal.food import boiling_c
from solver.thermal.light import heating_w

DRAWS = 20  # stratified: each stands for a twentieth of the days
DRAWS_SEED = 20
NAMES = {"id", "name", "provenance", "diameter_m"}  # what the physics does not look at


@dataclass(frozen=True)
class Day:
    """One event's day: its sky, what each cooker wins from it, and what a re-plan starts from."""

    event: Event  # with the figures of its measured cookers
    event_id: str  # of the event as it was given
    sky: Sky
    boil_c: float
    rows: Mapping[str, int]  # by cooker, its row of the forcings
    forcing: Forcing  # expected
    on_sun: Mapping[str, Bools]  # by cooker, by minute
    members: Forcing  # watts (DRAWS * cookers, minutes)
    member_strength: Array  # (DRAWS, cookers)
    member_loss: Array  # (DRAWS, cookers)
    availability: Mapping[str, Array]  # by cooker, by minute: what is left of its strength today
    strength_bands: Mapping[str, float] = field(default_factory=dict)  # after readings
    replan: ReplanState | None = None

    @cached_property
    def pools(self) -> Mapping[str, tuple[str, ...]]:
        """Cookers that differ in name only, today's strength included, by the first one's id.

        One load fills a sun cooker, so loads placed on a pool can always be dealt out to its
        cookers (interval colouring); burners and insulated boxes count pots and are not pooled.
        """
        wished = {c for d in self.event.dishes for c in (*d.only_in, *d.not_in)}
        pools: dict[str, tuple[str, ...]] = {}
        first_of: dict[str, str] = {}
        for c in self.event.cookers:
            key = c.id
            if c.on_sun and c.id not in wished:
                figures = c.model_dump_json(exclude=NAMES)
                key = figures + self.availability[c.id].tobytes().hex()
            first = first_of.setdefault(key, c.id)
            pools[first] = (*pools.get(first, ()), c.id)
        return pools

    def exposed_min(self, start: Ints | int, end: Ints | int) -> Array:
        """Return minutes in the open, each counted as much longer as the wind makes a pot cool.

        From one or many minutes of the day to one or many others.
        """
        exposed = self._exposed_min
        between: Array = exposed.take(end, mode="clip") - exposed.take(start, mode="clip")
        return between

    def exposed_until(self, start: Ints | int, exposed_min: Array) -> Array:
        """Return the minute of the day by which a pot in the open has so many exposed minutes."""
        exposed = self._exposed_min
        begins = exposed.take(start, mode="clip")
        until: Array = np.interp(begins + exposed_min, exposed, np.arange(exposed.size))
        return until

    @cached_property
    def _exposed_min(self) -> Array:
        blown = 1.0 + STAND_WIND_FACTOR_S_M * self.sky.wind_m_s
        return np.concatenate([[0.0], np.cumsum(blown)])

    def coolest_air_c(self, start: Ints | int, end: Ints | int) -> Array:
        """Return the coolest air from one or many minutes of the day to one, or one each."""
        last = self.sky.air_c.size - 1
        pairs = np.empty((*np.shape(start), 2), dtype=np.int64)
        pairs[..., 0], pairs[..., 1] = np.minimum(start, last), np.minimum(end, last + 1)
        # Where the end is not after its start, `reduceat` gives the start's own minute.
        coolest: Array = np.minimum.reduceat(self._air_c, pairs.ravel())[::2]
        return coolest.reshape(np.shape(start))

    @cached_property
    def _air_c(self) -> Array:
        return np.append(self.sky.air_c, np.inf)  # a stretch may end where the day does

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
        started = any(p.id == batch_id for b in self.replan.in_progress for p in b.placements)
        moved = not started and (planned.representative, planned.load) != (cooker_id, load)
        return int(moved or abs(planned.lift - lift) >= SMALL_MIN)


@dataclass(frozen=True)
class Catch:
    """What an event's cookers catch of a sky: where each has sun, and what is lost by aiming."""

    event: Event
    skylines: Mapping[str, Skyline]
    on_sun: Mapping[str, Bools]  # by sun cooker, by minute
    worst: Mapping[str, Array]  # by cooker, by minute: as at the end of an aim's interval

    def watts(self, sky: Sky) -> Array:
        """Return (cookers, minutes), with the loss at the end of an aim's interval."""
        rows = []
        for c in self.event.cookers:
            beam = beam_at(sky, self.skylines[c.id])
            row = heating_w(c, beam, sky.diffuse_w_m2, elevation_deg=sky.elevation_deg)
            lit = self.on_sun.get(c.id)
            rows.append(row if lit is None else np.where(lit, row * self.worst[c.id], 0.0))
        return np.asarray(rows)


def catch_of(event: Event, sky: Sky) -> Catch:
    """Return what an event's cookers catch; `event` has the figures of its measured cookers."""
    skylines = {c.id: skyline_of(event, c) for c in event.cookers}
    on_sun = {
        c.id: usable(
            event, sky, skyline=skylines[c.id], low_deg=c.sun_low_deg, high_deg=c.sun_high_deg
        )
        for c in event.cookers
        if c.on_sun
    }
    dec = declination_deg(event.date)
    worst = {c.id: worst_share(c, sky, dec) for c in event.cookers}
    return Catch(event, skylines, on_sun, worst)


def make_day(event: Event) -> Day:
    """Return the day's sky and what each cooker can win from it."""
    given, event = event, calibrated_event(event)
    sky = expected_sky(event)
    catch = catch_of(event, sky)
    rng = np.random.Generator(np.random.PCG64(DRAWS_SEED))
    beams, diffuses = sky_ensemble(event, sky, rng, DRAWS, stratified_normal)
    skies = [
        dataclasses.replace(sky, beam_w_m2=beam, diffuse_w_m2=diffuse)
        for beam, diffuse in zip(beams, diffuses, strict=True)
    ]
    draws = [
        drawn_cooker(
            c.strength_band_fraction,
            partial(stratified_normal, rng, DRAWS),
            glazed=c.nature.glazed,
        )
        for c in event.cookers
    ]
    return Day(
        event=event,
        event_id=fingerprint_of(given),
        sky=sky,
        boil_c=boiling_c(event.site.altitude_m),
        rows={c.id: k for k, c in enumerate(event.cookers)},
        forcing=Forcing(catch.watts(sky), sky.air_c, sky.wind_m_s),
        on_sun=catch.on_sun,
        members=Forcing(np.concatenate([catch.watts(s) for s in skies]), sky.air_c, sky.wind_m_s),
        member_strength=np.asarray([d.strength for d in draws]).reshape(-1, DRAWS).T,
        member_loss=np.asarray([d.loss for d in draws]).reshape(-1, DRAWS).T,
        availability={c.id: np.ones(sky.beam_w_m2.size) for c in event.cookers},
    )


def scaled(day: Day, left: Mapping[str, Array]) -> Day:
    """Return the day with each cooker's power multiplied by what is left of it."""
    rows = np.asarray([left[c.id] for c in day.event.cookers])
    members = day.members.watts.shape[0] // rows.shape[0]
    return dataclasses.replace(
        day,
        forcing=Forcing(day.forcing.watts * rows, day.sky.air_c, day.sky.wind_m_s),
        members=Forcing(
            day.members.watts * np.tile(rows, (members, 1)), day.sky.air_c, day.sky.wind_m_s
        ),
        availability=dict(left),
        on_sun={c: lit & (left[c] > 0) if c in left else lit for c, lit in day.on_sun.items()},
    )


def body_start_c(day: Day, cooker: Cooker, load: Load, minutes: Ints) -> Array:
    """Return the body's temperature when the load goes in (air, or preheated)."""
    return heat.preheated_c(
        cooker, day.forcing, day.rows[cooker.id], minutes=minutes, for_min=load.preheat_min
    )


def each_loaded(day: Day, loads: Sequence[tuple[Cooker, Load]], starts: Sequence[Ints]) -> Ensemble:
    """Return one ensemble of loads side by side, each put into its cooker at its own starts."""
    owner = np.repeat(np.arange(len(loads)), [len(some) for some in starts])
    bodies = [body_start_c(day, *load, some) for load, some in zip(loads, starts, strict=True)]
    return loaded_each(day, loads, owner, np.concatenate(starts), body_c=np.concatenate(bodies))


def loaded(
    day: Day,
    cooker: Cooker,
    load: Load,
    minutes: Ints | Array,
    *,
    strength: Array | float = 1.0,
    body_c: Array | None = None,
) -> Ensemble:
    """Return the ensemble of a load put into a cooker at minutes of the day, one member each.

    The body is as the expected day has preheated it, unless `body_c` is given.
    """
    if body_c is None:
        body_c = body_start_c(day, cooker, load, minutes.astype(np.int64))
    owner = np.zeros(minutes.size, dtype=np.int64)
    strengths = np.broadcast_to(np.asarray(strength, dtype=np.float64), minutes.shape)
    return loaded_each(day, [(cooker, load)], owner, minutes, body_c=body_c, strength=strengths)


def loaded_each(
    day: Day,
    loads: Sequence[tuple[Cooker, Load]],
    owner: Ints,
    minutes: Ints | Array,
    *,
    body_c: Array,
    strength: Array | None = None,
) -> Ensemble:
    """Return one ensemble of several loads, each member with the load that owns it.

    All loads have the same number of pots; bodies are as warm as given.
    """
    at = minutes.astype(np.float64)
    state = heat.ensembles(loads, owner, minutes=at, body_c=body_c, boil_c=day.boil_c)
    state.row = np.asarray([day.rows[cooker.id] for cooker, _ in loads], dtype=np.int64)[owner]
    if strength is not None:
        state.strength = strength.astype(np.float64)
    surer_c = np.minimum(state.threshold_c + BAKE_SPARE_K, day.boil_c - BAKE_SPARE_K)
    state.threshold_c = np.where(
        state.baked, np.maximum(surer_c, state.threshold_c), state.threshold_c
    )
    return state
