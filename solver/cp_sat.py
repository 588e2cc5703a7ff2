"""CP-SAT's modelling library, without the tables of data that it imports and we never hand it.

ortools imports pandas, an eighth of all that a command does before it has planned, for methods
that take or give a table. While it is imported a stand-in has the name, with classes that nothing
is an instance of; whoever imports pandas afterwards gets the real one.
"""

from __future__ import annotations

import sys
from types import ModuleType


class _StandIn(ModuleType):
    """A module in which every name is a class of its own."""

    def __getattr__(self, name: str) -> type:
        if name.startswith("__"):
            raise AttributeError(name)
        made = type(name, (), {})
        setattr(self, name, made)
        return made


def _without_tables() -> ModuleType:
    """Return `cp_model`; where it or pandas is imported already, as it is."""
    needed = {"pandas", "ortools.sat.python.cp_model"}.isdisjoint(sys.modules)
    if needed:
        sys.modules["pandas"] = _StandIn("pandas")
    try:
        from ortools.sat.python import cp_model  # noqa: PLC0415  the stand-in comes first
    finally:
        if needed:
            del sys.modules["pandas"]
    return cp_model


_without_tables()
from ortools.sat.python import cp_model  # noqa: E402  by its own name, for types

__all__ = ["cp_model"]
