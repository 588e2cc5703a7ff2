"""One step of one pot by hand: what it wins and loses, its cooker's own draw and the wind with it.

In a step of a minute, implicit: (C/60 + UA) T' = C/60 T + UA T_air + Q.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from events.model import Cooker
from events.table import changed
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Ensemble, Forcing, Load
from solver.thermal.pots import lid_factor, pot_area_m2
from tests.solver.checking.hand_laid import EVENT

AIR_C, START_C, WATTS = 20.0, 40.0, 300.0
MIRROR, BOX, RING = (EVENT.cooker(c) for c in ("mirror", "box", "ring"))
POT, RICE = EVENT.pot("small"), changed(EVENT.dish("rice"), start_c=START_C)
MINUTE = np.ones(1, dtype=np.int64)
WIND_FACTOR = MIRROR.wind_factor_s_m


def loaded(cooker: Cooker, *, body_c: float = AIR_C, **values: object) -> Ensemble:
    dish = changed(RICE, **values)
    return heat.ensemble(
        cooker,
        Load((dish,), (3.0,), (POT,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, body_c),
        strength=np.ones(1),
        boil_c=100.0,
    )


def stepped(state: Ensemble, *, watts: float = 0.0, wind_m_s: float = 0.0) -> float:
    """Return the pot's temperature after a minute."""
    sky = Forcing(np.full((1, 5), watts), np.full(5, AIR_C), np.full(5, wind_m_s))
    heat.step(state, sky, dt_s=60.0, boil_c=100.0)
    return float(state.pot_c[0, 0])


@pytest.mark.parametrize(
    ("loss", "strength", "watts", "wind_m_s"),
    [
        (1.0, 1.0, 0.0, 0.0),
        (1.3, 1.0, 0.0, 0.0),  # it loses more than is described
        (1.0, 1.0, 0.0, 4.0),
        (1.3, 1.0, 0.0, 4.0),
        (1.0, 1.0, WATTS, 0.0),
        (1.0, 0.8, WATTS, 0.0),  # and wins less
    ],
)
def test_a_pot_in_a_mirror_loses_by_its_draw_and_the_wind_and_wins_by_its_strength(
    loss: float, strength: float, watts: float, wind_m_s: float
) -> None:
    state = replace(loaded(MIRROR), loss=np.full(1, loss), strength=np.full(1, strength))
    hold = float(state.pot_j_k[0, 0]) / 60
    ua = MIRROR.pot_loss_w_m2_k * pot_area_m2(POT.litres) * loss * (1 + WIND_FACTOR * wind_m_s)

    found = stepped(state, watts=watts, wind_m_s=wind_m_s)

    by_hand = (hold * START_C + ua * AIR_C + strength * watts) / (hold + ua)
    assert found == pytest.approx(by_hand, abs=1e-9)


def test_a_lid_opened_every_twenty_minutes_loses_a_fifth_more() -> None:
    """Five times as much for a minute of twenty: 1 + 4 / 20."""
    stirred = changed(RICE, stir_every_min=20)
    assert lid_factor(stirred) == pytest.approx(1.2)

    plain, open_often = loaded(MIRROR), loaded(MIRROR, stir_every_min=20)

    assert open_often.pot_loss_w_k[0, 0] == pytest.approx(1.2 * plain.pot_loss_w_k[0, 0])
    assert loaded(BOX).pot_loss_w_k[0, 0] == 0.0  # it stands in the warm body


