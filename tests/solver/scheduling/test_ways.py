"""How dishes are cut and which loads are offered, with estimates and columns laid by hand.

Every stage of the enumeration alone: what it hands to the next one is written down, not computed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from events.model import Dish, Event, Pot
from events.table import changed
from solver import deadline
from solver.notices import Refusal
from solver.scheduling import enumeration
from solver.scheduling.batches import Batch, Batches, split
from solver.scheduling.columns import Candidate, make_column
from solver.scheduling.enumeration import CandidateSet, LonePots, _LonePotStage
from solver.scheduling.in_progress import Started
from solver.scheduling.pricing import Costs
from solver.simulation.day import Day
from tests.solver.scheduling.test_columns import BOX, in_cooker
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import EVENT, NOON, START, batch, day, stew

POT = EVENT.pot("small")
PLENTY = changed(POT, count=4)


def candidate(batch: Batch, cooker: object = BOX, **column: object) -> Candidate:
    """Return a batch's column in a cooker, done after an hour."""
    load = in_cooker(cooker, batch.dish, pots=(PLENTY,))  # type: ignore[arg-type]
    load = replace(load, batches=(batch,))
    made = make_column(day(), load, lift=NOON, costs=Costs())
    return Candidate(replace(made, **column), load)  # type: ignore[arg-type]


def dish(name: str, **values: object) -> Dish:
    return changed(stew(), id=name, **values)


def refusal(kind: str) -> Refusal:
    """Return a refusal whose figures nobody asks for."""
    return Refusal.model_construct(kind=kind)  # type: ignore[arg-type]


def with_dishes(*dishes: Dish, pots: tuple[Pot, ...] = EVENT.pots) -> Event:
    return changed(EVENT, dishes=dishes, pots=pots, talks=())


# --- what is sure


@pytest.mark.parametrize(
    ("missed", "gas_min", "sure"), [(0, 0, True), (1, 0, True), (2, 0, False), (0, 5, False)]
)
def test_a_dish_is_sure_where_the_sun_alone_misses_less_than_six_in_a_hundred(
    missed: int, gas_min: int, sure: bool
) -> None:
    one = candidate(batch(dish("a")), missed=missed, gas_min=gas_min)

    assert enumeration._sure([one]) == ({"a"} if sure else set())


def stages(monkeypatch: pytest.MonkeyPatch, first: CandidateSet) -> dict[str, object]:
    """Have the stages after the first write down what they are given."""
    seen: dict[str, object] = {}
    finer = replace(first, alternatives={"a": (batch(dish("a"), "a-1of2"),)}, lone_pots=("cut",))  # type: ignore[arg-type]

    def cut(day: Day, first: CandidateSet, unsure: frozenset[str]) -> CandidateSet:
        seen["unsure"] = unsure
        return finer

    def moved(day: Day, pots: object, unsure: object) -> list[Candidate]:
        seen["moved"] = pots
        return []

    def joint(day: Day, candidates: object, *, without: set[str]) -> list[Candidate]:
        seen["without"] = without
        return []

    monkeypatch.setattr(enumeration, "started_loads", lambda day: None)
    monkeypatch.setattr(enumeration, "_first_splits", lambda day, started: first)
    monkeypatch.setattr(enumeration, "_with_finer_splits", cut)
    monkeypatch.setattr(enumeration, "_moved_on", moved)
    monkeypatch.setattr(enumeration, "_joint_loads", joint)
    return seen


TWIN = changed(BOX, id="box-2", name="box-2")


