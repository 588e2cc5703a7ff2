"""A cooker on paper: what is built better does better, and what can't be is said."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.feasibility.builder import Built, Filled, Spread, built
from solver.thermal.design import Design, box_loss_w_k, cooker_of, widest_pot_litres
from solver.thermal.heat_flow import Surroundings

SUN = Surroundings(beam_w_m2=720, diffuse_w_m2=130, air_c=25, wind_m_s=1, boil_c=100)
BOX = Design(kind="box", size_cm=50)
MIRROR = Design(kind="parabolic", size_cm=140)
PANEL = Design(kind="panel", size_cm=70, panes=1)


def do(design: Design, **filled: object) -> Built:
    return built(design, Filled.model_validate(filled), SUN)


def expected(spread: Spread | None) -> float:
    assert spread is not None
    assert spread.expected is not None
    return spread.expected


@pytest.mark.parametrize("design", [BOX, MIRROR, PANEL])
def test_larger_or_shinier_brings_more_watts_and_a_shiny_pot_fewer(design: Design) -> None:
    found = do(design)
    more = {c.key: c.figures for c in found.changes}

    now = expected(found.at_50_w)
    assert more["size"].at_50_w > now
    assert more["shine"].at_50_w > now
    assert expected(do(design, colour="shiny").at_50_w) < now
    assert (more["size"].litre_min or 999) < expected(found.litre_min)


def test_a_thicker_wall_a_flap_and_a_second_pane_help_a_box() -> None:
    one = do(BOX.model_copy(update={"panes": 1}))
    more = {c.key: c.figures for c in one.changes}

    for key in ("pane", "insulation", "flap"):
        assert more[key].at_50_w > expected(one.at_50_w), key
        assert (more[key].empty_c or 0) > expected(one.empty_c), key


def test_a_cover_over_a_panels_pot_helps() -> None:
    bare = do(PANEL.model_copy(update={"panes": 0}))

    covered = next(c.figures for c in bare.changes if c.key == "cover")

    assert covered.at_50_w > expected(bare.at_50_w)


def test_what_is_at_its_most_already_is_not_offered() -> None:
    most = Design(kind="box", size_cm=200, shine_fraction=0.95, panes=3, flaps=4, insulation_mm=150)

    assert do(most).changes == ()
    assert "shine" not in {c.key for c in do(BOX.model_copy(update={"flaps": 0})).changes}


def test_a_mirror_is_never_tried_empty() -> None:
    found = do(MIRROR)

    assert found.empty_c is None
    assert all(c.figures.empty_c is None for c in found.changes)


def test_the_flows_are_those_of_the_figure_and_add_up() -> None:
    for design in (BOX, MIRROR, PANEL):
        found = do(design)
        f = found.flows
        assert f.food_w == expected(found.at_50_w)
        gone = f.lost_w + f.steam_w + f.food_w + f.stored_w
        assert gone == pytest.approx(f.gathered_w, abs=0.01)


@settings(max_examples=25)
@given(
    kind=st.sampled_from(["parabolic", "box", "panel"]),
    size_cm=st.floats(20, 200),
    shine=st.floats(0.4, 0.95),
    panes=st.integers(0, 3),
    flaps=st.integers(0, 4),
    insulation=st.floats(0, 150),
    litres=st.floats(0.5, 4),
)
def test_any_design_has_figures_with_what_is_expected_in_its_band(
    kind: str,
    size_cm: float,
    shine: float,
    panes: int,
    flaps: int,
    insulation: float,
    litres: float,
) -> None:
    design = Design.model_validate(
        {
            "kind": kind,
            "size_cm": size_cm,
            "shine_fraction": shine,
            "panes": panes,
            "flaps": flaps,
            "insulation_mm": insulation,
        }
    )

    found = do(design, pot_litres=4, litres=litres)

    for spread in (found.at_50_w, found.empty_c):
        if spread is not None:
            assert spread.low is not None
            assert spread.high is not None
            assert spread.low <= expected(spread) <= spread.high
    for spread in (found.litre_min, found.fill_min):
        never = float("inf")
        low, mid, high = (
            never if v is None else v for v in (spread.low, spread.expected, spread.high)
        )
        assert low <= mid <= high


def test_what_it_cooks_is_by_heat_and_kind() -> None:
    box = {d.name: d for d in do(BOX).dishes}
    mirror = {d.name: d for d in do(MIRROR).dishes}
    hot = BOX.model_copy(update={"size_cm": 60, "flaps": 4, "insulation_mm": 100})

    assert box["Pizza"].sure == "no"
    assert box["Rice"].sure == "yes"
    assert "Apple cake" not in mirror
    assert "Apple cake" not in {d.name for d in do(PANEL).dishes}
    assert {d.name: d.sure for d in do(hot).dishes}["Apple cake"] == "yes"
    rice, of_box = mirror["Rice"].minutes, box["Rice"].minutes
    assert rice is not None
    assert of_box is not None
    assert rice < of_box


def test_food_that_is_too_long_neither_hot_nor_cold_is_not_called_cooked() -> None:
    weak = Design(kind="box", size_cm=40, panes=1, flaps=0, insulation_mm=20)

    for dish in do(weak, pot_litres=6, litres=6).dishes:
        assert dish.sure != "yes" or dish.minutes is not None
        if dish.name == "Chicken stew":
            assert dish.sure == "no"


def test_a_boxs_losses_rise_with_its_heat_and_fall_with_wool() -> None:
    bare = BOX.model_copy(update={"insulation_mm": 0})

    def loss(design: Design, at_c: float) -> float:
        return float(box_loss_w_k(design, np.full(1, at_c), air_c=25.0, wind_m_s=1.0)[0])

    assert loss(BOX, 150.0) > loss(BOX, 60.0)
    assert loss(BOX, 100.0) < 0.6 * loss(bare, 100.0)
    assert cooker_of(BOX, air_c=25.0, wind_m_s=1.0).loss_w_k == pytest.approx(
        loss(BOX, 100.0), rel=1e-4
    )


def test_a_small_box_takes_a_small_pot() -> None:
    assert widest_pot_litres(Design(kind="box", size_cm=20)) < 4
    assert widest_pot_litres(BOX) > 6