@pytest.mark.parametrize(
    ("loss", "strength", "wind_m_s"), [(1.0, 1.0, 0.0), (1.3, 1.0, 0.0), (1.3, 0.8, 4.0)]
)
def test_a_box_loses_by_its_body_and_the_balance_closes(
    loss: float, strength: float, wind_m_s: float
) -> None:
    """What it wins is stored in body and pot, or lost from the body to the air."""
    lit = changed(BOX, body_kj_k=20.0)
    state = replace(loaded(lit, body_c=60.0), loss=np.full(1, loss), strength=np.full(1, strength))
    body_j_k, pot_j_k = float(state.body_j_k[0]), float(state.pot_j_k[0, 0])

    pot_c = stepped(state, watts=WATTS, wind_m_s=wind_m_s)

    body_c = float(state.body_c[0])
    ua = (lit.loss_w_k or 0.0) * loss * (1 + lit.wind_factor_s_m * wind_m_s)
    stored_w = (body_j_k * (body_c - 60.0) + pot_j_k * (pot_c - START_C)) / 60
    assert stored_w + ua * (body_c - AIR_C) == pytest.approx(strength * WATTS, rel=1e-9)
    assert pot_c > START_C


def test_food_that_was_out_of_the_cold_begins_with_its_minutes() -> None:
    assert loaded(MIRROR, out_min=45).clock_min.tolist() == [[45.0]]
    assert loaded(MIRROR).clock_min.tolist() == [[0.0]]


def test_two_pots_share_their_cookers_light_but_not_their_flames() -> None:
    def share(cooker: Cooker) -> list[float]:
        two = Load((RICE, RICE), (3.0, 3.0), (POT, changed(POT, colour="shiny")))
        state = heat.ensemble(
            cooker,
            two,
            minutes=np.zeros(1),
            row=np.zeros(1, dtype=np.int64),
            body_c=np.full(1, AIR_C),
            strength=np.ones(1),
            boil_c=100.0,
        )
        return [float(f) for f in state.pot_light_fraction[:, 0]]

    assert share(MIRROR) == pytest.approx([0.5, 0.5 * 0.4])
    assert share(RING) == [1.0, 1.0]


@pytest.mark.parametrize(("strength", "wind_m_s"), [(1.0, 0.0), (0.8, 0.0), (1.0, 4.0)])
def test_an_empty_oven_warms_by_its_sun_and_loses_to_the_wind(
    strength: float, wind_m_s: float
) -> None:
    oven = changed(BOX, body_kj_k=20.0)
    sky = Forcing(np.full((1, 5), WATTS), np.full(5, AIR_C), np.full(5, wind_m_s))

    (body_c,) = heat.preheated_c(
        oven, sky, 0, minutes=np.ones(1, int), for_min=1, strength=strength
    )

    hold, ua = 20_000 / 60, (oven.loss_w_k or 0.0) * (1 + oven.wind_factor_s_m * wind_m_s)
    assert body_c - AIR_C == pytest.approx(strength * WATTS / (hold + ua))


def test_a_loaf_meets_its_hot_oven_at_once_and_its_middle_never_passes_the_boil() -> None:
    loaf = {"shape": "baked", "thickness_mm": 40.0, "needs_body_c": 150.0}
    state = loaded(changed(BOX, body_kj_k=500.0), body_c=250.0, **loaf)
    assert set(state.lag_c.ravel().tolist()) == {250.0 - START_C}

    warmest_c = 0.0
    for _ in range(120):
        stepped(state, watts=3000.0)
        warmest_c = max(warmest_c, float(state.core_c[0, 0]))

    assert warmest_c == 100.0


def test_what_is_solid_is_done_by_its_middle_not_by_its_pot() -> None:
    state = loaded(MIRROR, shape="slab", thickness_mm=60.0)
    for _ in range(40):
        stepped(state, watts=3000.0)
        if state.pot_c[0, 0] > 90:
            break

    assert state.pot_c[0, 0] > 75 > state.core_c[0, 0]
    assert state.won_min.tolist() == [[0.0]]


def test_water_boils_for_a_minute_at_least() -> None:
    def asked(hold_min: int) -> float:
        tea = loaded(RING, done="boil", core_c=None, hold_min=hold_min)
        return float(tea.needed_min[0, 0])

    assert [asked(m) for m in (0, 1, 5)] == [1.0, 1.0, 5.0]
