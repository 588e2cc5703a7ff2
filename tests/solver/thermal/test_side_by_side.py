"""Pots of a load and lanes of a run, side by side: each is as it would be alone."""

from __future__ import annotations

import math

import numpy as np
import pytest

from events.food_rules import FOOD_RULES
from events.measured import Measured
from events.model import Cooker, Dish, Pot
from events.table import changed
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Ensemble, Forcing, Load
from solver.thermal.food import STEAM_J_KG, cook_rate
from solver.thermal.safety import lethality_rate
from tests.solver.checking.hand_laid import EVENT
from tests.solver.thermal.test_done_and_safe import BOIL_C, NOTHING, dish, kept_at, pot_of
from tests.solver.thermal.test_one_step import loaded

MIRROR, BOX = EVENT.cooker("mirror"), EVENT.cooker("box")
AIR_C = 20.0
DISHES = (
    dish(core_c=80.0, shape="liquid", start_c=-18.0, hazardous=False, stir_every_min=10),
    dish(done="boil", hold_min=7, shape="liquid", start_c=15.0, composition={"water": 1.0}),
    dish(done="simmer", ordinary_min=20, shape="pieces", thickness_mm=30.0, out_min=40, z_c=20.0),
    dish(core_c=70.0, shape="baked", thickness_mm=40.0, start_c=25.0),
    dish(done="reheat", shape="slab", thickness_mm=25.0, start_c=-10.0),
)
MASSES_KG = (1.0, 2.0, 1.5, 0.8, 0.5)
POTS = tuple(
    Pot(id=f"p{n}", name="P", litres=1.0 + n, mass_kg=0.5 + n / 4, colour=colour, material=material)
    for n, (colour, material) in enumerate(
        (
            ("black", "steel"),
            ("dark", "aluminium"),
            ("shiny", "clay"),
            ("black", "glass"),
            ("dark", "cast-iron"),
        )
    )
)
BY_POT = (
    *("pot_c", "pot_j_k", "pot_loss_w_k", "coupling_w_k", "vapour_w_k2", "ice_j", "baked", "mode"),
    *("threshold_c", "z_c", "needed_min", "deadly", "clock_min", "core_c"),
)
WON = ("pot_c", "core_c", "won_min", "lethal_min", "clock_min", "steam_kg", "ice_j")


def state_of(
    cooker: Cooker,
    dishes: tuple[Dish, ...],
    masses_kg: tuple[float, ...],
    pots: tuple[Pot, ...],
    body_c: float = 120.0,
) -> Ensemble:
    return heat.ensemble(
        cooker,
        Load(dishes, masses_kg, pots, reheat_c=75.0),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, body_c),
        strength=np.ones(1),
        boil_c=BOIL_C,
    )


def alone(cooker: Cooker, n: int) -> Ensemble:
    return state_of(cooker, DISHES[n : n + 1], MASSES_KG[n : n + 1], POTS[n : n + 1])


def steady(watts: float) -> Forcing:
    return Forcing(np.full((1, 1), watts), np.full(1, AIR_C), np.zeros(1))


@pytest.mark.parametrize("cooker", [MIRROR, BOX], ids=["mirror", "box"])
def test_each_pot_of_a_load_begins_as_it_would_alone(cooker: Cooker) -> None:
    whole = state_of(cooker, DISHES, MASSES_KG, POTS)

    for n in range(len(DISHES)):
        single = alone(cooker, n)
        for name in BY_POT:
            assert getattr(whole, name)[n, 0] == getattr(single, name)[0, 0], (n, name)
        for name in ("amplitude", "tau_s", "lag_c"):
            assert getattr(whole, name)[:, n, 0].tolist() == getattr(single, name)[:, 0, 0].tolist()
        share = single.pot_light_fraction[0, 0] / len(DISHES)
        assert whole.pot_light_fraction[n, 0] == pytest.approx(share)


