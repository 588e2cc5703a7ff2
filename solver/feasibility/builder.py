"""What a cooker that is only thought of would do: watts, heat, minutes, dishes, and what helps.

Beside each figure stands a band: eight of ten first builds lie in it. The draws are those that a
plan's cookers are drawn by (simulation/cooker_draws.py), with a wider band.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from events.errors import WHOLE_FILE
from events.food_rules import CLOCK_LIMIT_MIN, FOOD_RULES
from events.kitchen import Cooker, Dish, Pot
from events.quantities import RANGES
from events.reading.catalogue import entries, resolve
from events.reading.recipes import from_ingredients
from events.table import changed
from solver.part import Part
from solver.policy import BOIL_WITHIN_K, oven_floor_c
from solver.simulation.cooker_draws import drawn_cooker
from solver.simulation.run import join, run
from solver.thermal import design as designs
from solver.thermal import energy_balance as heat
from solver.thermal.design import BAND_FRACTION, Design, cooker_of
from solver.thermal.energy_balance import Array, Ensemble, Forcing, Load
from solver.thermal.heat_flow import Flows, Surroundings, flows, light_of, steady_body_c
from solver.thermal.measurement import black_pot, water
from solver.thermal.pots import pot_area_m2

ABOVE_K = 50.0  # ASAE S580's point
COLD_C = 20.0
LONGEST_MIN = 300  # a day's hours of strong sun
DRAWS, SEED = 40, 580
COOKS_DRAWS = 9  # of these, for dishes
MOST_DRAWS, SOME_DRAWS = 0.8, 0.2  # shares of builds in which a dish is called sure, or possible
BAKED_KG, TIN_LITRES = 0.8, 2.5  # what bakes does so in a tin of its own
EMPTY_C_MOST = 500.0

ChangeKey = Literal["size", "pane", "cover", "flap", "insulation", "shine"]
Sureness = Literal["yes", "perhaps", "no"]


class Filled(Part):
    """What stands in the cooker: the pot, and how much is in it."""

    pot_litres: Annotated[float, Field(ge=0.5, le=20)] = 3.0
    litres: Annotated[float, Field(ge=0.2, le=20)] = 2.0
    colour: Literal["black", "dark", "shiny"] = "black"


class Spread(Part):
    """A figure as expected, and between which eight of ten builds lie; None: never."""

    expected: float | None
    low: float | None
    high: float | None


class Figures(Part):
    """What one build does, as expected."""

    at_50_w: float  # into pot and water, 50 K above the air
    empty_c: float | None  # None: must never stand empty on the sun
    litre_min: float | None  # from 20 °C to the boil; None: not within five hours


class Change(Part):
    """One thing built otherwise, and what that does."""

    key: ChangeKey
    figures: Figures


class DishCooked(Part):
    """Whether a dish of the catalogue gets done, and in how many minutes as expected."""

    name: str
    sure: Sureness
    minutes: int | None


class Built(Part):
    """Everything that is said of a design."""

    at_50_w: Spread
    empty_c: Spread | None
    litre_min: Spread
    fill_min: Spread
    flows: Flows  # at that point
    changes: tuple[Change, ...]
    dishes: tuple[DishCooked, ...]


@dataclass(frozen=True)
class _Case:
    """A cooker with some litres of water in a pot, and by how much builds of it differ."""

    cooker: Cooker
    litres: float
    pot: Pot
    strength: Array
    loss: Array


@lru_cache(maxsize=256)
def built(design: Design, filled: Filled, around: Surroundings) -> Built:
    """Return what a design does under a steady sun."""
    one = np.ones(1)
    cooker, pot = _cooker(design, around), _pot(filled, filled.pot_litres)
    strength, loss = (np.concatenate([one, draws]) for draws in _draws())
    litre_pot = _pot(filled, max(filled.pot_litres, 1.0))
    others = [(key, other) for key, other in _changed(design) if other != design]
    cases = [
        _Case(cooker, 1.0, litre_pot, strength, loss),
        _Case(cooker, filled.litres, pot, strength, loss),
        *(_Case(_cooker(d, around), 1.0, litre_pot, one, one) for _, d in others),
    ]
    litre, fill, *changed_min = _boil_minutes(cases, around)
    at_50 = [_at_50(_as_built(cooker, s, x), filled, around) for s, x in _pairs(strength, loss)]
    watts = np.asarray([f.food_w for f in at_50])
    empty = _empty_c(design, cooker, pot, around, strength, loss)
    return Built(
        at_50_w=_spread(watts),
        empty_c=None if empty is None else _spread(empty),
        litre_min=_spread(litre),
        fill_min=_spread(fill),
        flows=at_50[0],
        changes=tuple(
            Change(key=key, figures=_figures(d, filled, around, minutes[0]))
            for (key, d), minutes in zip(others, changed_min, strict=True)
        ),
        dishes=_dishes(cooker, filled, around, strength[: COOKS_DRAWS + 1], loss, empty),
    )


def _draws() -> tuple[Array, Array]:
    rng = np.random.default_rng(SEED)
    # Its glass is clean and dry, as in the published tests.
    drawn = drawn_cooker(BAND_FRACTION, lambda: rng.standard_normal(DRAWS), glazed=False)
    return drawn.strength, drawn.loss


def _pairs(strength: Array, loss: Array) -> list[tuple[float, float]]:
    return list(zip(strength.tolist(), loss.tolist(), strict=True))


def _cooker(design: Design, around: Surroundings) -> Cooker:
    return cooker_of(design, air_c=around.air_c, wind_m_s=around.wind_m_s)


def _as_built(cooker: Cooker, strength: float, loss: float) -> Cooker:
    """Return a cooker that came out stronger and loses more than thought."""
    key = "loss_w_k" if cooker.nature.has_body else "pot_loss_w_m2_k"
    _, most = RANGES["optical_efficiency"]
    figures = {
        "optical_efficiency": min(cooker.optical_efficiency * strength, most),
        key: getattr(cooker, key) * loss,
    }
    return changed(cooker, **figures)


def _pot(filled: Filled, litres: float) -> Pot:
    return changed(black_pot(litres, litres), colour=filled.colour)


def _changed(design: Design) -> list[tuple[ChangeKey, Design]]:
    """Return a design with each one thing more that its kind can have."""

    def other(**update: float) -> Design:
        return changed(design, **update)

    size: tuple[ChangeKey, Design] = ("size", other(size_cm=min(design.size_cm + 10, 200)))
    shine: tuple[ChangeKey, Design] = (
        "shine",
        other(shine_fraction=min(round(design.shine_fraction + 0.1, 2), 0.95)),
    )
    if design.kind == "parabolic":
        return [size, shine]
    if design.kind == "panel":
        return [size, ("cover", other(panes=min(design.panes + 1, 2))), shine]
    return [
        size,
        ("pane", other(panes=min(design.panes + 1, 3))),
        ("insulation", other(insulation_mm=min(design.insulation_mm + 20, 150))),
        ("flap", other(flaps=min(design.flaps + 1, 4))),
        *([shine] if design.flaps else []),
    ]


def _figures(design: Design, filled: Filled, around: Surroundings, litre_min: float) -> Figures:
    cooker, one = _cooker(design, around), np.ones(1)
    pot = _pot(filled, filled.pot_litres)
    empty = _empty_c(design, cooker, pot, around, one, one)
    return Figures(
        at_50_w=_at_50(cooker, filled, around).food_w,
        empty_c=None if empty is None else float(empty[0]),
        litre_min=float(litre_min) if np.isfinite(litre_min) else None,
    )


def _at_50(cooker: Cooker, filled: Filled, around: Surroundings) -> Flows:
    """Return where the watts go with the pot 50 K above the air, its oven as warm as it stays."""
    pot = _pot(filled, filled.pot_litres)
    load = Load((water(filled.litres, COLD_C),), (filled.litres,), (pot,))
    food_c = [min(around.air_c + ABOVE_K, around.boil_c - 1.0)]
    body_c = steady_body_c(cooker, load, food_c=food_c, around=around)
    return flows(cooker, load, food_c=food_c, body_c=body_c, around=around)


def _empty_c(
    design: Design,
    cooker: Cooker,
    pot: Pot,
    around: Surroundings,
    strength: Array,
    loss: Array,
) -> Array | None:
    """Return how hot the empty box, or a dry pot in a panel, gets; never tried in a mirror."""
    if cooker.nature.concentrates:
        return None
    if cooker.nature.has_body:
        light_w = light_of(cooker, around) * strength
        return designs.empty_c(
            design, light_w, loss=loss, air_c=around.air_c, wind_m_s=around.wind_m_s
        )
    dry = Load((water(0.01, COLD_C),), (0.01,), (pot,))
    cool = around.air_c
    won_w = flows(cooker, dry, food_c=[cool], body_c=cool, around=around).gathered_w
    ua = cooker.pot_loss_w_m2_k * pot_area_m2(pot.litres)
    ua *= 1 + cooker.wind_factor_s_m * around.wind_m_s
    return np.minimum(cool + won_w * strength / (ua * loss), EMPTY_C_MOST)


def _spread(values: Array) -> Spread:
    """Return the first value as expected, and the band of the rest; inf is never."""
    ordered = np.sort(values[1:])
    tenth = max(len(ordered) // 10 - 1, 0)
    picked = (values[0], ordered[tenth], ordered[-1 - tenth])
    expected, low, high = (float(v) if np.isfinite(v) else None for v in picked)
    return Spread(expected=expected, low=low, high=high)


def _boil_minutes(cases: list[_Case], around: Surroundings) -> list[Array]:
    """Return for each case the minutes from 20 °C to the boil, by build; inf: not in five hours."""
    light_w = np.asarray([[light_of(c.cooker, around)] for c in cases])
    forcing = Forcing(light_w, np.full(1, around.air_c), np.full(1, around.wind_m_s))
    state = join([_state(case, row, around) for row, case in enumerate(cases)])
    boils_c = around.boil_c - BOIL_WITHIN_K
    found = np.full(state.minute.size, np.inf)
    before = state.pot_c[0]
    for minute in range(1, LONGEST_MIN + 1):
        heat.step(state, forcing, dt_s=60.0, boil_c=around.boil_c)
        now = state.pot_c[0]
        crossed = (now >= boils_c) & np.isinf(found)
        share = (boils_c - before) / np.maximum(now - before, 1e-9)
        found = np.where(crossed, minute - 1 + share, found)
        before = now
        if np.isfinite(found).all():
            break
    ends = np.cumsum([c.strength.size for c in cases])
    return np.split(found, ends[:-1])


def _state(case: _Case, row: int, around: Surroundings) -> Ensemble:
    n = case.strength.size
    state = heat.ensemble(
        case.cooker,
        Load((water(case.litres, COLD_C),), (case.litres,), (case.pot,)),
        minutes=np.zeros(n),
        row=np.full(n, row, dtype=np.int64),
        body_c=np.full(n, around.air_c),
        strength=case.strength,
        boil_c=around.boil_c,
    )
    state.loss = case.loss
    return state


def _dishes(
    cooker: Cooker,
    filled: Filled,
    around: Surroundings,
    strength: Array,
    loss: Array,
    empty: Array | None,
) -> tuple[DishCooked, ...]:
    """Return which dishes of the catalogue get done, safe too, in five hours of this sun."""
    n = strength.size
    cooked = [d for d in catalogue_dishes() if cooker.kind in d.kinds]
    hot_c = np.full(n, around.air_c) if empty is None else empty[:n]
    states = []
    for dish in cooked:
        kg, pot = _portion(dish, filled)
        baked = dish.needs_body_c is not None
        state = heat.ensemble(
            cooker,
            Load((dish,), (kg,), (pot,), reheat_c=FOOD_RULES["strictest"].reheat_c),
            minutes=np.zeros(n),
            row=np.zeros(n, dtype=np.int64),
            body_c=hot_c if baked and cooker.nature.has_body else np.full(n, around.air_c),
            strength=strength,
            boil_c=around.boil_c,
        )
        state.loss = loss[:n]
        states.append(state)
    forcing = Forcing(
        np.full((1, 1), light_of(cooker, around)),
        np.full(1, around.air_c),
        np.full(1, around.wind_m_s),
    )
    until = np.full(n * len(cooked), float(LONGEST_MIN))
    found = run(join(states), forcing, until=until, boil_c=around.boil_c)
    minutes = found.done_min[0].reshape(len(cooked), n)
    clock = found.clock_min[0].reshape(len(cooked), n)
    return tuple(
        _outcome(dish, _kept(dish, minutes[k], clock[k], hot_c)) for k, dish in enumerate(cooked)
    )


def _portion(dish: Dish, filled: Filled) -> tuple[float, Pot]:
    if dish.shape == "baked":
        tin = changed(black_pot(TIN_LITRES, TIN_LITRES), colour="dark")
        return BAKED_KG, tin
    return filled.litres / dish.litres_per_kg, _pot(filled, filled.pot_litres)


def _kept(dish: Dish, minutes: Array, clock_min: Array, hot_c: Array) -> Array:
    """Return minutes with inf where the oven is too cool, or food is neither hot nor cold long."""
    floor_c = oven_floor_c(dish)
    too_cool = np.zeros(minutes.size, dtype=bool) if floor_c is None else hot_c < floor_c
    too_long = (clock_min > CLOCK_LIMIT_MIN) & dish.hazardous
    return np.where(too_cool | too_long, np.inf, minutes)


def _outcome(dish: Dish, minutes: Array) -> DishCooked:
    share = float(np.isfinite(minutes[1:]).mean())
    expected = float(minutes[0])
    sure: Sureness = "perhaps" if share >= SOME_DRAWS else "no"
    if np.isfinite(expected) and share >= MOST_DRAWS:
        sure = "yes"
    return DishCooked(
        name=dish.name,
        sure=sure,
        minutes=round(expected) if np.isfinite(expected) else None,
    )


@lru_cache(maxsize=1)
def catalogue_dishes() -> tuple[Dish, ...]:
    """Return the dishes of the catalogue, each as one portion of its own recipe."""
    return tuple(_catalogue_dish(name) for name in entries("dish"))


def _catalogue_dish(name: str) -> Dish:
    table = {"id": name, "like": name, "meal": "any", "portions": 1}
    return Dish.model_validate(from_ingredients(resolve("dish", table), WHOLE_FILE, []))
