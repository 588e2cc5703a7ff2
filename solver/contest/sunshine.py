"""How much sun each place gives over a stretch of time, and which places are most alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from events.kitchen import Composition, Cooker, Dish, Pot
from events.model import Event
from events.reading.catalogue import resolve
from events.site import Station
from events.table import changed
from solver.simulation.day import make_day
from solver.simulation.durations import expected_done
from solver.solar.horizon import profile
from solver.solar.irradiance import Sky, beam_at, expected_sky
from solver.thermal.energy_balance import Array, Load

SUN_W_M2 = 700.0  # the irradiance to which tests of solar cookers are normalised
DIFFUSE_SHARE = 0.1  # of the sky's own light a cooker gathers little: judgement
REFERENCE = "panel-deep"  # of the catalogue: a cooker that everybody can picture
WATER_KG, WATER_FROM_C, WATER_TO_C = 2.0, 20.0, 90.0


def sun_totals(event: Event) -> dict[str, Array]:
    """Return, by place, the minutes of a standard sun up to each minute of the day."""
    sky = expected_sky(event)
    stations = {s.id: s for s in event.stations}
    names = {*(event.contest.stations if event.contest else ())}
    names |= {e.station for e in event.entries if e.station}
    return {
        name: np.concatenate([[0.0], np.cumsum(_sun(event, sky, stations[name]))])
        for name in sorted(names)
    }


def _sun(event: Event, sky: Sky, station: Station) -> Array:
    beam = beam_at(sky, profile(event, station))
    total: Array = (beam + DIFFUSE_SHARE * sky.diffuse_w_m2) / SUN_W_M2
    return total


def most_unlike(
    totals: Mapping[str, Array], places: Sequence[str], count: int, hours: slice
) -> tuple[str, ...]:
    """Return the places to leave out, so that `count` are left whose sun is most alike.

    Of the places sorted by their sun, neighbours stay: those with the least difference.
    """

    def minutes(name: str) -> float:
        return round(float(totals[name][hours.stop] - totals[name][hours.start]), 3)

    ranked = sorted(places, key=lambda name: (-minutes(name), places.index(name)))
    if not count:
        return tuple(places)  # nobody seeks a place
    spans = range(len(ranked) - count + 1)
    first = min(spans, key=lambda n: (minutes(ranked[n]) - minutes(ranked[n + count - 1]), n))
    stay = set(ranked[first : first + count])
    return tuple(name for name in places if name not in stay)


def water_minutes(event: Event, starts: Sequence[tuple[str, int]]) -> list[int | None]:
    """Return minutes for two kilograms of water at each (place, minute of the day); None: never."""
    if not starts:
        return []
    stations = dict.fromkeys(name for name, _ in starts)
    cookers = {
        name: Cooker.model_validate(
            resolve("cooker", {"like": REFERENCE, "id": f"r{n}", "name": name, "station": name})
        )
        for n, name in enumerate(stations)
    }
    day = make_day(
        changed(event, cookers=tuple(cookers.values()), talks=(), contest=None, entries=())
    )
    results = []
    for name, minute in starts:
        done = expected_done(
            day, cookers[name], _water(event), np.asarray([minute]), until=day.sky.air_c.size - 1
        )
        results.append(round(float(done[0])) if np.isfinite(done[0]) else None)
    return results


def _water(event: Event) -> Load:
    dish = Dish(
        id="water",
        name="Water",
        meal="tasting",
        portions=1,
        portion_kg=WATER_KG,
        composition=Composition(water=1.0),
        start_c=WATER_FROM_C,
        done="core",
        core_c=WATER_TO_C,
    )
    pot = Pot.model_validate(resolve("pot", {"like": "pot-3l", "id": "pot", "name": "Pot"}))
    return Load((dish,), (WATER_KG,), (pot,), 0, 0.0)