def test_each_pot_in_a_mirror_goes_on_as_it_would_with_its_share_of_the_light() -> None:
    """One melts while another boils and a third is not hot yet."""
    unbaked = [n for n, d in enumerate(DISHES) if d.shape != "baked"]
    dishes, masses, pots = (tuple(a[n] for n in unbaked) for a in (DISHES, MASSES_KG, POTS))
    whole = state_of(MIRROR, dishes, masses, pots)
    singles = [alone(MIRROR, n) for n in unbaked]
    seen: set[tuple[bool, ...]] = set()

    for _ in range(240):
        heat.step(whole, steady(3000.0), dt_s=60.0, boil_c=BOIL_C)
        for n, single in enumerate(singles):
            heat.step(single, steady(3000.0 / len(unbaked)), dt_s=60.0, boil_c=BOIL_C)
            for name in WON:
                found = getattr(whole, name)[n, 0]
                assert found == pytest.approx(getattr(single, name)[0, 0], abs=1e-6), (n, name)
            assert heat.is_done(whole)[n, 0] == heat.is_done(single)[0, 0]
        assert not whole.steam_kg[whole.ice_j > 0].any()  # ice melts, nothing boils away
        seen.add(tuple(bool(c >= BOIL_C) for c in whole.pot_c[:, 0]))
    assert len(seen) > 2
    assert heat.is_done(whole).all()


def test_each_lane_has_its_own_sun_and_strength() -> None:
    lanes = heat.ensemble(
        MIRROR,
        Load(DISHES[1:2], (2.0,), POTS[1:2]),
        minutes=np.zeros(3),
        row=np.asarray([0, 1, 1]),
        body_c=np.full(3, AIR_C),
        strength=np.asarray([1.0, 1.0, 0.5]),
        boil_c=BOIL_C,
    )
    cold_c = float(lanes.pot_c[0, 0])

    heat.step(
        lanes,
        Forcing(np.asarray([[0.0], [1000.0]]), np.full(1, cold_c), np.zeros(1)),
        dt_s=60.0,
        boil_c=BOIL_C,
    )

    none, full, half = lanes.pot_c[0] - cold_c
    assert none == pytest.approx(0.0, abs=1e-9)
    assert half == pytest.approx(full / 2)
    assert full > 1.0


def test_a_boxs_glass_fogs_by_its_hottest_pot() -> None:
    """Pots at 95 and 20 °C: three quarters of a tenth of the light stay out."""
    water = changed(DISHES[1], start_c=20.0)
    for order in ((0, 1), (1, 0)):
        state = state_of(BOX, (water, water), (2.0, 2.0), (POTS[3], POTS[3]), body_c=90.0)
        state.pot_c[:, 0] = np.asarray([95.0, 20.0])[list(order)]
        before_c, body_c = state.pot_c.copy(), state.body_c.copy()

        heat.step(state, steady(500.0), dt_s=60.0, boil_c=BOIL_C)

        stored_j = (state.pot_j_k * (state.pot_c - before_c)).sum()
        stored_j += (state.body_j_k * (state.body_c - body_c)).sum()
        lost_w = float((state.body_loss_w_k * (state.body_c - AIR_C)).sum())
        steam_j = float(state.steam_kg.sum()) * STEAM_J_KG
        assert (stored_j + steam_j) / 60 + lost_w == pytest.approx(500.0 * (1 - 0.1 * 0.75))


def test_only_a_loaf_meets_its_oven_at_once() -> None:
    assert not loaded(BOX, body_c=250.0).lag_c.any()


def test_what_was_measured_of_a_cooker_is_resolved_before_it_heats() -> None:
    with pytest.raises(ValueError, match="box: what was measured"):
        loaded(changed(BOX, measured=Measured(empty_c=150.0)))


def test_a_load_is_reheated_by_the_strictest_rule_where_none_is_given() -> None:
    assert Load((), (), ()).reheat_c == max(rules.reheat_c for rules in FOOD_RULES.values()) == 82.0


# --- a step's length


