"""A pot that could be saved, flown through the drawn days: its own middle, its own minutes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from events.table import changed
from solver.risk.rescue_draws import PotDraws, SunPot, flown
from solver.simulation.day import make_day
from solver.thermal.energy_balance import Load
from tests.solver.risk.test_rescues import EVENT, RING, on_sun, pots

PLAIN = next(p for p in pots().values() if p.cooker.is_oven)
DISH = changed(PLAIN.dish, shape="liquid", thickness_mm=0.0)
SMALL, LARGE = 1.0, 4.0


def drawn(pot: SunPot) -> PotDraws:
    (found,) = flown(make_day(EVENT), [pot], RING)
    return found


def of(*masses_kg: float, number: int = 0, **values: object) -> SunPot:
    """Return one of the pots of a load of these masses."""
    dish, count = changed(DISH, **values), len(masses_kg)
    vessel = PLAIN.load.pots[0]
    load = Load((dish,) * count, masses_kg, (vessel,) * count)
    return replace(PLAIN, dish=dish, load=load, number=number)


def test_a_pot_is_looked_at_and_done_by_itself_whichever_of_its_load_it_is() -> None:
    first, second = (
        drawn(of(*kg, number=n)) for kg, n in (((SMALL, LARGE), 0), ((LARGE, SMALL), 1))
    )
    larger = drawn(of(LARGE, SMALL))

    assert np.allclose(first.core_c, second.core_c)
    assert np.allclose(first.alone, second.alone)
    assert first.core_c.mean() > larger.core_c.mean() + 1.0
    assert first.alone.mean() >= larger.alone.mean()


def test_it_is_looked_at_in_its_middle() -> None:
    thick = drawn(of(SMALL, shape="slab", thickness_mm=80.0))

    assert thick.core_c[0].mean() < drawn(of(SMALL)).core_c[0].mean() - 3.0


def test_on_a_ring_it_has_until_it_must_be_ready_in_its_cooker_until_it_leaves_that() -> None:
    whole = of(SMALL)
    early = drawn(replace(whole, leaves=whole.start + 25, ready_by=whole.ready_by))

    assert early.minutes.tolist() == [whole.start + 10, whole.start + 20]
    assert early.alone.mean() < 0.1
    assert early.on_ring.mean() > 0.9


def test_a_pot_must_be_done_before_it_rests_and_is_looked_at_from_ten_minutes_on() -> None:
    name, dish_id = on_sun().id, on_sun().dish_id
    rests = tuple(
        changed(d, rest_min=d.rest_min + 20) if d.id == dish_id else d for d in EVENT.dishes
    )

    plain, longer = pots()[name], pots(changed(EVENT, dishes=rests))[name]

    assert plain.ready_by - longer.ready_by == 20
    (drawn,) = flown(make_day(EVENT), [plain], RING)
    assert drawn.minutes[:3].tolist() == [plain.start + m for m in (10, 20, 30)]
    assert drawn.minutes[-1] < min(plain.leaves, plain.ready_by)
