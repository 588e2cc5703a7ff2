"""What a new team of a contest brings with it."""

from __future__ import annotations

from service.forms.contest_rows import enter
from service.forms.references import rows_in


def test_entries_of_one_dish_get_names_that_are_free_also_where_one_went() -> None:
    left = [{"id": "a", "name": "Vegetable soup 2"}, {"id": "b", "name": "Vegetable soup deluxe"}]
    table: dict[str, object] = {"entry": left}

    for number in range(3):
        enter(table, {"id": f"t{number}", "name": f"Team {number}"}, "vegetable-soup", "", "metric")

    names = [row["name"] for row in rows_in(table, "entry")]
    assert names[2:] == ["Vegetable soup", "Vegetable soup 3", "Vegetable soup 4"]