def test_a_lag_follows_a_surface_that_moves_straight() -> None:
    """In a step of its own time a lag keeps 1/e and gains 1 - 1/e of what the surface moves."""
    state = alone(MIRROR, 2)
    for seconds in (float(state.tau_s[0, 0, 0]), 600.0, 60.0):
        heat.set_step(state, seconds)
        x = seconds / state.tau_s
        assert state.stays == pytest.approx(np.exp(-x))
        assert state.moves == pytest.approx((1 - np.exp(-x)) / x)
    heat.set_step(state, float(state.tau_s[0, 0, 0]))
    assert state.stays[0, 0, 0] == pytest.approx(1 / math.e)
    assert state.moves[0, 0, 0] == pytest.approx(1 - 1 / math.e)


def test_a_middle_is_its_surface_less_its_lags() -> None:
    state = alone(MIRROR, 2)
    was_c = float(state.pot_c[0, 0])

    heat.step(state, steady(1000.0), dt_s=600.0, boil_c=BOIL_C)

    moved = float(state.pot_c[0, 0]) - was_c
    assert state.lag_c[:, 0, 0] == pytest.approx(moved * state.moves[:, 0, 0])
    lag_c = float((state.amplitude * state.lag_c).sum())
    assert float(state.core_c[0, 0]) == pytest.approx(float(state.pot_c[0, 0]) - lag_c)


# --- what is measured of a middle, and what of its pot


def lagging(food: Dish) -> Ensemble:
    """Return a thick piece in a pot at the boil whose middle is far behind, after five minutes."""
    state = kept_at(pot_of(food, BOIL_C), BOIL_C)
    state.lag_c[2] = 40.0
    for _ in range(5):
        heat.step(state, NOTHING, dt_s=60.0, boil_c=BOIL_C)
    assert state.core_c[0, 0] < 90.0 < state.pot_c[0, 0]
    return state


THICK = {"shape": "pieces", "thickness_mm": 150.0}


def test_the_boil_is_the_pots_and_what_cooks_and_kills_is_the_middles() -> None:
    boils = lagging(dish(done="boil", hold_min=5, hazardous=False, **THICK))
    assert heat.is_done(boils).all()
    simmers = lagging(dish(done="simmer", ordinary_min=30, **THICK))
    core_c = simmers.core_c
    assert simmers.won_min[0, 0] < 5 * cook_rate(core_c, 33.0)[0, 0] + 1e-9
    assert simmers.lethal_min[0, 0] < 5 * lethality_rate(core_c)[0, 0] + 1e-9


def test_the_clock_is_the_middles_and_stands_at_5_and_at_60_degrees() -> None:
    raw = kept_at(pot_of(dish(core_c=80.0, **THICK), 99.0), 99.0)
    raw.lag_c[2] = 80.0
    heat.step(raw, NOTHING, dt_s=60.0, boil_c=BOIL_C)
    assert raw.core_c[0, 0] < 60.0 < raw.pot_c[0, 0]
    assert raw.clock_min.tolist() == [[1.0]]
    for at_c, minutes in ((5.0, 0.0), (5.1, 1.0), (59.9, 1.0), (60.0, 0.0)):
        state = pot_of(dish(core_c=80.0), at_c)
        heat.step(state, NOTHING, dt_s=60.0, boil_c=BOIL_C)
        assert state.clock_min.tolist() == [[minutes]], at_c


def test_a_shorter_step_is_worth_less() -> None:
    warm, hot = (pot_of(dish(core_c=80.0), c) for c in (59.0, 70.0))
    for state in (warm, hot):
        heat.step(state, NOTHING, dt_s=15.0, boil_c=BOIL_C)

    assert warm.clock_min.tolist() == [[0.25]]
    assert hot.lethal_min[0, 0] == pytest.approx(0.25)


def test_two_minutes_at_70_degrees_are_enough() -> None:
    state = pot_of(dish(core_c=60.0), 70.0)
    state.won_min[:] = 1.0
    for lethal_min, done in ((1.999, False), (2.0, True)):
        state.lethal_min[:] = lethal_min
        assert heat.is_done(state).tolist() == [[done]]
