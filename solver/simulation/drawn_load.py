"""Loads run minute by minute under drawn days: pots, the cooker's body, and when all is done."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import partial

import numpy as np

from events.model import Cooker
from solver.simulation.cooker_draws import CookerDraws, drawn_cooker
from solver.simulation.day import Day, loaded
from solver.solar.ensemble import plain_normal, sky_ensemble
from solver.solar.horizon import skyline_of
from solver.solar.irradiance import beam_at
from solver.solar.tracking import declination_deg
from solver.solar.turned import worst_share
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Bools, Forcing, Ints, Load
from solver.thermal.light import heating_w

DRAWS = 200  # choosing the best of many times on few draws flatters it
STEP_S = 60.0
LATE_LOAD_MOST_MIN = 8  # a loading is late by none to so many minutes, all alike: judgement


@dataclass(frozen=True)
class DrawnDays:
    """Skies by (draw, minute), and the luck from which each cooker's strength is drawn."""

    day: Day
    rng: np.random.Generator
    beams: Array
    diffuses: Array

    @classmethod
    def of(cls, day: Day, seed: int) -> DrawnDays:
        """Draw them: the same for the same seed."""
        rng = np.random.Generator(np.random.PCG64(seed))
        return cls(day, rng, *sky_ensemble(day.event, day.sky, rng, DRAWS))

    def cooker(self, cooker: Cooker) -> CookerDraws:
        """Return what a cooker is worth on each of the days: drawn anew each time."""
        normal = partial(plain_normal, self.rng, DRAWS)
        return drawn_cooker(self.day.strength_band(cooker), normal, glazed=cooker.nature.glazed)

    def late_min(self) -> Ints:
        """Return by how many whole minutes a loading is late on each of the days."""
        return self.rng.integers(0, LATE_LOAD_MOST_MIN + 1, DRAWS)

    def watts(self, cooker: Cooker) -> Array:
        """Return what a cooker wins by (draw, minute), as the day's own draws have it."""
        day, event = self.day, self.day.event
        skyline = skyline_of(event, cooker)
        worst = worst_share(cooker, day.sky, declination_deg(event.date))
        rows = []
        for beam, diffuse in zip(self.beams, self.diffuses, strict=True):
            sky = dataclasses.replace(day.sky, beam_w_m2=beam, diffuse_w_m2=diffuse)
            lit = beam_at(sky, skyline)
            watts = heating_w(cooker, lit, diffuse, elevation_deg=sky.elevation_deg)
            if cooker.on_sun:
                watts = np.where(day.on_sun[cooker.id], watts * worst, 0.0)
            rows.append(watts * day.availability[cooker.id])
        return np.asarray(rows)


@dataclass(frozen=True)
class DrawnLoads:
    """One load at several starts: arrays by (start, draw, minute since the start)."""

    hottest_c: Array  # the hottest of its pots
    body_c: Array
    done: Bools  # all of it is done
    steam_kg: Array  # what the pots have lost


def drawn_loads(
    days: DrawnDays, cooker: Cooker, load: Load, starts: Ints, minutes: int
) -> DrawnLoads:
    """Run a load for so many minutes from each start, a minute of the day, under every draw.

    Hands come late, each day by so much: until then the food is as it was brought.
    """
    day, n = days.day, starts.size
    drawn, late = days.cooker(cooker), np.tile(days.late_min(), n)
    state = loaded(day, cooker, load, np.repeat(starts, DRAWS).astype(np.int64) + late)
    state.row = np.tile(np.arange(DRAWS, dtype=np.int64), n)
    state.strength, state.loss = np.tile(drawn.strength, n), np.tile(drawn.loss, n)
    forcing = Forcing(days.watts(cooker), day.sky.air_c, day.sky.wind_m_s)
    hottest, body, done, steam = [], [], [], []
    for _ in range(minutes):
        hottest.append(state.pot_c.max(axis=0).copy())
        body.append(state.body_c.copy())
        heat.step(state, forcing, dt_s=STEP_S, boil_c=day.boil_c)
        done.append(np.all(heat.is_done(state), axis=0))
        steam.append(state.steam_kg.sum(axis=0))

    # What was run from the loading on is put where it is by the clock.
    clock = np.maximum(np.arange(minutes)[:, None] - late, 0)

    def shaped(rows: list[Array]) -> Array:
        by_clock = np.take_along_axis(np.asarray(rows), clock, axis=0)
        return by_clock.T.reshape(n, DRAWS, minutes)

    finished: Bools = np.take_along_axis(np.asarray(done), clock, axis=0)
    return DrawnLoads(
        shaped(hottest), shaped(body), finished.T.reshape(n, DRAWS, minutes), shaped(steam)
    )


def drawn_empty(days: DrawnDays, cooker: Cooker, starts: Ints, minutes: int) -> Array:
    """Return how hot an empty cooker's body gets, by (start, draw, minute since the start)."""
    sky, drawn, late = days.day.sky, days.cooker(cooker), days.late_min()
    watts, last = days.watts(cooker), sky.air_c.size - 1
    heat_w_k = max(cooker.body_kj_k * 1000.0, 1.0) / STEP_S
    body: Array = np.repeat(sky.air_c[starts][:, None], DRAWS, axis=1)
    seen = []
    for k in range(minutes):
        seen.append(body)
        at = np.minimum(starts + k, last)
        blow = (1.0 + cooker.wind_factor_s_m * sky.wind_m_s[at])[:, None] * drawn.loss
        loss_w_k = (cooker.loss_w_k or 0.0) * blow
        won = watts[:, at].T * drawn.strength
        body = (heat_w_k * body + won + loss_w_k * sky.air_c[at][:, None]) / (heat_w_k + loss_w_k)
    clock = np.maximum(np.arange(minutes)[:, None, None] - late, 0)
    by_clock: Array = np.take_along_axis(np.asarray(seen), clock, axis=0)
    return by_clock.transpose(1, 2, 0)
