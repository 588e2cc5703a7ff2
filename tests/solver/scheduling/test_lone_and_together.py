"""Ways of pots that cook alone, and of those that share a box; laid by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from events.food_rules import rules_of
from events.table import changed
from solver.scheduling import enumeration
from solver.scheduling.batches import Batch
from solver.scheduling.columns import Candidate
from solver.scheduling.enumeration import LonePots
from solver.simulation.day import Day
from solver.simulation.day_state import PlannedUse
from solver.simulation.query import DurationQuery
from tests.solver.checking.hand_laid import PLACEMENTS
from tests.solver.scheduling.test_columns import BOX, MIRROR
from tests.solver.scheduling.test_formulation import in_progress, replanned
from tests.solver.scheduling.test_timed_load import EVENT, NOON, ONE, START, batch, day
from tests.solver.scheduling.test_ways import POT, TWIN, candidate, dish, refusal


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
    """And, planned again, in what was planned for each, and what each spent warm so far."""
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
    elsewhere = {"a-1": PlannedUse("box", START, NOON), "a-2": PlannedUse("mirror", START, NOON)}
    again = replanned(EVENT, START, spent_min={"a-4": 20.0}, planned_uses=elsewhere)
    rows = [first, *(replace(first, id=f"a-{n}") for n in (2, 3, 4))]
    found = list(enumeration._of_each(again, rows, ways))
    assert asked == ["a-1", "a-4"]
    assert [c.batches[0].id for c in found] == [b.id for b in rows]
    assert [c.column.batch_ids for c in found] == [(b.id,) for b in rows]
    a_1, a_2, a_3 = (c.column.changed for c in found[:3])
    assert (a_2, a_3) == (1, again.changes("a", "a-3", "box", START, NOON))
    assert a_1 == found[0].column.changed


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
