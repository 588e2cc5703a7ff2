"""The command: what it prints, what it writes, and its exit status."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from events.reading.samples import sample_text
from tests.conftest import sample_plan
from tests.service.cli.conftest import Command

HARVEST = sample_text("harvest-lunch")


def test_plan_prints_the_table_and_ends_well(noonfare: Command) -> None:
    done = noonfare("plan", "harvest-lunch")

    assert done.returncode == 0, done.stderr
    assert "Bean stew" in done.stdout
    assert "proven" in done.stdout
    assert "probe" in done.stdout


def test_plan_as_json_is_the_plan_and_keeps_its_schema(noonfare: Command) -> None:
    done = noonfare("plan", "school-day", "--json")
    schema = json.loads(noonfare("schema", "plan").stdout)

    assert json.loads(done.stdout) == sample_plan("school-day").model_dump(mode="json")
    jsonschema.validate(json.loads(done.stdout), schema)


@pytest.mark.slow
def test_the_solver_is_loaded_where_something_is_solved_and_nowhere_else() -> None:
    """ortools, with pandas, takes longer to load than most commands take."""
    code = "import service.cli.main, sys; print(*({'ortools', 'pandas'} & {*sys.modules}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert not done.stdout.strip()


@pytest.mark.slow
def test_as_a_process_it_prints_the_same_plan_whatever_the_order_of_sets() -> None:
    command = [sys.executable, "-c", "from service.cli.main import main; main()"]
    runs = [
        subprocess.Popen(
            [*command, "plan", "school-day", "--json"],
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONHASHSEED": seed},
        )
        for seed in ("1", "2")
    ]

    printed = [run.communicate()[0] for run in runs]

    assert [run.returncode for run in runs] == [0, 0]
    expected = sample_plan("school-day").model_dump_json(indent=1) + "\n"
    assert printed == [expected, expected]


def test_what_cannot_be_placed_is_named_with_figures_and_status_three(
    tmp_path: Path, noonfare: Command
) -> None:
    done = noonfare("plan", "winter-refusal", "--out", str(tmp_path / "plan.json"))

    assert done.returncode == 3
    assert "Not placed: Pizza" in done.stdout
    assert "needs an oven at 250 °C" in done.stdout
    assert json.loads((tmp_path / "plan.json").read_text())["unplaced"]


def test_window_and_sheet_and_faults(noonfare: Command) -> None:
    window, sheet, faults = (noonfare(w, "school-day") for w in ("window", "sheet", "faults"))
    as_json = json.loads(noonfare("window", "school-day", "--json").stdout)

    assert "07:34 to 18:53" in window.stdout
    assert len(as_json) == 4
    jsonschema.validate(as_json, json.loads(noonfare("schema", "window").stdout))
    times = [line[4:9] for line in sheet.stdout.splitlines() if line.startswith("[ ]")]
    assert times == sorted(times)
    assert len(times) > 10
    assert "No faults" in faults.stdout


def test_faults_are_all_told_with_status_one_and_no_trace(
    tmp_path: Path, noonfare: Command
) -> None:
    file = tmp_path / "e.toml"
    file.write_text(HARVEST.replace("220", "99999").replace('"rice"', '"ryce"'))

    for word in ("faults", "plan", "window", "sheet"):
        done = noonfare(word, str(file))
        assert done.returncode == 1
        assert "altitude_m" in done.stderr
        assert "ryce" in done.stderr
        assert "Traceback" not in done.stderr

    listed = json.loads(noonfare("faults", str(file), "--json").stdout)
    assert {f["key"] for f in listed} >= {"altitude_m", "like"}


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("plan",), 2),
        (("bake", "harvest-lunch"), 2),
        (("schema", "cake"), 2),
        (("plan", "no-such-sample"), 1),
        (("plan", "nowhere.toml"), 1),
        (("plan", "/"), 1),
        (("plan", "school-day", "--out", "/nowhere/plan.json"), 1),
    ],
)
def test_misuse_has_its_status_and_a_plain_word(
    words: tuple[str, ...], status: int, noonfare: Command
) -> None:
    done = noonfare(*words)

    assert done.returncode == status
    assert done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.slow
def test_packages_that_are_not_ours_are_refused(tmp_path: Path) -> None:
    """Public packages called events and solver exist: importing one of them must not pass."""
    (tmp_path / "solver").mkdir()
    (tmp_path / "solver" / "__init__.py").write_text("")
    code = (
        "import sys, service.cli.main as c; import solver; "
        f"solver.__file__ = {str(tmp_path / 'solver' / '__init__.py')!r}; c.main()"
    )

    done = subprocess.run(
        [sys.executable, "-c", code, "plan"], capture_output=True, text=True, check=False
    )

    assert done.returncode == 1
    assert "environment of its own" in done.stderr


def test_the_sites_usable_sun_is_said_as_on_the_pages(noonfare: Command) -> None:
    said = "Usable sun 07:21 to 18:42"

    assert said in noonfare("plan", "harvest-lunch").stdout
    assert said in noonfare("sheet", "harvest-lunch").stdout
    assert "07:21 to 18:42" in noonfare("window", "harvest-lunch").stdout