def test_finer_ways_are_sought_for_what_is_not_sure_and_never_put_together_in_a_box(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    sure, unsure = candidate(batch(dish("a")), missed=0), candidate(batch(dish("b")), missed=5)
    refused = {"c": {"box": refusal("no-pot")}}
    seen = stages(monkeypatch, CandidateSet((sure, unsure), refusals=refused))
    event = with_dishes(dish("a"), dish("b"), dish("c"))
    twins = changed(event, cookers=(*event.cookers, TWIN))

    found = enumeration.enumerate_candidates(day(twins))

    assert seen == {"unsure": {"b", "c"}, "moved": ("cut",), "without": {"a-1of2"}}
    assert found.complete
    # A pool's first cooker speaks for all of it.
    assert set(found.refusals["c"]) == {"box", "box-2"}


def test_where_no_time_is_left_the_first_ways_are_all(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = stages(monkeypatch, CandidateSet((candidate(batch(dish("a"))),)))

    with deadline.within(lambda: 0.0):
        found = enumeration.enumerate_candidates(day())

    assert seen == {}
    assert len(found.candidates) == 1
    assert not found.complete


# --- how dishes are cut


def lone(
    monkeypatch: pytest.MonkeyPatch, takes: Mapping[str, int], kind: str = "pots-too-small"
) -> list[list[int]]:
    """Let the box take a dish's batches once it is cut in so many; return how each was tried."""
    tried: list[list[int]] = []

    def pots(day: Day, splits: Sequence[Batches], rivals: object) -> _LonePotStage:
        if splits:
            tried.append([len(batches) for batches in splits])
        good = [b for b in splits if len(b) >= takes[b[0].dish.id]]
        return _LonePotStage(
            tuple(candidate(one) for b in good for one in b),
            tuple(LonePots(b, None) for b in splits),  # type: ignore[arg-type]
            {b[0].dish.id: {} if b in good else {f"by-{len(b)}": refusal(kind)} for b in splits},
        )

    monkeypatch.setattr(enumeration, "_lone_pots", pots)
    return tried


def first_splits(event: Event, **started: object) -> CandidateSet:
    plain: dict[str, object] = {"candidates": (), "waiting": (), "uncut": event.dishes}
    return enumeration._first_splits(day(event), Started(**{**plain, **started}))  # type: ignore[arg-type]


def test_a_dish_is_cut_in_as_few_batches_as_can_be_cooked(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = lone(monkeypatch, {"a": 1, "b": 3})

    found = first_splits(with_dishes(dish("a"), dish("b", batches_max=4)))

    assert tried == [[1, 1], [2], [3]]
    assert {name: len(b) for name, b in found.splits.items()} == {"a": 1, "b": 3}
    assert found.refusals == {"a": {}, "b": {}}
    # Only pots of the split that is used are moved on.
    assert [len(p.batches) for p in found.lone_pots] == [1, 3]


@pytest.mark.parametrize(
    ("values", "most"), [({"batches_max": 2}, 2), ({"batches_max": 8, "portions": 3}, 3)]
)
def test_a_dish_is_cut_no_finer_than_it_may_be(
    monkeypatch: pytest.MonkeyPatch, values: dict[str, object], most: int
) -> None:
    tried = lone(monkeypatch, {"a": 99})

    found = first_splits(with_dishes(dish("a", **values)))

    assert tried == [[n] for n in range(1, most + 1)]
    assert set(found.refusals["a"]) == {f"by-{most}"}  # of the smallest batch
    assert len(found.splits["a"]) == most


@pytest.mark.parametrize(
    ("kind", "helps"),
    [
        *((k, True) for k in ("no-pot", "pots-too-small", "never-done", "too-late")),
        *((k, True) for k in ("too-long-warm", "closes-first")),
        *((k, False) for k in ("no-sun", "kept-out", "not-for-this-dish", "oven-too-cool")),
    ],
)
def test_a_dish_is_cut_finer_only_where_less_in_a_pot_may_help(
    monkeypatch: pytest.MonkeyPatch, kind: str, helps: bool
) -> None:
    tried = lone(monkeypatch, {"a": 99}, kind)
    first_splits(with_dishes(dish("a", batches_max=2)))

    assert len(tried) == (2 if helps else 1)
    both = {"box": refusal(kind), "mirror": refusal("kept-out")}
    assert enumeration._smaller_helps(both) == helps


def test_what_has_begun_is_not_cut_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """It was to be cooked in two pots; where that can't be, only what waits is cut again."""
    rows = (batch(dish("a"), "a-1"), batch(dish("a"), "a-2"))
    event = with_dishes(dish("a", batches_max=3))

    for begun, cuts in ((frozenset({"a"}), [[2]]), (frozenset[str](), [[2], [1], [2], [3]])):
        tried = lone(monkeypatch, {"a": 3})
        first_splits(event, waiting=(rows,), uncut=(), begun_dishes=begun)
        assert tried == cuts


BIG, SMALL = changed(POT, id="big", litres=8.0, count=1), changed(POT, id="tiny", litres=4.0)
STOCK = (BIG, SMALL)


def test_rivals_are_the_batches_that_would_best_go_into_each_kind_of_pot() -> None:
    event = with_dishes(dish("a"), dish("b"), pots=STOCK)
    three = tuple(batch(dish("a"), f"a-{n}") for n in range(3))  # of three litres each
    large = (replace(batch(dish("b"), "b-1"), litres=6.0),)

    assert enumeration._rivals(day(event), {"a": three, "b": large}) == {"big": 1, "tiny": 3}


@pytest.mark.parametrize(
    ("rivals", "kg", "number"),
    [
        (2, 6.0, 2),  # three litres each go into the small one
        (1, 6.0, None),  # the large one is there for it
        (2, 12.0, 3),  # two of six would need the large one as well
    ],
)
def test_where_pots_are_scarce_a_dish_is_cut_until_another_kind_holds_it(
    rivals: int, kg: float, number: int | None
) -> None:
    whole = dish("a", portions=20, portion_kg=kg / 20, litres_per_kg=1.0, batches_max=6)
    here = day(with_dishes(whole, pots=(changed(BIG, litres=12.0), SMALL)))
    (one,) = split(here, whole, 1)

    found = enumeration._into_other_pots(here, whole, (one,), {"big": rivals, "tiny": 0})

    assert found == number


def finer(
    monkeypatch: pytest.MonkeyPatch,
    here: Day,
    first: CandidateSet,
    unsure: set[str],
) -> dict[str, int]:
    lone(monkeypatch, dict.fromkeys("abcd", 1))
    found = enumeration._with_finer_splits(here, first, frozenset(unsure))
    return {name: len(b) for name, b in found.alternatives.items()}


def test_a_finer_split_is_offered_for_what_no_start_surely_gets_done(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = {n: (batch(dish(n), f"{n}-1"),) for n in "abcd"}
    dishes = (dish("a", batches_max=2), dish("b", batches_max=1), dish("c"), dish("d"))
    some = tuple(candidate(b) for n in "abd" for (b,) in [rows[n]])
    first = CandidateSet(some, splits=rows)

    # One batch more for a; b may not be cut, c can't be cooked at all, and d is sure.
    assert finer(monkeypatch, day(with_dishes(*dishes)), first, {"a", "b", "c"}) == {"a": 2}
    # Cut as it was where an earlier plan has it.
    stewed = with_dishes(dish("stew", batches_max=3))
    row = {"stew": (batch(dish("stew"), "stew-1"),)}
    known = CandidateSet((candidate(row["stew"][0]),), splits=row)
    again = replanned(stewed, START)
    lone(monkeypatch, {"stew": 1})
    assert enumeration._with_finer_splits(again, known, frozenset({"stew"})).alternatives == {}


def test_a_sure_dish_is_cut_finer_where_its_pots_are_scarce(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = [dish(n, portions=20, portion_kg=0.3, litres_per_kg=1.0, batches_max=4) for n in "ab"]
    here = day(with_dishes(*whole, pots=STOCK))
    rows = {d.id: split(here, d, 1) for d in whole}
    first = CandidateSet(tuple(candidate(b) for (b,) in rows.values()), splits=rows)

    assert finer(monkeypatch, here, first, set()) == {"a": 2, "b": 2}


def test_a_refusal_is_of_the_smaller_batch_where_both_are_refused() -> None:
    large = {"a": {"box": refusal("no-pot"), "mirror": refusal("too-late")}}
    small = {"a": {"box": refusal("never-done"), "ring": refusal("no-sun")}, "b": {}}

    assert enumeration._of_both(large, small) == {"a": {"box": refusal("never-done")}, "b": {}}
