"""The watts of a cooker add up whatever stands in it, and go where its kind lets them go."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from events.reading.catalogue import entries
from solver.thermal.energy_balance import SIMMER_W, Load
from solver.thermal.heat_flow import Flows, Surroundings, flows, steady_body_c
from solver.thermal.measurement import black_pot, water
from tests.published.runs import cooker_like, dish_like, empty_c, steel_pot

NOON = Surroundings(beam_w_m2=800, diffuse_w_m2=120, air_c=25, wind_m_s=1, boil_c=98.0)
KINDS = ("mirror-140cm", "box-plain", "box-hot", "panel-folded", "hay-box", "gas-ring")
WATER = Load((water(3.0, 20.0),), (3.0,), (black_pot(3.0),))


def gone(flow: Flows) -> float:
    return flow.lost_w + flow.steam_w + flow.food_w + flow.stored_w


@given(
    name=st.sampled_from(sorted(entries("cooker"))),
    food_c=st.floats(5, 97.5),
    body_k=st.floats(-20, 60),
    beam=st.floats(0, 1000),
    wind=st.floats(0, 8),
    high=st.none() | st.floats(5, 90),
)
def test_what_is_gathered_is_lost_steamed_stored_or_in_the_food(
    name: str, food_c: float, body_k: float, beam: float, wind: float, high: float | None
) -> None:
    cooker = cooker_like(name)
    around = replace(NOON, beam_w_m2=beam, wind_m_s=wind, elevation_deg=high)
    body_c = max(food_c + body_k, around.air_c) if cooker.nature.has_body else around.air_c

    flow = flows(cooker, WATER, food_c=[food_c], body_c=body_c, around=around)

    assert gone(flow) == pytest.approx(flow.gathered_w, abs=0.01)
    assert flow.gathered_w <= flow.arrives_w + 1e-9


@pytest.mark.parametrize("name", [n for n in KINDS if n != "hay-box"])
def test_at_the_boil_nothing_warms_and_what_is_left_goes_off_as_steam(name: str) -> None:
    cooker = cooker_like(name)
    body_c = steady_body_c(cooker, WATER, food_c=[98.0], around=NOON)

    flow = flows(cooker, WATER, food_c=[98.0], body_c=body_c, around=NOON)

    assert flow.steam_w > 0
    assert flow.food_w == pytest.approx(0, abs=0.01)
    assert gone(flow) == pytest.approx(flow.gathered_w, abs=0.01)


def test_a_flame_is_turned_down_at_the_boil() -> None:
    ring = cooker_like("gas-ring")

    warming = flows(ring, WATER, food_c=[60.0], body_c=25.0, around=NOON)
    boiling = flows(ring, WATER, food_c=[98.0], body_c=25.0, around=NOON)

    assert warming.gathered_w == pytest.approx(0.45 * 2500)
    assert SIMMER_W < boiling.steam_w < SIMMER_W + 50  # and what the lid lets out
    assert boiling.gathered_w < warming.gathered_w / 2


def test_a_full_box_of_two_pots_adds_up_and_its_steady_body_takes_nothing() -> None:
    box = cooker_like("box-hot")
    load = Load(
        (water(2.0, 20.0), dish_like("apple-cake")),
        (2.0, 0.8),
        (black_pot(2.0), steel_pot(2.5, colour="shiny")),
    )
    body_c = steady_body_c(box, load, food_c=[60.0, 70.0], around=NOON)

    flow = flows(box, load, food_c=[60.0, 70.0], body_c=body_c, around=NOON)

    assert gone(flow) == pytest.approx(flow.gathered_w, abs=0.01)
    assert flow.stored_w == pytest.approx(0, abs=0.2)
    assert flow.food_w > 0


def test_a_body_around_almost_nothing_comes_to_its_empty_heat() -> None:
    box = cooker_like("box-better")
    around = replace(NOON, beam_w_m2=0.85 * 850, diffuse_w_m2=0.15 * 850, boil_c=120.0)
    tiny = Load((water(0.01, 20.0),), (0.01,), (steel_pot(0.05),))

    body_c = steady_body_c(box, tiny, food_c=[119.0], around=around)

    # A quarter of its light falls on pots; an empty box has all of it on its plate.
    rise = (empty_c(box) - 25) * (1 - box.sun_on_pots_fraction) * 0.9  # fogged by the hot pot
    assert body_c - 25 == pytest.approx(rise, rel=0.05)


def test_suns_shine_on_a_mirrors_pot_and_a_shiny_pot_stands_under_as_many() -> None:
    mirror = cooker_like("mirror-140cm")
    dull, shiny = (
        flows(
            mirror,
            Load((water(3.0, 20.0),), (3.0,), (steel_pot(4.0, colour=colour),)),
            food_c=[40.0],
            body_c=25.0,
            around=NOON,
        )
        for colour in ("black", "shiny")
    )

    assert dull.suns_on_pot == pytest.approx(shiny.suns_on_pot)
    assert 5 < dull.suns_on_pot < 40
    assert shiny.gathered_w < dull.gathered_w / 2
    box = flows(cooker_like("box-hot"), WATER, food_c=[40.0], body_c=60.0, around=NOON)
    assert box.suns_on_pot == 0


def test_a_hay_box_gathers_nothing_and_its_pot_cools() -> None:
    flow = flows(cooker_like("hay-box"), WATER, food_c=[95.0], body_c=60.0, around=NOON)

    assert flow.arrives_w == flow.gathered_w == 0
    assert flow.food_w < 0
    assert flow.lost_w > 0
