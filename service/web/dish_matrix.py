"""Which dish could go into which cooker, and how long it takes there, as rows."""

from __future__ import annotations

from events.model import Event
from solver.feasibility.dish_matrix import Cell


def matrix(
    event: Event, cells: list[Cell], chosen: dict[tuple[str, str], str]
) -> list[dict[str, object]]:
    """Return the planner's rows: each dish with its cells, cooker by cooker."""
    out = []
    for dish in event.dishes:
        mine = [c for c in cells if c.dish_id == dish.id]
        if not mine:
            continue
        meal = event.meal(dish.meal)
        out.append(
            {
                "dish": dish,
                "meal": meal.name,
                "cells": [
                    {
                        "it": c,
                        "cooker": event.cooker(c.cooker_id),
                        "measured": not event.cooker(c.cooker_id).origin.startswith("typical"),
                        "chosen": chosen.get((dish.id, c.cooker_id), ""),
                    }
                    for c in mine
                ],
            }
        )
    return out
