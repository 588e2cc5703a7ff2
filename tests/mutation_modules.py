"""Which modules a break touches: the rest stay loaded from one break to the next."""

from __future__ import annotations

import ast
import importlib
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
KEPT = ("events", "solver")
OURS = (*KEPT, "service", "tests")
COMPILED = "solver.simulation.compiled"  # loading it would compile it


def module_of(path: str) -> str:
    """Return the name of the module at a path of the tree."""
    return path.removesuffix(".py").replace("/", ".").removesuffix(".__init__")


@cache
def _imports() -> dict[str, set[str]]:
    """Return what each module of the rooms that are kept imports, by name."""
    return {
        module_of(str(path.relative_to(ROOT))): {
            name for node in ast.walk(ast.parse(path.read_text())) for name in _imported(node)
        }
        for room in KEPT
        for path in sorted((ROOT / room).rglob("*.py"))
        if "migrations" not in path.parts
    }


def _imported(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.ImportFrom(module=str() as module, names=names):
            yield module
            yield from (f"{module}.{one.name}" for one in names)
        case ast.Import(names=names):
            yield from (one.name for one in names)


def load_all() -> None:
    """Load every module that a child may keep."""
    for name in _imports().keys() - {COMPILED}:
        importlib.import_module(name)


def load_anew(tree: Path, broken: str) -> None:
    """Have a broken module and all that depends on it, tests too, loaded from a tree when asked."""
    stale = found = {broken}
    while found:
        found = {name for name, names in _imports().items() if names & found} - stale
        stale = stale | found
    for name in [name for name in sys.modules if name.split(".")[0] in OURS]:
        package, _, module = name.rpartition(".")
        if name in stale or name.split(".")[0] not in KEPT:
            del sys.modules[name]
            if package in sys.modules:
                vars(sys.modules[package]).pop(module, None)
        elif hasattr(sys.modules[name], "__path__"):
            sys.modules[name].__path__ = [str(tree / name.replace(".", "/"))]
