"""Doors (api, web, cli, paper) ask services: of the solver they read types and constants only."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import service

HOME = Path(service.__file__ or "").parent
PLAN = ("solver.plan", "solver.programme")  # the answer, and its part for visitors
DOORS = sorted(f for door in ("api", "web", "cli", "paper") for f in (HOME / door).glob("*.py"))


@pytest.mark.parametrize("file", DOORS, ids=lambda f: f"{f.parent.name}/{f.name}")
def test_a_door_imports_no_function_of_the_solver(file: Path) -> None:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.ImportFrom) or not (node.module or "").startswith("solver"):
            continue
        for name in node.names:
            # A plan is read, also by its own functions.
            assert name.name[0].isupper() or node.module in PLAN, name.name
