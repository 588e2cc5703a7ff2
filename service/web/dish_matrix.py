"""Which dish could go into which cooker, and how long it takes there, as rows."""

from __future__ import annotations

from collections.abc import Sequence

from events.model import Cooker, Dish, Event
from service.application.event_analyses import dish_matrix
from service.text import allergens, formatting
from solver.feasibility.dish_matrix import Cell

Chosen = dict[tuple[str, str], str]  # when the plan loads a dish in a cooker, as the event says it


def matrix_rows(
    event: Event, chosen: Chosen, dishes: Sequence[Dish] | None = None
) -> list[dict[str, object]]:
    """Return the planner's rows: each dish (or some) with its cells; equal cookers share one."""
    cells: dict[str, dict[str, Cell]] = {}
    for cell in dish_matrix(event, dishes):
        cells.setdefault(cell.dish_id, {})[cell.cooker_id] = cell
    cooking = {cooker_id for row in cells.values() for cooker_id in row}
    groups = _equal_cookers([c for c in event.cookers if c.id in cooking])
    return [
        {
            "dish": dish,
            "meal": event.meal(dish.meal).name,
            "diet": allergens.diet(event, dish),
            "allergens": allergens.sentence(event, dish),
            "cells": [_cell(cells[dish.id], group, chosen) for group in groups],
            "chosen": any((dish.id, cooker_id) in chosen for cooker_id in cells[dish.id]),
        }
        for dish in event.dishes
        if dish.id in cells
    ]


def _equal_cookers(cookers: Sequence[Cooker]) -> list[list[Cooker]]:
    """Return the cookers in groups of those that differ in nothing but their names."""
    groups: dict[str, list[Cooker]] = {}
    for cooker in cookers:
        same = cooker.model_dump_json(exclude={"id", "name", "attended"})
        groups.setdefault(same, []).append(cooker)
    return list(groups.values())


def _cell(cells: dict[str, Cell], group: list[Cooker], chosen: Chosen) -> dict[str, object]:
    first = cells[group[0].id]
    loaded = [chosen.get((first.dish_id, cooker.id), "") for cooker in group]
    return {
        "it": first,
        "cooker": group[0],
        "name": formatting.joined([cooker.name for cooker in group]),
        "measured": group[0].is_measured,
        "chosen": next(filter(None, loaded), ""),
    }
