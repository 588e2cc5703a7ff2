"""Looks made by hand, dealt out to rings; and which pots a ring could save."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import time, timedelta

import numpy as np
import pytest

from events.model import Cooker, Event
from events.table import changed
from solver.live.status import day_status
from solver.plan import Placement, Plan
from solver.policy import in_time_fraction
from solver.risk import rescue, rescue_draws
from solver.risk.rescue import Look, rescues
from solver.risk.rescue_draws import PotDraws, SunPot, flown, ring_slot_min, savable
from solver.simulation.day import DRAWS, make_day
from solver.simulation.durations import drawn_loads
from solver.simulation.query import DurationQuery
from solver.simulation.run import STEP_S, run
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

EVENT, NOON = sample_event("harvest-lunch"), 12 * 60
RING = next(c for c in EVENT.cookers if c.on_gas)
Looks = Sequence[Look]


def ring(name: str, **values: object) -> Cooker:
    return changed(RING, id=name, **({"pots_max": 1, "litres": 20.0} | values))


def look(name: str, minute: int = NOON, *, gain: float = 0.5, litres: float = 4.0) -> Look:
    """Return a look at a pot, which then needs a ring for 30 minutes."""
    pattern = sample_plan("harvest-lunch").placements[0]
    placement = changed(pattern, id=name, litres=litres)
    return Look(placement, minute, below_c=70, gain=gain, ring_min=25)


def dealt(
    monkeypatch: pytest.MonkeyPatch,
    pots: Sequence[Looks],
    *rings: Cooker,
    placements: tuple[Placement, ...] = (),
) -> tuple[dict[str, tuple[str | None, int]], tuple[str, ...], Cooker]:
    """Return ring and minute by pot, those without one, and the ring that the draws are for."""
    asked: list[Cooker] = []

    def flown(day: object, some: object, weakest: Cooker) -> Sequence[Looks]:
        asked.append(weakest)
        return pots

    def looks(some: Looks) -> Iterator[Look]:
        return iter(some)

    monkeypatch.setattr(rescue, "savable", lambda day, plan, rings: pots)
    monkeypatch.setattr(rescue, "flown", flown)
    monkeypatch.setattr(rescue, "_looks", looks)
    others = tuple(c for c in EVENT.cookers if not c.on_gas)
    day = make_day(changed(EVENT, cookers=(*others, *rings)))
    plan = changed(sample_plan("harvest-lunch"), placements=placements)
    told = rescues(day, plan)
    saved = {
        r.placement_id: (r.ring_id, round((r.at - day.sky.start_at) / timedelta(minutes=1)))
        for r in told.rescues
    }
    return saved, told.unsaved_ids, asked[0]


def test_what_gains_more_has_the_ring_and_of_two_that_gain_as_much_the_first_by_name(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    low, high = [look("a", gain=0.2)], [look("b", gain=0.9)]
    assert dealt(monkeypatch, [low, high], ring("r"))[:2] == ({"b": ("r", NOON)}, ("a",))
    assert dealt(monkeypatch, [high, low], ring("r"))[:2] == ({"b": ("r", NOON)}, ("a",))

    one, other = [look("x")], [look("y")]
    for pots in ([one, other], [other, one]):
        assert dealt(monkeypatch, pots, ring("r"))[:2] == ({"x": ("r", NOON)}, ("y",))


def test_a_pot_counts_by_its_best_look(monkeypatch: pytest.MonkeyPatch) -> None:
    mixed = [look("b", gain=0.1), look("b", gain=0.6)]
    steady = [look("a", gain=0.4), look("a", gain=0.3)]

    assert dealt(monkeypatch, [steady, mixed], ring("r"))[:2] == ({"b": ("r", NOON)}, ("a",))


def test_of_equal_looks_at_a_pot_the_latest_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    same = [look("a", NOON - 20), look("a", NOON), look("a", NOON - 10)]
    assert dealt(monkeypatch, [same], ring("r"))[0] == {"a": ("r", NOON)}
    better = [look("a", NOON - 20, gain=0.6), look("a", NOON)]
    assert dealt(monkeypatch, [better], ring("r"))[0] == {"a": ("r", NOON - 20)}


def test_a_ring_that_is_taken_at_the_best_moment_may_be_free_at_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    first = [look("a", gain=0.9)]
    other = [look("b", NOON, gain=0.8), look("b", NOON - 30, gain=0.1)]

    saved, unsaved, _ = dealt(monkeypatch, [first, other], ring("r"))

    assert saved == {"a": ("r", NOON), "b": ("r", NOON - 30)}
    assert unsaved == ()


def test_a_pot_goes_to_a_ring_that_holds_it(monkeypatch: pytest.MonkeyPatch) -> None:
    large = [look("a", litres=8.0)]
    small, wide = ring("small", litres=7.9), ring("wide", litres=8.0)

    assert dealt(monkeypatch, [large], small, wide)[0] == {"a": ("wide", NOON)}
    assert dealt(monkeypatch, [large], small)[:2] == ({}, ("a",))


def test_whichever_ring_a_pot_gets_will_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """The draws are for the ring that gives least: watts times what of them the pot wins."""
    strong = ring("strong", power_w=3000.0, optical_efficiency=0.5)
    weak = ring("weak", power_w=3500.0, optical_efficiency=0.4)

    for rings in ([strong, weak], [weak, strong]):
        assert dealt(monkeypatch, [[look("a")]], *rings)[2].id == "weak"


def test_what_the_plan_itself_cooks_on_a_ring_keeps_it(monkeypatch: pytest.MonkeyPatch) -> None:
    sun = sample_plan("harvest-lunch").placements[0]
    start_at = make_day(EVENT).sky.start_at

    def at_noon(shift_min: int, **values: object) -> Placement:
        on = start_at + timedelta(minutes=NOON + shift_min)
        times = {"loaded_at": on, "lifted_at": on + timedelta(minutes=10)}
        return changed(sun, **(times | values))

    def is_saved(*placements: Placement) -> bool:
        return bool(dealt(monkeypatch, [[look("a")]], ring("r"), placements=placements)[0])

    ends_at = start_at + timedelta(minutes=NOON + 10)
    assert not is_saved(at_noon(0, cooker_id="r"))
    assert not is_saved(at_noon(29, cooker_id="r"))
    assert is_saved(at_noon(30, cooker_id="r"))
    assert is_saved(at_noon(-10, cooker_id="r"))
    assert is_saved(at_noon(0))
    moved = {"then_cooker_id": "r", "lifted_at": ends_at}
    assert not is_saved(at_noon(0, **moved, off_at=ends_at + timedelta(minutes=5)))
    early = ends_at - timedelta(minutes=40)
    gone = {"then_cooker_id": "r", "lifted_at": early, "loaded_at": early - timedelta(minutes=60)}
    assert is_saved(at_noon(0, **gone, off_at=early + timedelta(minutes=30)))
    assert not is_saved(at_noon(0, **gone, off_at=None, served_at=ends_at))


def test_without_a_ring_or_a_pot_there_is_no_rescue(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = sample_plan("harvest-lunch")
    none = changed(EVENT, cookers=tuple(c for c in EVENT.cookers if not c.on_gas))
    told = rescues(make_day(none), plan)
    assert (told.rescues, told.unsaved_ids) == ((), ())
    told = rescues(make_day(EVENT), changed(plan, placements=()))
    assert (told.rescues, told.unsaved_ids) == ((), ())


def test_a_ring_that_is_out_of_action_saves_nothing() -> None:
    plan = sample_plan("harvest-lunch")
    entries = pressed(EVENT, ("out-of-action", "08:00", {"cooker_id": RING.id}))
    broken = day_status(EVENT, plan, entries, local(EVENT, "08:05")).day

    assert RING.id in {r.ring_id for r in rescues(make_day(EVENT), plan).rescues}
    assert RING.id not in {r.ring_id for r in rescues(broken, plan).rescues}


# --- when to look, and how warm it must be to stay


def draws(
    core_c: Sequence[float], alone: Sequence[float], on_ring: Sequence[float], ready_by: int = 800
) -> PotDraws:
    """Return a pot on drawn days, looked at once, at noon; a ring needs 20, 30 … minutes."""
    pot = replace(next(iter(pots().values())), ready_by=ready_by)
    return PotDraws(
        pot=pot,
        minutes=np.asarray([NOON]),
        core_c=np.asarray([core_c]),
        alone=np.asarray(alone),
        on_ring=np.asarray([on_ring]),
        ring_min=np.asarray([[20.0 + 10 * n for n in range(len(core_c))]]),
    )


def test_a_pot_is_moved_below_the_degree_at_which_moving_saves_most() -> None:
    """Of four days two are lost where it is, both colder: 0.9 of each is won, of four."""
    (found,) = rescue._looks(draws([60.4, 50.0, 70.0, 80.0], [0, 0, 1, 1], [1, 1, 1, 1]))

    assert (found.minute, found.below_c, found.gain) == (NOON, 61, pytest.approx(0.45))
    assert found.ring_min == 30
    (whole,) = rescue._looks(draws([60.0, 50.0, 70.0, 80.0], [0, 0, 1, 1], [1, 1, 1, 1]))
    assert whole.below_c == 61  # at sixty degrees sharp it is one of those below 61


def test_a_ring_is_kept_no_longer_than_until_the_pot_must_be_ready() -> None:
    """Five minutes to move it; nearly all moved pots are done by then."""
    late = draws([60.0, 50.0], [0, 0], [1, 1], ready_by=NOON + 32)
    assert [found.ring_min for found in rescue._looks(late)] == [27]
    soon = draws([60.0, 50.0], [0, 0], [1, 1], ready_by=NOON + 40)
    assert [found.ring_min for found in rescue._looks(soon)] == [30]


def test_what_saves_less_than_a_fiftieth_of_a_batch_is_not_looked_at() -> None:
    """Moving costs a tenth of a batch; of four days one gains 0.18, so 0.08 of four."""
    cores, sure = [50.0, 60.0, 70.0, 80.0], [1.0, 1.0, 1.0]

    (found,) = rescue._looks(draws(cores, [0.0, *sure], [0.1801, *sure]))
    assert found.gain == pytest.approx(0.02, abs=1e-4)
    assert list(rescue._looks(draws(cores, [0.0, *sure], [0.1799, *sure]))) == []


# --- which pots a ring could save


def pots(event: Event = EVENT, plan: Plan | None = None) -> dict[str, SunPot]:
    rings = [c for c in event.cookers if c.on_gas]
    day = make_day(event)
    return {p.placement.id: p for p in savable(day, plan or sample_plan("harvest-lunch"), rings)}


def on_sun() -> Placement:
    """Return a pot of the plan that a ring could save."""
    return next(p.placement for p in pots().values())


def of_pot(**values: object) -> Plan:
    plan, name = sample_plan("harvest-lunch"), on_sun().id
    rows = tuple(changed(p, **values) if p.id == name else p for p in plan.placements)
    return changed(plan, placements=rows)


def test_what_has_begun_is_left_to_the_day_itself() -> None:
    plan, name = sample_plan("harvest-lunch"), on_sun().id
    begun = changed(plan, started_ids=(name,), replanned_at=on_sun().loaded_at)

    assert set(pots(plan=begun)) == set(pots()) - {name}


def test_only_a_pot_on_the_sun_that_a_ring_takes_is_saved() -> None:
    pot, name = on_sun(), on_sun().id
    sun = {
        p.id for p in sample_plan("harvest-lunch").placements if EVENT.cooker(p.cooker_id).on_sun
    }
    assert set(pots()) <= sun

    assert name not in pots(plan=of_pot(cooker_id=RING.id))
    assert name not in pots(plan=of_pot(route="sun+burner"))
    assert name not in pots(plan=of_pot(litres=RING.litres + 0.1))
    assert name in pots(plan=of_pot(litres=RING.litres))

    def edited(table: str, row_id: str, **values: object) -> Event:
        rows = getattr(EVENT, table)
        return changed(
            EVENT, **{table: tuple(changed(r, **values) if r.id == row_id else r for r in rows)}
        )

    kinds = tuple(k for k in EVENT.dish(pot.dish_id).kinds if k != "burner")
    assert name not in pots(edited("dishes", pot.dish_id, kinds=kinds))
    fits = tuple(k for k in EVENT.pot(pot.pot_id).fits if k != "burner")
    assert name not in pots(edited("pots", pot.pot_id, fits=fits))


def test_a_pot_is_looked_at_only_while_a_look_is_of_use() -> None:
    """Ten minutes after it went in at the earliest, and before it leaves or has to be ready."""
    loaded = on_sun().loaded_at

    def in_for(lift_min: int, serve_min: int) -> SunPot | None:
        row = of_pot(
            lifted_at=loaded + timedelta(minutes=lift_min),
            served_at=loaded + timedelta(minutes=serve_min),
        )
        return pots(plan=row).get(on_sun().id)

    rest_min = EVENT.dish(on_sun().dish_id).rest_min
    assert in_for(11, 60 + rest_min) is not None
    assert in_for(10, 60 + rest_min) is None
    assert in_for(60, 11 + rest_min) is not None
    assert in_for(60, 10 + rest_min) is None
    pot = in_for(60, 80 + rest_min)
    assert pot is not None
    assert (pot.leaves - pot.start, pot.ready_by - pot.start) == (60, 80)


def test_a_pot_in_a_box_is_one_of_its_load() -> None:
    """Two pots that share a box stay the two of its load; each knows which it is."""
    pot, plan = on_sun(), sample_plan("harvest-lunch")
    other = next(p for p in plan.placements if p.id != pot.id)
    rows = [changed(other, fill=pot.fill), *(p for p in plan.placements if p.id != other.id)]

    found = pots(plan=changed(plan, placements=tuple(rows)))[pot.id]

    assert [d.id for d in found.load.dishes] == [other.dish_id, pot.dish_id]
    assert found.load.masses_kg == (other.mass_kg, pot.mass_kg)
    assert found.load.dishes[found.number].id == pot.dish_id
    assert found.alone.dishes == (found.dish,)
    assert replace(found, number=0).alone.dishes == (EVENT.dish(other.dish_id),)


def test_one_more_ring_would_win_what_has_none_and_nothing_where_all_have_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It is one like those that are there: it holds one pot."""
    some = [[look(name, gain=gain)] for name, gain in (("a", 0.2), ("b", 0.9), ("c", 0.1))]

    def won(*rings: Cooker, taken: tuple[Placement, ...] = ()) -> float:
        dealt(monkeypatch, some, *rings)
        day, plan = make_day(changed(EVENT, cookers=rings)), sample_plan("harvest-lunch")
        return rescues(day, changed(plan, placements=taken)).one_more_dishes

    first, noon = sample_plan("harvest-lunch").placements[0], EVENT.instant(time(12))
    taken = changed(first, cooker_id="r", loaded_at=noon, lifted_at=noon + timedelta(minutes=30))
    assert won(ring("r"), taken=(taken,)) == pytest.approx(0.9)

    assert won(ring("r")) == pytest.approx(0.2)
    assert won(ring("r"), ring("s")) == pytest.approx(0.1)
    assert won(ring("r"), ring("s"), ring("t")) == 0


