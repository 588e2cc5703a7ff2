"""The catalogue: enough to start from, and every figure carries its mark."""

from __future__ import annotations

import pytest

from events.errors import WHOLE_FILE
from events.kinds import COOKER_KINDS
from events.model import Cooker, Dish
from events.reading.catalogue import entries, resolve
from events.reading.recipes import from_ingredients

PLAIN = {
    "name",
    "kind",
    "shape",
    "done",
    "kinds",
    "trained",
    "hazardous",
    "serve_hot",
    "provenance",
}
PLAIN |= {
    "ingredients",
    "kidney_beans",
    "raw_meat",
    "allergens",
    "before",
    "material",
    "colour",
    "fits",
    "holds",
}


def test_there_are_enough_cookers_and_dishes_to_start_from() -> None:
    assert len(entries("cooker")) >= 8
    assert len(entries("dish")) >= 30
    assert {e["kind"] for e in entries("cooker").values()} == COOKER_KINDS.keys()


@pytest.mark.parametrize("kind", ["cooker", "dish"])
def test_every_figure_says_where_it_comes_from(kind: str) -> None:
    for name, entry in entries(kind).items():
        figures = {k for k in entry if k not in PLAIN}
        sources = entry["provenance"]
        assert isinstance(sources, dict)
        assert figures <= set(sources), (name, figures - set(sources))
        assert set(sources) <= set(entry), (name, set(sources) - set(entry))


def test_every_entry_makes_a_whole_table() -> None:
    for name in entries("cooker"):
        Cooker.model_validate({**resolve("cooker", {"id": "x", "like": name})})
    for name in entries("dish"):
        own = {"id": "x", "like": name, "meal": "m", "portions": 4}
        Dish.model_validate(from_ingredients(resolve("dish", own), WHOLE_FILE, []))
