"""Single-point breaks of the rules: which tests notice? `python -m tests.long mutants [path …]`.

Every operator of `_breaks` is tried at every place of the modules that keep people safe (`WHOLE`),
and at places spread over the rest (`SAMPLED`); each break alone, in a copy of the tree, against the
tests of its room. A path given tries every place of that module instead, `path.py:4` every fourth;
`AT_ONCE=1` in the environment leaves a core to others, `QUICK=1` the slow tests out. Survivors are
printed; those that change nothing anybody could notice stand in `mutants.toml` with the reason. An
entry whose place is gone, or that is noticed after all, is an error: the list can't go stale.

Breaks that no operator makes (a figure taken for another, an argument passed over, the wrong side)
stand in `mutants.toml` as well, and are tried with the rest; `by-hand [solver/live/ …]` tries these
alone.
"""

from __future__ import annotations

import ast
import itertools
import os
import shutil
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

# What is slow to import is here before a child is forked.
import numpy  # noqa: F401
import ortools.sat.python.cp_model  # noqa: F401
import pydantic  # noqa: F401
import pytest

from tests.mutation_modules import OURS, load_all, load_anew, module_of
from tests.mutation_rooms import ROOMS

ROOT = Path(__file__).parents[1]
ARGUED = ROOT / "tests" / "mutants.toml"
AT_ONCE = int(os.environ.get("AT_ONCE", "2"))
WITHOUT = "not browser and not slow" if "QUICK" in os.environ else "not browser"
SLOWEST_S = 120  # a break may make a loop endless

WHOLE = (
    "solver/checking/context.py",
    "solver/checking/contest_rules.py",
    "solver/checking/food_rules.py",
    "solver/checking/people_rules.py",
    "solver/checking/rota_rules.py",
    "solver/checking/rules.py",
    "solver/checking/show_rules.py",
    "solver/checking/sun_rules.py",
    "solver/checking/talk_rules.py",
    "events/food_rules.py",
    "events/reading/food_safety.py",
    "solver/simulation/holding.py",
    "solver/thermal/safety.py",
)
SAMPLED = {
    "events/reading/validation.py": 4,
    "solver/thermal/energy_balance.py": 8,
    "solver/thermal/food.py": 8,
    "solver/simulation/replay.py": 8,
    "solver/scheduling/columns.py": 8,
    "solver/scheduling/timed_load.py": 2,
    "solver/scheduling/model.py": 8,
    "solver/scheduling/batches.py": 8,
    "solver/rostering/light_jobs.py": 8,
    "solver/rostering/model.py": 12,
    "solver/rostering/tasks.py": 8,
    "solver/risk/monte_carlo.py": 8,
    "solver/risk/rescue.py": 8,
    "solver/risk/rescue_draws.py": 8,
    "solver/risk/gas.py": 8,
}


@dataclass(frozen=True)
class Mutant:
    """One break: where, what stands there, and what is put in its place."""

    path: str
    inside: str  # the function it is in
    line: int
    start: int  # bytes from the file's beginning
    old: str
    new: str
    text: str  # of its line

    @property
    def name(self) -> str:
        """Return what the break is called, whatever number its line has."""
        old, new = (" ".join(part.split()) for part in (self.old, self.new))
        return f"{self.path} {self.inside}: {old} -> {new} in: {self.text}"


OPPOSITE: dict[type[ast.cmpop], str] = {
    ast.Lt: ">=",
    ast.LtE: ">",
    ast.Gt: "<=",
    ast.GtE: "<",
    ast.Eq: "!=",
    ast.NotEq: "==",
    ast.Is: "is not",
    ast.IsNot: "is",
    ast.In: "not in",
    ast.NotIn: "in",
}
OTHER_CALL = {"min": "max", "max": "min", "any": "all", "all": "any"}
OTHER_SIGN: dict[type[ast.operator], str] = {
    ast.Add: "-",
    ast.Sub: "+",
    ast.Mult: "/",
    ast.Div: "*",
}
NAMES = (ast.Name, ast.Starred)


@cache
def _source(path: str) -> bytes:
    """Return a module's text as it was when the run began."""
    return (ROOT / path).read_bytes()


def mutants(path: str) -> list[Mutant]:
    """Return every break of a module, in the order of its text."""
    text = _source(path)
    lines = text.splitlines(keepends=True)
    starts = [0, *itertools.accumulate(len(line) for line in lines)]
    found: dict[tuple[int, str, str], Mutant] = {}
    for node, new, inside in _walk(ast.parse(text), "module"):
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[(node.end_lineno or 0) - 1] + (node.end_col_offset or 0)
        old = text[start:end].decode()
        line = lines[node.lineno - 1].decode().strip()
        found[start, old, new] = Mutant(path, inside, node.lineno, start, old, new, line)
    return [found[key] for key in sorted(found)]


