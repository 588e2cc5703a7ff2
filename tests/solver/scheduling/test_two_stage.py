"""Routes in two stages: retained heat, and the sun first and gas after."""

from __future__ import annotations

from datetime import time

import numpy as np

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.table import changed
from solver.planning.pipeline import make_plan
from solver.policy import SLOT_MIN
from solver.scheduling.enumeration import enumerate_candidates
from solver.simulation.day import loaded, make_day
from solver.simulation.holding import insulated_c
from solver.simulation.run import advance
from solver.simulation.transfer import transfer
from solver.thermal.energy_balance import Load


def with_hay_and_one_mirror() -> Event:
    text = sample_text("harvest-lunch")
    event = read_event(text)
    hay = changed(
        event.cookers[0],
        id="hay",
        name="Hay box",
        kind="insulated",
        aperture_m2=None,
        loss_w_k=0.5,
        body_kj_k=2.0,
        litres=20.0,
        pots_max=2,
        trained=False,
    )
    one_mirror = tuple(c for c in event.cookers if c.id in ("mirror-1", "gas-ring"))
    dishes = tuple(d for d in event.dishes if d.id in ("bean-stew", "rice", "beetroot"))
    return changed(event, cookers=(*one_mirror, hay), dishes=dishes)


def test_a_pot_at_the_boil_leaves_the_mirror_to_others_and_cooks_on_in_hay() -> None:
    # Common practice, no published source: fifteen minutes at the boil, then the insulated box.
    plan = make_plan(with_hay_and_one_mirror())

    early = [p for p in plan.placements if p.route == "sun+insulated" and p.lifted_at < p.done_at]
    assert early
    assert not plan.unplaced


def test_each_wave_leaves_the_hay_box_by_its_own_last_plate() -> None:
    event = with_hay_and_one_mirror()
    meals = tuple(changed(m, waves=3, end=time(14, 0)) for m in event.meals)

    found = enumerate_candidates(make_day(changed(event, meals=meals)))

    moved = [c for c in found.candidates if c.column.route == "sun+insulated"]
    assert len({c.load.serve for c in moved}) > 1
    for c in moved:
        assert c.column.then_occupies
        assert c.column.lift_slot < c.column.then_occupies[1] == c.load.serve_end // SLOT_MIN


def test_a_wave_is_moved_to_the_ring_in_time_for_itself() -> None:
    event = dull_day()
    meals = tuple(changed(m, waves=3, end=time(13, 30)) for m in event.meals)
    dishes = tuple(changed(d, portions=3 * d.portions, batches_max=3) for d in event.dishes)

    found = enumerate_candidates(make_day(changed(event, meals=meals, dishes=dishes)))

    moved = [c for c in found.candidates if c.column.route == "sun+burner"]
    assert len({c.load.serve for c in moved}) == 3, "the first wave's too: its own moment is chosen"


def test_a_pot_stays_on_the_ring_beyond_the_minute_it_is_expected_to_be_done() -> None:
    # A sun that did a little less than estimated must not leave it undone.
    found = enumerate_candidates(make_day(dull_day()))

    ends = [
        (max(c.load.done) // SLOT_MIN, c.column.then_occupies[1])
        for c in found.candidates
        if c.column.route == "sun+burner" and c.column.then_occupies
    ]
    assert ends
    assert all(off > done for done, off in ends)


def dull_day() -> Event:
    event = read_event(sample_text("harvest-lunch"))
    late = tuple(changed(h, cloud_pct=80.0) for h in event.weather.hours)
    return changed(
        event,
        gas_price_dishes_h=1.0,
        meals=tuple(changed(m, end=time(12, 45)) for m in event.meals if m.id == "lunch"),
        weather=changed(event.weather, hours=late),
        cookers=tuple(c for c in event.cookers if c.kind in ("parabolic", "burner")),
        dishes=tuple(d for d in event.dishes if d.id == "bean-stew"),
    )


def test_what_the_sun_begins_gas_finishes_with_less_gas_than_gas_alone() -> None:
    dull = dull_day()
    only_gas = changed(dull, cookers=tuple(c for c in dull.cookers if c.kind == "burner"))

    both, gas = make_plan(dull), make_plan(only_gas)

    used = {v.key: v.value for v in both.levels}["gas"]
    assert used < {v.key: v.value for v in gas.levels}["gas"]
    assert any(p.route == "sun+burner" for p in both.placements)


def test_a_small_portion_in_a_large_pot_cools_in_the_hay_box_as_the_replay_says() -> None:
    # A pot of one litre with a third of a litre in it has a litre pot's surface.
    event = with_hay_and_one_mirror()
    stew = changed(event.dishes[0], portions=1, portion_kg=0.35)
    pots = tuple(p for p in event.pots if p.litres >= 1.0)
    day = make_day(changed(event, dishes=(stew,), pots=pots))
    hay = day.event.cooker("hay")
    pot = min(pots, key=lambda p: p.litres)

    estimated_c = insulated_c(day, hay, stew, 0.35, pot, from_c=99.0, start=720, end=785)

    load = Load((stew,), (0.35,), (pot,))
    hot = loaded(day, hay, load, np.asarray([720.0]), body_c=np.asarray([99.0]))
    hot.pot_c[:], hot.core_c[:] = 99.0, 99.0
    some = np.zeros(1, dtype=np.int64)
    state = transfer(day, hot, load, hay, members=some, lifted=np.asarray([720.0]))
    advance(state, day.forcing, until=np.asarray([785.0]), boil_c=day.boil_c)
    assert estimated_c <= float(state.core_c[0, 0]) + 0.5


def test_only_batches_of_the_split_that_is_planned_are_moved_on() -> None:
    # Once a pot of a fourth of the dish was planned in the name of the whole of it.
    event = dull_day()
    held = changed(event.dishes[0], only_in=("mirror-1",))  # the ring alone is not asked for
    dull = changed(event.weather, hours=(changed(event.weather.hours[0], cloud_pct=88.0),))

    found = enumerate_candidates(make_day(changed(event, dishes=(held,), weather=dull)))

    planned = {
        b.id: b for cut in (found.splits, found.alternatives) for s in cut.values() for b in s
    }
    assert any(c.column.route == "sun+burner" for c in found.candidates)
    assert all(planned[b.id] == b for c in found.candidates for b in c.batches)
