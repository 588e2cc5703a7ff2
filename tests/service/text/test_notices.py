"""Warnings in words: each names the dish it is about."""

from __future__ import annotations

from typing import get_args

import pytest

from service.text.notices import TOPIC, warning
from solver.notices import PlanWarning, WarningKind
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
    dangers |= {"strong-wind"}

    assert dangers <= set(get_args(WarningKind))
    assert dangers.isdisjoint(TOPIC)
    assert set(TOPIC) <= set(get_args(WarningKind))