def test_one_ring_that_holds_a_pot_is_enough() -> None:
    small = ring("small", litres=on_sun().litres - 0.1)
    found = savable(make_day(EVENT), sample_plan("harvest-lunch"), [small, RING])

    assert on_sun().id in {p.placement.id for p in found}


# --- what comes of a pot on the drawn days


def drawn(*some: SunPot) -> list[PotDraws]:
    return flown(make_day(EVENT), some, RING)


def test_a_pot_comes_out_the_same_whichever_others_are_looked_at() -> None:
    one, other = [p for p in pots().values() if len(p.load.pots) == 1][:2]

    together = drawn(one, other)

    for pot, apart in zip(together, (*drawn(one), *drawn(other)), strict=True):
        assert pot.core_c == pytest.approx(apart.core_c)
        assert pot.alone == pytest.approx(apart.alone)
        assert pot.on_ring == pytest.approx(apart.on_ring)
    assert together[0].core_c[-1] != pytest.approx(together[1].core_c[-1])


def test_on_a_ring_it_is_ready_when_it_was_carried_there_and_then_cooked() -> None:
    (found,) = drawn(next(iter(pots().values())))
    ready = found.minutes[:, None] + 5 + found.ring_min

    expected = in_time_fraction(found.pot.ready_by - ready, found.ring_min)
    assert found.on_ring == pytest.approx(expected)
    assert 0 < found.on_ring.mean() < 1


