"""How dishes are cut and which loads are offered, with estimates and columns laid by hand.

Every stage of the enumeration alone: what it hands to the next one is written down, not computed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from events.food_rules import rules_of
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
from solver.simulation.query import DurationQuery
from tests.solver.checking.hand_laid import PLACEMENTS
from tests.solver.scheduling.test_columns import BOX, MIRROR, in_cooker
from tests.solver.scheduling.test_formulation import in_progress, replanned
from tests.solver.scheduling.test_timed_load import EVENT, NOON, ONE, START, batch, day, stew

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


# --- lone pots


def test_a_cooker_that_cooks_a_dish_in_one_pot_does_not_refuse_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The box takes the larger pot only, the mirror none: why is told of the mirror alone."""
    row = (batch(dish("a"), "a-1"),)
    queries = [SimpleNamespace(cooker=c, starts=np.asarray([START])) for c in (BOX, BOX, MIRROR)]
    estimates = [SimpleNamespace(query=q, good=n == 1) for n, q in enumerate(queries)]
    refused = {"box": refusal("too-late"), "oven": refusal("no-pot")}
    monkeypatch.setattr(enumeration, "queries_of", lambda *given: (queries, dict(refused)))
    monkeypatch.setattr(enumeration, "estimate", lambda *given: estimates)
    monkeypatch.setattr(enumeration, "why_not", lambda *given: refusal("no-sun"))

    def alone(day: Day, durations: SimpleNamespace, one: Batch) -> list[Candidate]:
        return [candidate(one)] if durations.good else []

    monkeypatch.setattr(enumeration, "_alone", alone)

    found = enumeration._lone_pots(day(), [row], {})

    assert len(found.candidates) == 1
    assert found.refusals == {"a": {"oven": refusal("no-pot"), "mirror": refusal("no-sun")}}


def test_a_start_is_of_use_where_it_is_for_any_wave(monkeypatch: pytest.MonkeyPatch) -> None:
    """Done by noon for the first wave, or by half past for the second."""
    first = batch(dish("a", fresh_min=180), "a-1")
    row = (first, replace(first, id="a-2", serve_minute=NOON + 30, serve_end=ONE))
    query = SimpleNamespace(cooker=BOX, starts=np.asarray([START, START]))
    useful: list[list[bool]] = []

    def estimate(day: Day, queries: object, of_use: object) -> list[object]:
        minutes = np.asarray([[200.0, 220.0]])
        useful.append(of_use(0, minutes, np.zeros((1, 2))).tolist())  # type: ignore[operator]
        return []

    monkeypatch.setattr(enumeration, "queries_of", lambda *given: ([query], {}))
    monkeypatch.setattr(enumeration, "estimate", estimate)
    with pytest.raises(ValueError, match="zip"):
        enumeration._lone_pots(day(), [row], {})

    assert useful == [[True, False]]


def test_batches_that_are_served_together_differ_in_name_alone() -> None:
    """In the morning; planned again each has a past of its own."""
    first = batch(dish("a"), "a-1")
    rows = [
        first,
        replace(first, id="a-2"),
        replace(first, id="a-3", serve_end=ONE + 5),
        replace(first, id="a-4", serve_minute=NOON + 5),
    ]
    asked: list[str] = []

    def ways(one: Batch) -> Iterator[Candidate]:
        asked.append(one.id)
        yield candidate(one)

    found = list(enumeration._of_each(day(), rows, ways))
    assert asked == ["a-1", "a-3", "a-4"]
    assert [c.batches[0].id for c in found] == [b.id for b in rows]
    asked.clear()
    assert len(list(enumeration._of_each(replanned(EVENT, START), rows, ways))) == 4
    assert asked == [b.id for b in rows]


def test_a_pot_is_moved_on_for_the_wave_that_its_second_cooker_was_found_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    first = batch(dish("a"), "a-1")
    rows = (first, replace(first, id="a-2", serve_minute=NOON + 30))
    pots = LonePots(rows, SimpleNamespace())  # type: ignore[arg-type]
    moved = SimpleNamespace(first=pots.durations, serve=NOON + 30)
    serves: list[tuple[int, ...]] = []

    def found(day: Day, movable: Sequence[object], *, unsure: object) -> list[object]:
        serves.extend(m.serves for m in movable)  # type: ignore[attr-defined]
        return [moved]

    monkeypatch.setattr(enumeration, "two_stage_loads", found)
    monkeypatch.setattr(enumeration, "_moved", lambda day, moved, one: [candidate(one)])

    (only,) = enumeration._moved_on(day(), [pots], frozenset())

    assert only.batches[0].id == "a-2"
    assert serves == [(NOON, NOON + 30)]