def _entries() -> Iterator[tuple[str, str, str, int]]:
    """Yield the breaks that people thought of: path, old, new, and how often old stands there."""
    rows: dict[str, list[tuple[str, str]]] = tomllib.loads(ARGUED.read_text())["by_hand"]
    for path, breaks in rows.items():
        text = _source(path).decode() if (ROOT / path).exists() else ""
        yield from ((path, old, new, text.count(old)) for old, new in breaks)


def by_hand(prefixes: tuple[str, ...] = ("",)) -> list[Mutant]:
    """Return the breaks that people thought of, of the paths that begin so."""
    rows = [row for row in _entries() if row[0].startswith(prefixes)]
    return [_in_text(path, old, new) for path, old, new, count in rows if count == 1]


def _in_text(path: str, old: str, new: str) -> Mutant:
    """Return a break of words that stand in a module once."""
    text = _source(path).decode()
    before = text[: text.index(old)]
    line = before.count("\n") + 1
    return Mutant(
        path, "by hand", line, len(before.encode()), old, new, old.strip().splitlines()[0]
    )


Break = tuple[ast.expr | ast.stmt, str]


def _walk(node: ast.AST, inside: str) -> Iterator[tuple[ast.expr | ast.stmt, str, str]]:
    """Yield each break of a tree, leaving out what is only typed or said."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        inside = node.name
    for broken, new in _breaks(node):
        yield broken, new, inside
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return  # a zip whose lengths are equal by the line before
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not isinstance(child, ast.JoinedStr):
                yield from _walk(child, inside)


def _breaks(node: ast.AST) -> Iterator[Break]:  # noqa: PLR0912 (a table of operators)
    """Yield what may be put in the place of a node, or of a part of it."""
    match node:
        case ast.Compare(left=left, ops=[op], comparators=[right]):
            yield node, f"{_text(left)} {OPPOSITE[type(op)]} {_text(right)}"
        case ast.Compare(left=left, ops=[first, second], comparators=[middle, right]):
            yield node, ast.unparse(ast.Compare(left, [first], [middle]))
            yield node, ast.unparse(ast.Compare(middle, [second], [right]))
        case ast.BoolOp(op=op, values=values):
            for k in range(len(values)):
                rest = values[:k] + values[k + 1 :]
                yield node, f"({ast.unparse(ast.BoolOp(op, rest) if len(rest) > 1 else rest[0])})"
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield node, f"bool({ast.unparse(operand)})"
        case ast.Constant(value=bool() as value):
            yield node, repr(not value)
        case ast.Constant(value=int() | float() as number):
            yield node, repr(_moved(number))
        case ast.BinOp(left=left, op=op, right=right) if type(op) in OTHER_SIGN:
            yield node, f"({_text(left)} {OTHER_SIGN[type(op)]} {_text(right)})"
        case ast.Call(func=ast.Name(id=name) as called) if name in OTHER_CALL:
            yield called, OTHER_CALL[name]
        case ast.List(elts=[_, _, *_] as rows) if all(isinstance(r, NAMES) for r in rows):
            for k in range(len(rows)):
                yield node, ast.unparse(ast.List(rows[:k] + rows[k + 1 :]))
        case ast.If(test=test, body=body) if not isinstance(body[0], ast.Expr):
            yield test, "False"
        case ast.comprehension(ifs=tests):
            yield from ((test, "True") for test in tests)
        case ast.Expr(value=ast.Yield() | ast.YieldFrom()):
            yield node, "yield from ()"
        case ast.AugAssign():
            yield node, "pass"


def _text(node: ast.expr) -> str:
    """Return an operand as source; what binds looser than a comparison needs its brackets."""
    text = ast.unparse(node)
    return (
        f"({text})" if isinstance(node, ast.BoolOp | ast.IfExp | ast.Compare | ast.BinOp) else text
    )


def _moved(number: float) -> float:
    """Return a number moved by a half, or by one where it is that small."""
    if isinstance(number, int):
        return number + max(1, abs(number) // 2)
    return number * 1.5 if number else 1.0


def _tests_of(path: str) -> tuple[str, ...]:
    return next(tests for prefix, tests in ROOMS.items() if path.startswith(prefix))


def _copy(folder: Path) -> Path:
    """Copy what the tests need into a folder of its own."""
    for name in ("events", "solver", "service", "tests"):
        skip = shutil.ignore_patterns("__pycache__", ".hypothesis")
        shutil.copytree(ROOT / name, folder / name, ignore=skip)
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def _passes(tree: Path, tests: tuple[str, ...], broken: str = "") -> bool:
    """Run tests in a tree, in this process (a child that ends with it); the first failure ends."""
    os.chdir(tree)
    sys.dont_write_bytecode = False
    sys.path.insert(0, str(tree))
    load_anew(tree, module_of(broken))
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # most of a run is loading what it needs not
    options = ("-q", "-x", "-m", WITHOUT, "-p", "pytest_timeout", f"--timeout={SLOWEST_S}")
    with Path(os.devnull).open("w") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
        code = pytest.main([*options, *tests])
    where = sys.modules.get(module_of(broken))
    assert where is None or Path(str(where.__file__)).is_relative_to(tree), where
    return code == pytest.ExitCode.OK


def _child(work: Callable[[], bool]) -> int:
    """Fork a child that ends with 0 if its work says yes, 1 if no, 3 if it could not be done.

    The child has all that is slow to import already, and of ours what no break has touched.
    """
    pid = os.fork()
    if pid:
        return pid
    os.nice(5)
    try:
        os._exit(0 if work() else 1)
    except BaseException:
        os._exit(3)


def survives(tree: Path, mutant: Mutant) -> bool:
    """Return whether the tests of a mutant's room pass with it in place."""
    module = tree / mutant.path
    text = _source(mutant.path)
    end = mutant.start + len(mutant.old.encode())
    assert text[mutant.start : end].decode() == mutant.old, f"{mutant.name}: its place is gone"
    module.write_bytes(text[: mutant.start] + mutant.new.encode() + text[end:])
    shutil.rmtree(module.parent / "__pycache__", ignore_errors=True)
    try:
        return _passes(tree, _tests_of(mutant.path), mutant.path)
    finally:
        module.write_bytes(text)
        shutil.rmtree(module.parent / "__pycache__", ignore_errors=True)


