"""The heat balance against an integrator of another make, and every joule added up."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from events.model import Cooker, Dish, Pot
from solver.thermal import energy_balance as heat
from solver.thermal import food
from solver.thermal.energy_balance import Ensemble, Forcing, Load
from solver.thermal.pots import pot_area_m2

POT = Pot(id="pot", name="Pot", litres=8, mass_kg=1.2)


def box(**more: object) -> Cooker:
    figures = {
        "aperture_m2": 0.4,
        "optical_efficiency": 0.5,
        "sun_on_pots_fraction": 0.25,
        "loss_w_k": 1.5,
        "wind_factor_s_m": 0.05,
        "body_kj_k": 9.0,
        "coupling_w_m2_k": 25.0,
        "litres": 20,
        "pots_max": 3,
    } | more
    return Cooker.model_validate({"id": "box", "name": "Box", "kind": "box"} | figures)


def mirror(**more: object) -> Cooker:
    figures = {"aperture_m2": 1.1, "optical_efficiency": 0.5, "litres": 10} | more
    return Cooker.model_validate({"id": "m", "name": "Mirror", "kind": "parabolic"} | figures)


def stew(**more: object) -> Dish:
    figures = {
        "portions": 10,
        "portion_kg": 0.4,
        "composition": {"water": 0.85, "carbohydrate": 0.15},
        "done": "simmer",
        "ordinary_min": 30,
    } | more
    return Dish.model_validate({"id": "stew", "name": "Stew", "meal": "lunch"} | figures)


def start(cooker: Cooker, dishes: tuple[Dish, ...], *, kg: float = 4.0) -> Ensemble:
    return heat.ensemble(
        cooker,
        Load(dishes, (kg,) * len(dishes), (POT,) * len(dishes)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.asarray([20.0]),
        strength=np.ones(1),
        boil_c=99.97,
    )


def steady(watts: float, minutes: int = 2000, wind_m_s: float = 1.0) -> Forcing:
    return Forcing(np.full((1, minutes), watts), np.full(minutes, 20.0), np.full(minutes, wind_m_s))


def vapour_w(pot_c: np.ndarray, *, shut: float) -> np.ndarray:
    """Return what leaves with the vapour of a lidded pot: 3.55 (T - 50)² W/m², a tenth of it."""
    top_m2 = 1.5 * np.pi * (4 * POT.litres / 1000 / np.pi) ** (2 / 3) / 6
    return 3.55 * 0.1 * shut * top_m2 * np.maximum(pot_c - 50.0, 0.0) ** 2


def seen_through_fog(hottest_c: float) -> float:
    return float(1 - 0.1 * np.clip((hottest_c - 80) / 20, 0, 1))


@pytest.mark.parametrize("seed", range(24))
def test_a_box_with_two_pots_agrees_with_scipy_below_the_boil(seed: int) -> None:
    luck = np.random.default_rng(seed)
    cooker = box(
        loss_w_k=luck.uniform(0.8, 3),
        body_kj_k=luck.uniform(2, 30),
        coupling_w_m2_k=luck.uniform(10, 60),
    )
    state = start(cooker, (stew(), stew()), kg=luck.uniform(1, 5))
    watts, wind = luck.uniform(100, 300), luck.uniform(0, 4)
    blow = 1 + 0.05 * wind

    def slope(_: float, t: np.ndarray) -> np.ndarray:
        body, pots = t[0], t[1:]
        g = cooker.coupling_w_m2_k * pot_area_m2(POT.litres)
        light = watts * seen_through_fog(pots.max())
        into_body = (
            0.75 * light - cooker.loss_w_k * blow * (body - 20.0) - (g * (body - pots)).sum()
        )
        into_pots = 0.25 / 2 * light + g * (body - pots) - vapour_w(pots, shut=0.5)
        return np.concatenate(
            [[into_body / (cooker.body_kj_k * 1000)], into_pots / state.pot_j_k[:, 0]]
        )

    def at_half(_: float, t: np.ndarray) -> float:
        return float(t[1] - half_c)

    answer = solve_ivp(slope, (0, 3600), [20.0, 20.0, 20.0], rtol=1e-8, atol=1e-8)
    sure, half_c = answer.y[:, -1], (20.0 + answer.y[1, -1]) / 2
    again = solve_ivp(slope, (0, 3600), [20.0, 20.0, 20.0], rtol=1e-8, atol=1e-8, events=at_half)
    forcing, halfway_s = steady(watts, wind_m_s=wind), 0.0
    for _ in range(720):
        heat.step(state, forcing, dt_s=5.0, boil_c=500.0)
        halfway_s += 5.0 * (state.pot_c[0, 0] < half_c)

    assert abs(state.body_c[0] - sure[0]) < 0.2
    assert np.abs(state.pot_c[:, 0] - sure[1:]).max() < 0.2
    assert abs(halfway_s - again.t_events[0][0]) < 30


SHELLS = 60


def _heat_into(shape: str, inside_c: np.ndarray, surface_c: float, mm2_s: float, half_m: float):
    """Return d/dt of a ball's or slab's temperatures, node by node from the centre out."""
    full, dr = np.append(inside_c, surface_c), half_m / SHELLS
    bend = (full[2:] - 2 * full[1:-1] + full[:-2]) / dr**2
    if shape == "pieces":
        bend += (full[2:] - full[:-2]) / (np.arange(1, SHELLS) * dr**2)
    middle = (6 if shape == "pieces" else 2) * (full[1] - full[0]) / dr**2
    return mm2_s * 1e-6 * np.append(middle, bend)


@pytest.mark.parametrize("seed", range(16))
def test_a_pot_on_the_sun_and_its_core_agree_with_scipy(seed: int) -> None:
    luck = np.random.default_rng(seed)
    shape, kind = ("pieces", "slab")[seed % 2], ("parabolic", "panel")[seed // 2 % 2]
    dish = stew(shape=shape, thickness_mm=luck.uniform(15, 60))
    cooker = mirror(kind=kind, pot_loss_w_m2_k=luck.uniform(5, 20), wind_factor_s_m=0.1)
    state = start(cooker, (dish,), kg=luck.uniform(1, 5))
    watts, wind = luck.uniform(200, 500), luck.uniform(0, 4)
    loss = cooker.pot_loss_w_m2_k * pot_area_m2(POT.litres) * (1 + 0.1 * wind)

    lit, shut = float(state.pot_light_fraction[0, 0]), 0.5 if kind == "panel" else 1.0

    def slope(_: float, t: np.ndarray) -> np.ndarray:
        into_pot = lit * watts - loss * (t[0] - 20.0) - vapour_w(t[0], shut=shut)
        into_pot /= state.pot_j_k[0, 0]
        half_m = dish.thickness_mm / 2000
        return np.append(into_pot, _heat_into(shape, t[1:], t[0], dish.diffusivity_mm2_s, half_m))

    at = np.arange(0, 3601, 60)
    sure = solve_ivp(
        slope, (0, 3600), np.full(SHELLS + 1, 20.0), "LSODA", rtol=1e-8, atol=1e-8, t_eval=at
    ).y
    forcing, pot, core = steady(watts, wind_m_s=wind), [20.0], [20.0]
    for n in range(1, 721):
        heat.step(state, forcing, dt_s=5.0, boil_c=500.0)
        if n % 12 == 0:
            pot.append(float(state.pot_c[0, 0]))
            core.append(float(state.core_c[0, 0]))

    half_c = (20.0 + sure[1, -1]) / 2
    assert np.abs(np.asarray(pot) - sure[0]).max() < 0.2
    assert np.abs(np.asarray(core) - sure[1]).max() < 0.2
    assert abs(np.interp(half_c, core, at) - np.interp(half_c, sure[1], at)) < 30


@pytest.mark.parametrize("cooker", [mirror(), box()], ids=["mirror", "box"])
def test_every_joule_is_accounted_for_with_boiling_and_steam(cooker: Cooker) -> None:
    state = start(cooker, (stew(),), kg=1.5)
    watts, dt = 500.0, 60.0
    forcing = steady(watts, wind_m_s=0.0)
    has_body = cooker.kind == "box"
    gone, came = 0.0, 0.0
    pot0 = state.pot_c.copy()
    for _ in range(240):
        came += watts * dt * (seen_through_fog(float(state.pot_c.max())) if has_body else 1.0)
        heat.step(state, forcing, dt_s=dt, boil_c=99.97)
        gone += float((state.pot_loss_w_k * (state.pot_c - 20.0)).sum()) * dt
        if has_body:
            gone += float(state.body_loss_w_k[0] * (state.body_c[0] - 20.0)) * dt

    kept = float((state.pot_j_k * (state.pot_c - pot0)).sum())
    if has_body:
        kept += float(state.body_j_k[0] * (state.body_c[0] - 20.0))
    steam = float(state.steam_kg.sum()) * food.STEAM_J_KG
    assert state.steam_kg.sum() > 0.1
    assert kept + gone + steam == pytest.approx(came, rel=1e-9)


def test_a_flame_is_turned_down_at_the_boil_and_the_sun_is_not() -> None:
    """2 kg of stew at 1200 W for two hours: over an hour of that at the boil."""

    def steam_kg(cooker: Cooker) -> float:
        state = start(cooker, (stew(),), kg=2.0)
        for _ in range(120):
            heat.step(state, steady(1200.0, wind_m_s=0.0), dt_s=60.0, boil_c=99.97)
        assert float(state.pot_c[0, 0]) == pytest.approx(99.97)  # it boils on
        return float(state.steam_kg[0, 0])

    figures = {"kind": "burner", "power_w": 2400.0, "litres": 20}
    ring = Cooker.model_validate({"id": "r", "name": "Ring"} | figures)

    simmer_kg = heat.SIMMER_W * 3600 * 1.85 / food.STEAM_J_KG  # what a lid lets out comes on top
    assert simmer_kg < steam_kg(ring) < simmer_kg + 0.15
    assert steam_kg(mirror()) > 1.5


@pytest.mark.parametrize("cooker", [mirror(), box()], ids=["mirror", "box"])
def test_frozen_food_takes_the_heat_of_its_ice_and_not_a_joule_is_lost(cooker: Cooker) -> None:
    frozen, cold = (start(cooker, (stew(start_c=t),), kg=2.0) for t in (-18.0, -0.5))
    ice_j = 334e3 * 2.0 * 0.85 * (1 - 1 / 18)
    forcing, gone, came = steady(400.0, wind_m_s=0.0), 0.0, 0.0
    has_body = cooker.kind == "box"

    assert float(frozen.ice_j[0, 0]) == pytest.approx(ice_j)
    assert not cold.ice_j.any()
    while frozen.pot_c[0, 0] < 20.0:
        heat.step(frozen, forcing, dt_s=30.0, boil_c=99.97)
        came += 400.0 * 30
        gone += float((frozen.pot_loss_w_k * (frozen.pot_c - 20.0)).sum()) * 30
        if has_body:
            gone += float(frozen.body_loss_w_k[0] * (frozen.body_c[0] - 20.0)) * 30
    kept = float(frozen.pot_j_k[0, 0] * (frozen.pot_c[0, 0] + 18.0)) + ice_j
    if has_body:
        kept += float(frozen.body_j_k[0] * (frozen.body_c[0] - 20.0))
    assert not frozen.ice_j.any()
    assert kept + gone == pytest.approx(came, rel=1e-4)  # the step in which the last ice melts
    while cold.pot_c[0, 0] < 20.0:
        heat.step(cold, forcing, dt_s=30.0, boil_c=99.97)
    assert frozen.minute[0] - cold.minute[0] > 20  # 536 kJ of ice at 400 W alone are 22 minutes


def test_a_frozen_middle_lags_longer_than_a_cold_one() -> None:
    def tau_s(start_c: float) -> float:
        piece = stew(shape="pieces", thickness_mm=30, start_c=start_c)
        return float(heat.food.modes(piece).tau_s[0])

    assert tau_s(-18.0) > 1.5 * tau_s(2.0)
    assert tau_s(2.0) == tau_s(20.0)


@pytest.mark.parametrize("dt_s", [1.0, 60.0, 600.0, 36000.0])
def test_a_fast_mirror_with_a_cup_of_water_stays_steady_at_any_step(dt_s: float) -> None:
    state = start(mirror(), (stew(),), kg=0.05)

    for _ in range(30):
        heat.step(state, steady(900.0), dt_s=dt_s, boil_c=99.97)

    assert 20.0 <= float(state.pot_c[0, 0]) <= 99.97


def test_a_dish_at_altitude_takes_longer_than_at_the_sea() -> None:
    low, high = start(mirror(), (stew(),)), start(mirror(), (stew(),))
    forcing = steady(800.0)
    for _ in range(90):
        heat.step(low, forcing, dt_s=60.0, boil_c=food.boiling_c(0))
        heat.step(high, forcing, dt_s=60.0, boil_c=food.boiling_c(2500))

    assert heat.is_done(low)[0, 0]
    assert high.won_min[0, 0] < low.won_min[0, 0]


def test_a_loaf_goes_by_its_crust_and_never_over_the_boil() -> None:
    loaf = stew(
        shape="baked",
        thickness_mm=70,
        done="core",
        core_c=95.0,
        composition={"water": 0.4, "carbohydrate": 0.5, "protein": 0.1},
        hazardous=False,
    )
    state = heat.ensemble(
        box(),
        Load((loaf,), (0.8,), (POT,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.asarray([160.0]),
        strength=np.ones(1),
        boil_c=99.97,
    )
    first = float(state.core_c[0, 0])
    for _ in range(180):
        heat.step(state, steady(300.0), dt_s=60.0, boil_c=99.97)

    assert first == pytest.approx(20.0)
    assert 95.0 < float(state.core_c[0, 0]) <= 99.97
