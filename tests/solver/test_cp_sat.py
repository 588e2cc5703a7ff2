"""CP-SAT is imported without pandas, and pandas stays what it is for everybody else."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.conftest import SAMPLES

SOLVES = """
import sys
from solver.cp_sat import cp_model
model = cp_model.CpModel()
a, b = model.new_bool_var("a"), model.new_int_var(0, 9, "b")
model.add(3 * a + b <= 7)
model.maximize(cp_model.LinearExpr.weighted_sum([a, b], [5, 1]))
solver = cp_model.CpSolver()
assert solver.solve(model) == cp_model.OPTIMAL
assert (solver.value(a), solver.value(b), solver.objective_value) == (1, 4, 9)
"""
UNTOUCHED = """
assert "pandas" not in sys.modules
import pandas
assert pandas.Series([1, 2]).sum() == 3
"""
TABLES = """
import pandas
from solver.cp_sat import cp_model
model = cp_model.CpModel()
some = model.new_bool_var_series("x", pandas.Index([3, 4]))
assert list(some.index) == [3, 4]
"""


@pytest.mark.parametrize("text", [SOLVES + UNTOUCHED, TABLES])
def test_a_model_is_solved_and_who_wants_pandas_has_it(text: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", text], capture_output=True, text=True, check=False, timeout=120
    )

    assert done.returncode == 0, done.stderr


@pytest.mark.slow
@pytest.mark.parametrize("name", SAMPLES)
def test_no_plan_needs_pandas(name: str) -> None:
    text = (
        "import sys\nfrom events.reading.event_file import read_event\n"
        "from events.reading.samples import sample_text\n"
        "from solver.planning.pipeline import make_plan\n"
        f"make_plan(read_event(sample_text({name!r})))\n" + UNTOUCHED
    )
    done = subprocess.run(
        [sys.executable, "-c", text], capture_output=True, text=True, check=False, timeout=300
    )

    assert done.returncode == 0, done.stderr