def _chosen(paths: list[str]) -> list[Mutant]:
    """Return every mutant of the paths given; of none given, the usual list."""
    if "by-hand" in sys.argv:
        return by_hand(tuple(a for a in sys.argv if a.startswith(OURS)) or ("",))
    if paths:
        steps = [path.partition(":") for path in paths]
        return [m for path, _, step in steps for m in mutants(path)[:: int(step or 1)]]
    whole = [m for path in WHOLE for m in mutants(path)]
    sampled = [m for path, step in SAMPLED.items() for m in mutants(path)[::step]]
    return [*whole, *sampled, *by_hand()]


def mutate() -> str:
    """Try every chosen break; print those that no test notices."""
    paths = [a for a in sys.argv[1:] if ".py" in a]
    rows: list[dict[str, str]] = tomllib.loads(ARGUED.read_text())["argued"]
    argued = {row["break"]: row["because"] for row in rows}
    chosen = _chosen(paths)
    load_all()
    with tempfile.TemporaryDirectory() as folder:
        trees = [_copy(Path(folder) / str(k)) for k in range(AT_ONCE)]
        rooms = sorted({_tests_of(m.path) for m in chosen})
        whole = _side_by_side(trees, [partial(_passes, tests=tests) for tests in rooms])
        if not all(whole):
            raise RuntimeError(f"without any break: {dict(zip(rooms, whole, strict=True))}")

        def say(number: int, lives: bool) -> None:
            mutant = chosen[number]
            if lives:
                note = f" (argued: {argued[mutant.name]})" if mutant.name in argued else ""
                print(f"survives: line {mutant.line}, {mutant.name}{note}", flush=True)

        lives = _side_by_side(trees, [partial(survives, mutant=m) for m in chosen], say)
        alive = [m for m, alive in zip(chosen, lives, strict=True) if alive]
    names = {m.name for m in alive}
    stale = set(argued) & ({m.name for m in chosen} - names)
    there = {m.name for path in (*WHOLE, *SAMPLED) for m in mutants(path)}
    stale |= set(argued) - there - {m.name for m in by_hand()}
    for name in sorted(stale):
        print(f"argued, but noticed or gone: {name}", flush=True)
    lost = [(path, old, count) for path, old, _, count in _entries() if count != 1]
    for path, old, count in lost:
        print(f"by hand, but stands {count} times in {path}: {old!r}", flush=True)
    unargued = len(names - set(argued))
    said = f"{len(chosen)} breaks, {len(alive)} survive, {unargued} of them not argued"
    return f"{said}; {len(lost)} entries by hand without their one place" if lost else said


def _side_by_side(
    trees: list[Path],
    works: list[Callable[[Path], bool]],
    say: Callable[[int, bool], None] = lambda number, answer: None,
) -> list[bool]:
    """Do each work in a child and a tree of its own, as many at once as there are trees."""
    free, running = list(trees), {}
    answers: dict[int, bool] = {}
    left = list(enumerate(works))
    while left or running:
        while left and free:
            number, work = left.pop(0)
            tree = free.pop()
            running[_child(partial(work, tree))] = (number, tree)
        pid, status = os.wait()
        number, tree = running.pop(pid)
        code = os.waitstatus_to_exitcode(status)
        if code not in (0, 1):
            raise RuntimeError(f"the tests could not be run: {works[number]}, {code}")
        answers[number] = code == 0
        say(number, answers[number])
        free.append(tree)
    return [answers[k] for k in range(len(works))]
