"""Warnings in words: each names the dish it is about."""

from __future__ import annotations

import pytest

from service.text.notices import warning
from solver.notices import PlanWarning
from tests.conftest import sample_event


@pytest.mark.parametrize(("batch", "batches", "who"), [(1, 1, "Rice: "), (2, 2, "Rice 2 of 2: ")])
def test_a_warning_names_its_dish_and_which_part(batch: int, batches: int, who: str) -> None:
    notice = PlanWarning(
        kind="late-on-a-poor-day",
        dish_ids=("rice",),
        figures={"batch": batch, "batches": batches},
    )

    assert warning(sample_event("harvest-lunch"), notice).startswith(who)