def test_left_alone_it_is_ready_before_it_leaves_hands_seven_minutes_late() -> None:
    day, pot = make_day(EVENT), next(p for p in pots().values() if len(p.load.pots) == 1)
    query = DurationQuery(pot.cooker, pot.load, np.asarray([pot.start]), NOON + 240)
    until = np.full(DRAWS, float(NOON + 240))
    took_min = run(
        drawn_loads(day, [query]), day.members, until=until, boil_c=day.boil_c, dt_s=STEP_S
    ).done_min[0]
    usual_min = int(np.median(took_min))

    for spare_min in (-20, 0, 20):
        leaves = pot.start + usual_min + spare_min
        for one in (
            replace(pot, leaves=leaves, ready_by=leaves + 10),
            replace(pot, leaves=leaves + 10, ready_by=leaves),
        ):
            expected = in_time_fraction(spare_min + usual_min - 7 - took_min, took_min)
            (found,) = flown(day, [one], RING)
            assert found.alone == pytest.approx(expected, abs=0.002), spare_min


def test_a_probe_is_off_by_three_degrees() -> None:
    error_c = rescue_draws._probe_error_c((4, 2000))

    assert error_c.std() == pytest.approx(3.0, abs=0.05)
    assert error_c.mean() == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize(
    ("ring_min", "kept_min"),
    [
        ((), 5),
        ((2.0,), 5),
        ((12.0,), 15),
        ((10.0,) * 19 + (60.0,), 10),
        ((10.0,) * 7 + (60.0,) * 3, 60),
    ],
)
def test_a_ring_is_kept_until_nine_of_ten_are_done(
    ring_min: tuple[float, ...], kept_min: int
) -> None:
    assert ring_slot_min(np.asarray(ring_min)) == kept_min
