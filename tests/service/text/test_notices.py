"""Warnings in words: each names the dish it is about."""

from __future__ import annotations

from string import Formatter
from typing import get_args

import pytest

from service.text.notices import REFUSAL, STANDS_WARM, TOPIC, TRADEOFF, WARNING, warning
from solver.notices import CARRIES, PlanWarning, WarningKind
from tests.conftest import sample_event


@pytest.mark.parametrize(("batch", "batches", "who"), [(1, 1, "Rice: "), (2, 2, "Rice 2 of 2: ")])
def test_a_warning_names_its_dish_and_which_part(batch: int, batches: int, who: str) -> None:
    notice = PlanWarning(
        kind="late-on-a-poor-day",
        dish_ids=("rice",),
        figures={"batch": batch, "batches": batches},
    )

    assert warning(sample_event("harvest-lunch"), notice).startswith(who)


def test_no_danger_is_folded_away_on_a_phone() -> None:
    dangers = {"fire-rules-unread", "do-not-serve", "late-on-a-poor-day", "boils-dry"}
    dangers |= {"strong-wind", "late-on-gas"}

    assert dangers <= set(get_args(WarningKind))
    assert dangers.isdisjoint(TOPIC)
    assert set(TOPIC) <= set(get_args(WarningKind))


# What is said of the dishes, cookers, pots and rules that a notice is about, and its cost.
NAMES = {"dishes", "cookers", "pots", "batch", "danger_zone", "edition", "one_more"}
NAMES |= {"cost", "rivals"}
FIGURES = {"other": "other_figure", "spared": "spared_figure"}  # said as shares or minutes
VARIANTS = {"too-late-rest": "too-late", "too-few-pots-1": "too-few-pots"}


def test_the_figures_of_a_sentence_are_those_that_its_kind_carries() -> None:
    said: dict[str, set[str]] = {}
    for kind, words in [*(REFUSAL | WARNING | TRADEOFF).items(), ("warm-long", STANDS_WARM)]:
        names = {name.split(":")[0] for _, name, _, _ in Formatter().parse(words) if name} - NAMES
        said.setdefault(VARIANTS.get(kind, kind), set()).update(FIGURES.get(n, n) for n in names)

    assert {kind: names for kind, names in said.items() if names} == {
        kind: set(names) for kind, names in CARRIES.items()
    }


def test_a_notice_without_a_figure_of_its_kind_is_refused() -> None:
    figures = {"batch": 1, "batches": 1, "warm_min": 90, "limit_min": 60}

    assert PlanWarning(kind="warm-long", figures={**figures, "away_min": 120})
    with pytest.raises(ValueError, match="“warm-long” without away_min"):
        PlanWarning(kind="warm-long", figures=figures)
