"""Which dish could go into which cooker, and how long it takes there, as rows."""

from __future__ import annotations

from collections.abc import Sequence

from events.model import Dish, Event
from service.application.event_analyses import dish_matrix
from solver.feasibility.dish_matrix import Cell

Chosen = dict[tuple[str, str], str]  # when the plan loads a dish in a cooker, as the event says it


def matrix_rows(
    event: Event, chosen: Chosen, dishes: Sequence[Dish] | None = None
) -> list[dict[str, object]]:
    """Return the planner's rows: each dish (or some) with its cells, cooker by cooker."""
    cells: dict[str, list[Cell]] = {}
    for cell in dish_matrix(event, dishes):
        cells.setdefault(cell.dish_id, []).append(cell)
    return [
        {
            "dish": dish,
            "meal": event.meal(dish.meal).name,
            "cells": [_cell(event, cell, chosen) for cell in cells[dish.id]],
        }
        for dish in event.dishes
        if dish.id in cells
    ]


def _cell(event: Event, cell: Cell, chosen: Chosen) -> dict[str, object]:
    cooker = event.cooker(cell.cooker_id)
    return {
        "it": cell,
        "cooker": cooker,
        "measured": cooker.is_measured,
        "chosen": chosen.get((cell.dish_id, cell.cooker_id), ""),
    }