# --- together in a box


def fellows(*candidates: Candidate, **box: object) -> list[tuple[str, ...]]:
    wide = changed(BOX, **{"pots_max": 3, "litres": 30.0, **box})
    found = enumeration._fellows(wide, candidates, {"spare"})
    return sorted(tuple(b.id for b in batches) for batches, _ in found)


def boxed(name: str, *, took_min: float = 60.0, **batches: object) -> Candidate:
    one = replace(batch(dish(name.split("-", maxsplit=1)[0]), name), **batches)  # type: ignore[arg-type]
    made = candidate(one)
    return replace(made, load=replace(made.load, done=(round(START + took_min),)))


def test_two_or_three_batches_of_one_meal_may_share_a_box_that_cooks_each_alone() -> None:
    a, b, c = boxed("a"), boxed("b"), boxed("c")

    assert fellows(a, b, c) == [("a", "b"), ("a", "b", "c"), ("a", "c"), ("b", "c")]
    assert fellows(a, b, c, pots_max=2) == [("a", "b"), ("a", "c"), ("b", "c")]
    four = fellows(a, b, c, boxed("d"), pots_max=4)
    assert max(len(names) for names in four) == 3
    assert fellows(a, boxed("spare")) == []  # a finer split: else far too many
    assert fellows(a, boxed("late", serve_minute=NOON + 30)) == []
    assert fellows(a, boxed("long", serve_end=ONE + 30)) == []
    raw = replace(
        b, load=replace(b.load, batches=(replace(b.batches[0], dish=dish("b", raw_meat=True)),))
    )
    assert fellows(a, raw) == []


def test_only_what_is_loaded_into_this_box_from_now_on_is_put_beside_others() -> None:
    a, b = boxed("a"), boxed("b")
    begun = replace(b, in_progress=in_progress(PLACEMENTS[2], "cooking"))

    assert fellows(a, begun) == []
    for values in ({"cooker_id": "oven"}, {"route": "sun+insulated"}):
        assert fellows(a, replace(b, column=replace(b.column, **values))) == []  # type: ignore[arg-type]


def test_sets_that_take_most_nearly_equally_long_come_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By the shortest minutes that each batch takes alone, whichever start comes first."""
    slow = boxed("b", took_min=150.0)
    some = [boxed("a"), boxed("c", took_min=70.0), slow]
    quick = boxed("b", took_min=62.0)

    monkeypatch.setattr(enumeration, "FELLOWS_MOST", 1)
    assert fellows(*some) == [("a", "c")]
    for both in ([quick, slow], [slow, quick]):
        assert fellows(*some[:2], *both) == [("a", "b")]


def test_each_meal_has_its_own_sets(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(enumeration, "FELLOWS_MOST", 1)
    late = [boxed(name, serve_minute=NOON + 30) for name in "de"]

    assert fellows(boxed("a"), boxed("b"), *late) == [("a", "b"), ("d", "e")]


def test_a_shared_box_is_asked_about_in_coarser_steps_the_more_it_holds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    grains: list[int] = []

    def starts(day: Day, box: object, load: object, last: int, grain_min: int) -> np.ndarray:
        grains.append(grain_min)
        return np.asarray([START])

    monkeypatch.setattr(enumeration, "starts_of", starts)
    rows = tuple(batch(dish(n), n) for n in "abc")
    queries: list[DurationQuery] = []
    for step_min in (5, 10):
        monkeypatch.setattr(enumeration, "start_step_min", lambda day, step_min=step_min: step_min)
        queries += [enumeration._joint_query(day(), BOX, rows[:n], (POT,) * n) for n in (2, 3)]

    assert grains == [15, 30, 30, 60]
    assert {(q.until, q.last_plate) for q in queries} == {(NOON, ONE)}
    assert queries[1].load.masses_kg == (3.0, 3.0, 3.0)
    assert queries[0].load.reheat_c == rules_of(EVENT).reheat_c != 60.0


def test_only_ovens_that_hold_two_pots_and_speak_for_their_pool_are_shared(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[str] = []

    def none(box: object, candidates: object, without: object) -> list[object]:
        asked.append(box.id)  # type: ignore[attr-defined]
        return []

    monkeypatch.setattr(enumeration, "_fellows", none)
    monkeypatch.setattr(enumeration, "estimate", lambda *given: [])
    twins = changed(EVENT, cookers=(*EVENT.cookers, TWIN))  # a ring holds two, an oven one

    assert list(enumeration._joint_loads(day(twins), [], without=set())) == []
    assert asked == ["box"]
