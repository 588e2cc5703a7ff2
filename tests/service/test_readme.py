"""The README's table of the API is what openapi.json says."""

from __future__ import annotations

from tests.readme import API, README, api_table


def test_the_readme_names_every_operation_of_the_api() -> None:
    table = API.search(README.read_text(encoding="utf-8"))
    assert table is not None
    assert table.group() == api_table(), "run `python -m tests.readme`"
