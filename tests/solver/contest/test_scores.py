"""Sums of sheets: means, missing sheets evened out, ties by rule; a second routine agrees."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest

from events.contest import Criterion, TieRule
from solver.contest.lot import order
from solver.contest.scores import Place, Sheet, _deciders, evened, standing, total_of

CRITERIA = (
    Criterion(id="taste", name="Taste", weight=5),
    Criterion(id="done", name="Cooked right", weight=3),
)
TIES: tuple[TieRule, ...] = ("heaviest", "more-judges", "shared")


def sheet(judge: str, entry: str, taste: int, done: int) -> Sheet:
    return Sheet(judge, entry, {"taste": Fraction(taste), "done": Fraction(done)})


def places(
    sheets: list[Sheet], *, ties: tuple[TieRule, ...] = TIES, asked: int | None = None
) -> tuple[Place, ...]:
    entries = {s.entry_id for s in sheets}
    judges = len({s.judge_id for s in sheets})
    return standing(
        sheets,
        CRITERIA,
        asked=dict.fromkeys(entries, asked or judges),
        ties=ties,
        sheets_least=None,
        seed="417 263 558",
    ).places


def test_a_sheet_is_of_a_hundred_points() -> None:
    assert total_of(sheet("j", "e", 10, 10), CRITERIA) == 100
    assert total_of(sheet("j", "e", 10, 0), CRITERIA) == Fraction(500, 8)


def test_with_every_sheet_there_evening_out_is_the_mean() -> None:
    rng = random.Random(3)
    figures = [
        (f"j{j}", f"e{e}", Fraction(rng.randint(0, 100))) for j in range(6) for e in range(12)
    ]

    result = evened(figures)

    for e in range(12):
        assert result[f"e{e}"] == sum(f for _, x, f in figures if x == f"e{e}") / 6


def test_a_strict_judge_who_misses_sheets_puts_nobody_ahead() -> None:
    """Strictest of four, twenty below: entries he misses are not 20/4 better for it."""
    real = {f"e{n}": Fraction(60 + 3 * n) for n in range(5)}
    figures = [
        (j, e, f - (20 if j == "strict" else 0))
        for j in ("a", "b", "c", "strict")
        for e, f in real.items()
        if not (j == "strict" and e in ("e3", "e4"))
    ]

    result = evened(figures)

    assert {e: f - result["e0"] for e, f in result.items()} == {
        e: f - real["e0"] for e, f in real.items()
    }


@pytest.mark.parametrize("seed", range(20))
def test_a_general_least_squares_routine_agrees(seed: int) -> None:
    rng = random.Random(seed)
    judges, entries = range(5), range(7)
    figures = [
        (f"j{j}", f"e{e}", Fraction(rng.randint(0, 100)))
        for j in judges
        for e in entries
        if j == e % 5 or e == 0 or rng.random() < 0.5
    ]
    rows = np.zeros((len(figures) + 1, 12))
    for n, (j, e, _) in enumerate(figures):
        rows[n, int(j[1:])] = rows[n, 5 + int(e[1:])] = 1
    rows[-1, :5] = 1000
    right = np.asarray([*(float(f) for _, _, f in figures), 0.0])
    wanted = np.linalg.lstsq(rows, right, rcond=None)[0][5:]

    result = evened(figures)

    for e, figure in enumerate(wanted):
        assert float(result[f"e{e}"]) == pytest.approx(figure, abs=1e-6)


def test_the_same_more_on_all_sheets_of_one_judge_changes_no_place() -> None:
    rng = random.Random(8)
    sheets = [
        sheet(j, e, rng.randint(1, 7), rng.randint(1, 7)) for j in "abcd" for e in ("x", "y", "z")
    ][:-1]
    milder = [
        sheet(s.judge_id, s.entry_id, int(s.points["taste"]) + 3, int(s.points["done"]) + 3)
        if s.judge_id == "a"
        else s
        for s in sheets
    ]

    assert [p.entry_id for p in places(sheets)] == [p.entry_id for p in places(milder)]


def test_the_order_of_sheets_changes_nothing() -> None:
    rng = random.Random(5)
    sheets = [sheet(j, e, rng.randint(1, 9), rng.randint(1, 9)) for j in "abc" for e in "wxyz"]
    mixed = rng.sample(sheets, len(sheets))

    assert places(sheets) == places(mixed)


def test_a_tie_is_decided_by_the_heaviest_criterion() -> None:
    sheets = [sheet("a", "x", 4, 8), sheet("a", "y", 7, 3)]  # 55 of 100 both

    first, second = places(sheets)

    assert (first.entry_id, first.place, first.decided_by) == ("y", 1, "heaviest")
    assert (second.entry_id, second.place) == ("x", 2)


def test_a_tie_is_decided_by_more_judges() -> None:
    sheets = [
        *(sheet(j, "x", 6, 6) for j in "ab"),
        *(sheet(j, "y", 5, 5) for j in "ab"),
        sheet("c", "x", 5, 5),
        sheet("c", "y", 7, 7),
    ]

    first, _ = places(sheets)

    assert (first.entry_id, first.decided_by) == ("x", "more-judges")


def test_a_tie_that_no_rule_decides_is_shared_and_the_next_place_left_free() -> None:
    sheets = [sheet("a", e, 5, 5) for e in "xy"] + [sheet("a", "z", 4, 4)]

    result = places(sheets)

    assert [(p.entry_id, p.place) for p in result] == [("x", 1), ("y", 1), ("z", 3)]
    assert result[0].decided_by == "shared"


def test_a_tie_by_lot_is_the_same_for_everybody() -> None:
    sheets = [sheet("a", e, 5, 5) for e in "xy"]

    first, second = places(sheets, ties=("lot",))

    assert [p.entry_id for p in places(sheets[::-1], ties=("lot",))] == [
        first.entry_id,
        second.entry_id,
    ]
    assert (first.place, second.place) == (1, 2)


def test_an_entry_with_too_few_sheets_has_no_place() -> None:
    sheets = [*(sheet(j, "x", 5, 5) for j in "abcd"), sheet("a", "y", 9, 9)]

    result = standing(
        sheets, CRITERIA, asked={"x": 4, "y": 4}, ties=TIES, sheets_least=None, seed="a b c d e f"
    )

    assert [p.entry_id for p in result.places] == ["x"]
    assert result.too_few == ("y",)


def test_half_of_the_sheets_are_rounded_up() -> None:
    def placed(sheets: int, asked: int) -> bool:
        some = [sheet(j, "x", 5, 5) for j in "abcdef"[:sheets]]
        return bool(places(some, asked=asked))

    assert [placed(1, 2), placed(1, 3), placed(2, 3), placed(2, 5), placed(3, 5)] == [
        *(True, False, True, False, True)
    ]


def test_judges_who_prefer_another_count_against_an_entry() -> None:
    """Two prefer x to z and two z to x; one prefers y to z: y is one ahead."""
    sheets = [
        *(s for j in "ab" for s in (sheet(j, "x", 9, 9), sheet(j, "z", 5, 5))),
        *(s for j in "cd" for s in (sheet(j, "x", 5, 5), sheet(j, "z", 9, 9))),
        *(sheet("e", "y", 9, 9), sheet("e", "z", 5, 5)),
    ]

    preferred = _deciders(sheets, CRITERIA, {}, "417 263 558")["more-judges"]

    assert [preferred(e, "xyz") for e in "xyz"] == [(0,), (1,), (-1,)]


def test_the_first_of_the_lot_comes_first_and_each_place_says_what_decided_it() -> None:
    sheets = [sheet("a", "x", 7, 3), *(sheet("a", e, 4, 8) for e in "yz")]  # 55 of 100 all

    result = places(sheets, ties=("heaviest", "lot"))

    assert [p.entry_id for p in result] == ["x", *order("417 263 558", "ties", "yz")]
    assert [p.decided_by for p in result] == ["heaviest", "lot", "lot"]


def test_sheets_that_share_no_judge_and_no_entry_can_not_be_compared() -> None:
    def comparable(*sheets: Sheet) -> bool:
        asked = dict.fromkeys({s.entry_id for s in sheets}, 1)
        return standing(
            sheets, CRITERIA, asked=asked, ties=TIES, sheets_least=1, seed="a b c"
        ).comparable

    apart = sheet("a", "x", 5, 5), sheet("b", "y", 5, 5)
    assert not comparable(*apart)
    assert comparable(*apart, sheet("a", "y", 5, 5))
