"""What a plan warns of: each thing once, the worst first, and only beyond its limit."""

from __future__ import annotations

import pytest

from events.table import changed
from service.text.notices import warning
from solver.plan import Placement, Plan
from solver.planning.warnings import WATER_LOST_MOST, warnings_of
from solver.risk.rescue import RescuePlan
from tests.conftest import sample_event, sample_plan

NO_RESCUE = RescuePlan((), ())


def _losing(plan: Plan, **fractions: float) -> list[Placement]:
    """Return the placements, each losing a fraction of its mass as steam."""
    return [
        changed(p, water_lost_kg=round(fractions.get(p.dish_id, 0.0) * p.mass_kg, 3))
        for p in plan.placements
    ]


def test_pots_that_boil_much_water_away_are_named_in_one_warning() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    over, under = WATER_LOST_MOST + 0.01, WATER_LOST_MOST - 0.01
    lost = _losing(plan, beetroot=over, rice=0.35, **{"bean-stew": under, "apple-cake": 0.5})

    (found,) = [w for w in warnings_of(event, lost, (), NO_RESCUE) if w.kind == "boils-away"]

    assert found.dish_ids == ("rice", "beetroot")  # a cake may dry; the stew is under the limit
    assert found.figures == {"water_kg": max(p.water_lost_kg for p in lost if p.dish_id == "rice")}
    assert warning(event, found) == (
        "Water boils away, up to 1.5 kg from one pot: Rice, Beetroot. "
        "Add water, or take it off sooner."
    )


def test_a_plan_whose_pots_keep_their_water_does_not_speak_of_it() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")

    kinds = {w.kind for w in warnings_of(event, _losing(plan), (), NO_RESCUE)}
    assert "boils-away" not in kinds


@pytest.mark.parametrize(("altitude_m", "warns"), [(1490.0, False), (1491.0, True), (2001.0, True)])
def test_where_water_boils_too_cool_beans_are_not_boiled_beforehand(
    altitude_m: float, warns: bool
) -> None:
    """Under 95 °C the boil is not relied on for kidney beans: 80 °C makes their lectin stronger
    (Bender & Reaidi 1982). At 2,001 m water boils at 93 °C (the barometric formula).
    """
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    high = changed(event, site=changed(event.site, altitude_m=altitude_m))
    assert {d.kidney_beans for d in event.dishes if d.id == "bean-stew"} == {"boiled"}

    found = [w for w in warnings_of(high, plan.placements, (), NO_RESCUE) if "beans" in w.kind]

    assert [w.dish_ids for w in found] == [("bean-stew",)] * warns
    if altitude_m == 2001.0:
        assert warning(high, found[0]) == (
            "Bean stew: water boils at 93 °C here, too cool to make dry kidney beans safe. "
            "Use tins, or beans that were boiled under pressure."
        )
