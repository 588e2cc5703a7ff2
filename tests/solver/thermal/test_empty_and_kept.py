"""An empty oven that warms and a pot that keeps its heat, both by hand or by small steps."""

from __future__ import annotations

import numpy as np
import pytest

from events.table import changed
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Forcing
from solver.thermal.pots import pot_area_m2
from tests.solver.checking.hand_laid import EVENT

MIRROR, HAY = EVENT.cooker("mirror"), EVENT.cooker("hay")
OVEN = changed(EVENT.cooker("box"), body_kj_k=20.0, wind_factor_s_m=0.0)
AIR_C = np.asarray([20.0, 22.0, 24.0, 26.0, 28.0])
SKY = Forcing(np.asarray([[0.0, 600.0, 300.0, 0.0, 0.0], [100.0] * 5]), AIR_C, np.zeros(AIR_C.size))


def by_hand(minutes: list[int], from_c: float, row: int = 0) -> float:
    """Return the oven after some minutes: (C/60 + UA) T' = C/60 T + Q + UA T_air."""
    hold, ua = 20_000 / 60, OVEN.loss_w_k or 0.0
    for at in minutes:
        from_c = (hold * from_c + SKY.watts[row, at] + ua * AIR_C[at]) / (hold + ua)
    return from_c


@pytest.mark.parametrize(
    ("ends", "for_min", "minutes"),
    [
        (3, 2, [1, 2]),
        (3, 3, [0, 1, 2]),
        (1, 3, [0, 1, 2]),  # a day has no minute before its first
        (5, 2, [3, 4]),
        (6, 2, [4, 4]),  # nor after its last
        (2, 0, []),
    ],
)
def test_an_empty_oven_warms_over_the_minutes_before_it_is_loaded(
    ends: int, for_min: int, minutes: list[int]
) -> None:
    begins = max(ends - for_min, 0)

    (body_c,) = heat.preheated_c(OVEN, SKY, 0, minutes=np.asarray([ends]), for_min=for_min)

    assert body_c == pytest.approx(by_hand(minutes, AIR_C[begins]))


def test_each_start_is_preheated_by_its_own_row() -> None:
    rows, ends = np.asarray([0, 1, 0]), np.asarray([2, 2, 4])

    found = heat.preheated_c(OVEN, SKY, rows, minutes=ends, for_min=2)

    assert found == pytest.approx(
        [by_hand([0, 1], 20.0), by_hand([0, 1], 20.0, row=1), by_hand([2, 3], 24.0)]
    )


def test_what_has_no_body_is_as_warm_as_the_air() -> None:
    found = heat.preheated_c(MIRROR, SKY, 0, minutes=np.asarray([3]), for_min=2)

    assert found.tolist() == [22.0]


@pytest.mark.parametrize("minutes", [1.0, 20.0, 240.0])
@pytest.mark.parametrize("values", [{"loss_w_k": 0.2}, {"loss_w_k": 2.0, "body_kj_k": 15.0}])
def test_a_pot_in_a_packing_falls_as_two_lumps_do(minutes: float, values: dict[str, float]) -> None:
    """Pot and packing in steps of a tenth of a second."""
    hay = changed(HAY, **({"body_kj_k": 4.0} | values))
    pot_j_k, pot_c, body_c, air_c = 12_000.0, 95.0, 15.0, 15.0
    link = hay.coupling_w_m2_k * pot_area_m2(4.0)
    for _ in range(int(minutes * 600)):
        flow, lost = link * (pot_c - body_c), (hay.loss_w_k or 0.0) * (body_c - air_c)
        pot_c -= 0.1 * flow / pot_j_k
        body_c += 0.1 * (flow - lost) / (hay.body_kj_k * 1000)

    kept_c = heat.insulated_c(
        hay, pot_litres=4.0, heat_j_k=pot_j_k, from_c=95.0, air_c=air_c, minutes=minutes
    )

    assert kept_c == pytest.approx(pot_c, abs=0.02)
