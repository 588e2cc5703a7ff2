"""A pot that is moved on, by hand: from the sun before it is done, or in the middle of the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.model import Cooker
from events.table import changed
from solver.scheduling import in_progress, two_stage
from solver.scheduling.columns import Candidate
from solver.scheduling.two_stage import TwoStageLoad
from solver.simulation.day import DRAWS, Day
from solver.simulation.day_state import LoadInProgress
from solver.simulation.transfer import Finish
from solver.thermal import energy_balance as heat
from tests.solver.checking.hand_laid import PLACEMENTS
from tests.solver.scheduling.test_columns import BOX, HAY, MIRROR, RING, clock, in_cooker
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import EVENT, NOON, START, day, estimate, load, stew

Ends = dict[int, tuple[float, float]]  # by minute of the move: done, and coldest from then on


def best(second: Cooker, usual: Ends, poor: dict[int, float], rest_min: int = 0) -> list[object]:
    """Return (move, off, cautious minutes) of the best move; served at noon."""
    ends = [(lift, done, cold) for lift, (done, cold) in usual.items()]
    ends += [(lift, done, 80.0) for lift, done in poor.items()]
    lift, done, coldest_c = (np.asarray(a, dtype=float) for a in zip(*ends, strict=True))
    member = np.asarray([0] * len(usual) + [1] * len(poor))
    moves = two_stage._Moves(member, lift, Finish(done, np.full(done.size, 33.0), coldest_c))
    dish = changed(stew(), rest_min=rest_min)
    choice = two_stage._Choice(moves, 0, NOON)
    index = np.zeros(1, dtype=np.int64)
    found = [*two_stage._best_moves(day(), estimate(dish), index, second, choice)]
    assert all((m.clock_min, m.usual_min) == (33.0, usual[m.lift][0] - START) for m in found)
    return [(m.lift, m.off, m.cautious_min) for m in found]


@pytest.mark.parametrize(
    ("usual", "poor", "rest_min", "move"),
    [
        ({570: (650, 80), 600: (640, 80)}, {570: 700, 600: 690}, 0, (570, NOON, 165)),
        # On a poor day the first is late: the next is surer.
        ({570: (650, 80), 600: (640, 80)}, {570: 721, 600: 690}, 0, (600, NOON, 155)),
        ({570: (650, 80), 600: (640, 80)}, {570: 721, 600: 721}, 0, (570, NOON, 186)),
        ({570: (650, 80), 600: (640, 80)}, {}, 0, (570, NOON, np.inf)),
        ({570: (650, 64.9), 600: (640, 65)}, {570: 700, 600: 690}, 0, (600, NOON, 155)),
        ({570: (705, 80)}, {570: 705}, 15, (570, NOON, 170)),
        ({570: (706, 80)}, {570: 706}, 15, None),
        ({570: (650, 64.9)}, {570: 650}, 0, None),
    ],
)
def test_a_pot_goes_to_the_hay_box_as_soon_as_it_is_surely_done_and_hot_there(
    usual: Ends, poor: dict[int, float], rest_min: int, move: tuple[int, int, float] | None
) -> None:
    assert best(HAY, usual, poor, rest_min) == ([move] if move else [])


@pytest.mark.parametrize(
    ("usual", "poor", "rest_min", "move"),
    [
        # As late as a quarter of an hour before noon on a poor day.
        ({570: (650, 9), 600: (645, 9), 630: (640, 9)}, {570: 660, 600: 705, 630: 706}, 0, 600),
        ({570: (650, 9), 600: (645, 9)}, {570: 706, 600: 715}, 0, 600),
        ({570: (650, 9), 600: (645, 9)}, {570: 715, 600: 716}, 0, 570),
        ({570: (650, 9), 600: (715, 9)}, {}, 0, 600),  # five minutes longer than it needs
        ({570: (650, 9), 600: (716, 9)}, {}, 0, 570),
        ({570: (650, 9), 600: (701, 9)}, {}, 15, 570),
        ({570: (575, 9)}, {570: 575}, 0, None),  # the sun had done it
    ],
)
def test_a_pot_goes_to_the_ring_as_late_as_it_is_surely_done_there(
    usual: Ends, poor: dict[int, float], rest_min: int, move: int | None
) -> None:
    found = best(RING, usual, poor, rest_min)

    assert [m[0] for m in found] == ([] if move is None else [move])  # type: ignore[index]


def test_a_pot_stands_on_the_ring_five_minutes_longer_than_it_needs_and_ten_at_least() -> None:
    assert best(RING, {600: (642, 9)}, {600: 642})[0][1] == 650  # type: ignore[index]
    assert best(RING, {600: (605.1, 9)}, {600: 606})[0][1] == 615  # type: ignore[index]


def test_a_poor_sun_is_as_weak_as_makes_its_cautious_minutes() -> None:
    one = estimate(stew(), done_min=(60.0,))

    def strength(slow_min: float) -> float:
        some = replace(one, cautious_min=np.asarray([[slow_min]]))
        return float(two_stage._poor_strength(some, np.zeros(1, dtype=np.int64))[0])

    assert [strength(m) for m in (60.0, 80.0, 120.0, np.inf)] == [1.0, 0.75, 0.6, 0.6]


@pytest.mark.parametrize(
    ("cooker", "dishes", "moves"),
    [
        (MIRROR, (stew(),), True),
        (RING, (stew(),), False),
        (BOX, (stew(), stew()), False),
        (BOX, (stew(needs_body_c=150.0),), False),
        (BOX, (stew(done="melt", core_c=60.0),), False),
    ],
)
def test_only_a_lone_pot_on_the_sun_is_moved_on(
    cooker: Cooker, dishes: tuple[object, ...], moves: bool
) -> None:
    one = in_cooker(cooker, *dishes, done_min=(60.0,) * len(dishes))  # type: ignore[arg-type]

    assert two_stage._may_move(one.durations) == moves


@pytest.mark.parametrize(
    ("second", "pot", "kinds", "unsure", "fits"),
    [
        (HAY, {}, ("parabolic",), False, True),
        (RING, {}, ("parabolic", "burner"), True, True),
        (RING, {}, ("parabolic", "burner"), False, False),  # the sun does it: no gas
        (RING, {}, ("parabolic",), True, False),
        (RING, {"fits": ("parabolic",)}, ("parabolic", "burner"), True, False),
        (changed(RING, litres=2.9), {}, ("parabolic", "burner"), True, False),
        (changed(RING, litres=3.0), {}, ("parabolic", "burner"), True, True),
    ],
)
def test_a_second_cooker_takes_the_pot_and_suits_the_dish(
    second: Cooker, pot: dict[str, object], kinds: tuple[str, ...], unsure: bool, fits: bool
) -> None:
    dish = stew(kinds=kinds)
    one = in_cooker(MIRROR, dish, pots=(changed(EVENT.pot("small"), **pot),))

    assert two_stage._fits(one.durations, second, frozenset({dish.id} if unsure else ())) == fits


def on_drawn_days(second: Cooker, **values: object) -> TwoStageLoad:
    """Return a load that takes 61 to 80 minutes on its drawn days, the last two of them cold."""
    one = in_cooker(MIRROR, changed(stew(), **values))
    moved = TwoStageLoad(
        NOON, one.durations, one.durations, second, np.asarray([570]), np.asarray([600]), np.ones(1)
    )
    done_at = START + np.arange(61.0, 81.0)[:, None]
    cold_c = np.asarray([63.0] * 18 + [62.9] * 2)[:, None]
    return two_stage._with_draws(day(), moved, done_at, cold_c)


def test_over_drawn_days_cautious_is_the_sixteenth_of_twenty_and_late_hands() -> None:
    assert DRAWS == 20
    assert EVENT.chance_pct == 80
    moved = on_drawn_days(HAY)

    assert moved.durations.cautious_min.tolist() == [[76.0 + 5.0]]
    assert moved.durations.draws_min is not None
    assert np.isinf(moved.durations.draws_min).sum() == 2  # what goes cold is never done
    assert moved.off.tolist() == [600]


def test_a_ring_keeps_its_pot_until_nine_of_ten_days_have_it_done_or_it_is_served() -> None:
    moved = on_drawn_days(RING)

    assert moved.durations.draws_min is not None
    assert np.isfinite(moved.durations.draws_min).all()  # a flame keeps it hot
    assert moved.off.tolist() == [620]  # 540 + 78, on the grain
    assert on_drawn_days(RING, rest_min=110).off.tolist() == [610]
    assert on_drawn_days(changed(RING, closes=time(10, 15))).off.tolist() == [615]


# --- in the middle of the day


def begun(cooker: Cooker = MIRROR, core_c: float = 70.0, **values: object) -> LoadInProgress:
    """Return a stew in its cooker since nine, at half past nine as warm as given."""
    more = {k: values.pop(k) for k in ("done_min", "core") if k in values}
    dish = stew(done="core", core_c=75.0, **values)
    one = load(dish, core_c=more.get("core", 95.0), done_min=more.get("done_min", (60.0,)))
    query = replace(one.durations.query, cooker=cooker)
    state = heat.ensemble(
        cooker,
        query.load,
        minutes=np.full(3, START + 30.0),
        row=np.zeros(3, dtype=np.int64),
        body_c=np.full(3, core_c),
        strength=np.ones(3),
        boil_c=100.0,
    )
    state.pot_c[:], state.core_c[:] = core_c, core_c
    durations = replace(one.durations, query=query)
    placed = changed(PLACEMENTS[1], cooker_id=cooker.id, dish_id=dish.id)
    return LoadInProgress((placed,), "cooking", durations, state, (0.0,), ((),))


def ways(some: LoadInProgress, **replan: object) -> list[str]:
    again = _again(some, **replan)
    batches = load(some.durations.query.load.dishes[0]).batches
    return [_said(c) for c in in_progress._goes_on(again, some, batches)]


def _again(some: LoadInProgress, **values: object) -> Day:
    same = {c.id: c.id for c in EVENT.cookers}
    return replanned(EVENT, START + 30, in_progress=(some,), representatives=same, **values)


def _said(c: Candidate) -> str:
    o = c.column
    return f"{o.then_cooker_id or 'stays'} {clock(o.lift_slot * 5)} {clock(o.serve_slot * 5)}"


def test_a_load_goes_on_where_it_is_or_to_a_ring_or_a_hay_box() -> None:
    found = ways(begun())

    assert found[0] == "stays 12:00 12:00"
    assert {w.split()[0] for w in found} == {"stays", "hay", "ring"}
    assert "ring 9:35 12:00" in found


@pytest.mark.parametrize(
    ("values", "replan"),
    [
        ({"kinds": ("parabolic",)}, {}),
        ({"needs_body_c": 150.0}, {}),
        ({}, {"unavailable": frozenset({"ring"})}),
    ],
)
def test_no_pot_goes_to_a_ring_that_is_broken_or_not_for_it(
    values: dict[str, object], replan: dict[str, object]
) -> None:
    assert not [w for w in ways(begun(**values), **replan) if w.startswith("ring")]


def test_a_pot_that_does_not_stand_on_a_ring_stays_where_it_is() -> None:
    some = begun()
    query = some.durations.query
    pots = (changed(EVENT.pot("small"), fits=("parabolic", "insulated")),)
    query = replace(query, load=replace(query.load, pots=pots))
    odd = replace(some, durations=replace(some.durations, query=query))

    assert not [w for w in ways(odd) if w.startswith("ring")]


@pytest.mark.parametrize(("done_min", "waits"), [(300.0, True), (301.0, False)])
def test_a_pot_is_waited_for_two_hours_beyond_its_meal_and_no_longer(
    done_min: float, waits: bool
) -> None:
    late = begun(done_min=(done_min,))

    stays = [w for w in ways(late) if w.startswith("stays")]

    assert bool(stays) == waits
    assert all(w.endswith("14:00") for w in stays)


def test_what_would_go_cold_does_not_leave_its_cooker_early() -> None:
    assert [w for w in ways(begun(core=64.0)) if not w.startswith("ring")] == ["stays 12:00 12:00"]


@pytest.mark.parametrize(("done_min", "leaves"), [((700.0, 650.0), 700), ((np.inf,) * 2, 0)])
def test_on_a_ring_it_stays_until_it_is_done_on_a_poor_day_too(
    monkeypatch: pytest.MonkeyPatch, done_min: tuple[float, ...], leaves: int
) -> None:
    """Expected at ten to eleven, on a poor day at twenty to twelve."""

    def finish(*given: object, until: np.ndarray, **more: object) -> Finish:
        return Finish(np.resize(done_min, until.size), np.zeros(until.size), np.zeros(until.size))

    monkeypatch.setattr(in_progress, "finish", finish)
    some = begun()
    batches = load(some.durations.query.load.dishes[0], serve_end=NOON + 5).batches

    found = [*in_progress._to_ring(_again(some), some, batches[0], RING)]

    offs = {c.column.then_occupies[1] * 5 for c in found if c.column.then_occupies}
    assert offs == ({leaves} if leaves else set())


def test_a_pot_that_goes_to_a_ring_keeps_the_minutes_it_was_warm_before() -> None:
    some = begun()
    older = replace(some, placements=tuple(changed(p, spent_min=60) for p in some.placements))
    batches = load(some.durations.query.load.dishes[0], serve_end=NOON + 5).batches

    def warm_min(of: LoadInProgress) -> list[float]:
        found = in_progress._to_ring(_again(of), of, batches[0], RING)
        return [float(c.load.durations.clock_min[0, 0]) for c in found]

    assert warm_min(older) == [pytest.approx(m + 60) for m in warm_min(some)] != []


def test_what_was_eaten_is_not_cut_again_and_what_is_warm_goes_in_as_warm_as_it_is() -> None:
    again = replanned(EVENT, START, finished_ids=frozenset({"stew-1"}), warm_c={"stew-2": 50.0})
    assert again.replan is not None

    cut = in_progress._as_cut(again, again.replan, EVENT.dish("stew"), PLACEMENTS[:2])

    assert [b.id for b in cut.batches] == ["stew-2"]
    assert [(b.dish.start_c, b.dish.load_min) for b in cut.batches] == [(50.0, 5)]
    assert cut.waiting == ((cut.batches[0],),)


@pytest.mark.parametrize(("second", "grain_min"), [(HAY, 15), (RING, 30)])
def test_pots_are_moved_on_a_grain_and_to_the_hay_box_near_the_boil(
    monkeypatch: pytest.MonkeyPatch, second: Cooker, grain_min: int
) -> None:
    """Within four degrees of the boil, on a quarter of an hour; to a ring on the half hour."""
    pots_c: list[float] = []
    taken_out = two_stage.taken_out

    def seen(sun: heat.Ensemble, members: np.ndarray, *more: object) -> object:
        pots_c.extend(sun.pot_c[0][members].tolist())
        return taken_out(sun, members, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(two_stage, "taken_out", seen)
    one = in_cooker(BOX, stew())
    some, owner = [np.zeros(1, dtype=np.int64)], np.zeros(2, dtype=np.int64)

    found = two_stage._moves(day(), [one.durations], some, owner, second)

    assert found is not None
    assert {(lift - START) % grain_min for lift in found.lift.tolist()} == {0.0}
    assert (min(pots_c) >= day().boil_c - 4.0) == (second is HAY)


def test_on_drawn_days_a_second_cooker_is_as_strong_as_its_own_draw(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    states: list[heat.Ensemble] = []
    ends = two_stage.finish

    def seen(state: heat.Ensemble, *rest: object, **more: object) -> Finish:
        states.append(state)
        return ends(state, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(two_stage, "finish", seen)
    one = in_cooker(MIRROR, stew())
    lift, off = np.asarray([START + 30]), np.asarray([NOON])
    moved = TwoStageLoad(NOON, one.durations, one.durations, HAY, lift, off, np.ones(1))

    [*two_stage._on_drawn_days(day(), [moved])]

    row = day().rows["hay"]
    assert states[0].strength.tolist() == day().member_strength[:, row].tolist()
    assert states[0].loss.tolist() == day().member_loss[:, row].tolist()
