"""What is written as TOML reads back the same, by Python's own reader (TOML 1.0)."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from events.reading.plain_toml import toml_of

VALUES = st.one_of(
    st.text(),
    st.booleans(),
    st.integers(-(2**63), 2**63 - 1),
    st.floats(allow_nan=False),
    st.dates(),
    st.times(),
)
LISTS: st.SearchStrategy[Any] = st.recursive(st.lists(VALUES), st.lists, max_leaves=5)


def _tables(inner: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.dictionaries(st.text(), VALUES | LISTS | inner | st.lists(inner), max_size=4)


TABLES: st.SearchStrategy[dict[str, Any]] = st.recursive(
    st.dictionaries(st.text(), VALUES, max_size=3), _tables, max_leaves=8
)


@given(TABLES)
def test_a_table_reads_back_the_same(table: dict[str, Any]) -> None:
    assert tomllib.loads(toml_of(table)) == table


@pytest.mark.parametrize("sign", ['"', "\\", "\n", "\t", "\x00", "\x7f", "\u2028", "é", "☀", "#"])
def test_every_sign_of_a_text_and_of_a_key_comes_back(sign: str) -> None:
    table = {f"a{sign}b": f"{sign}x{sign}"}

    assert tomllib.loads(toml_of(table)) == table


def test_what_toml_has_not_is_refused() -> None:
    with pytest.raises(TypeError, match="TOML has no NoneType"):
        toml_of({"a": None})
