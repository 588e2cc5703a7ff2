"""The built wheel, installed elsewhere, plans a sample; and the rooms keep their order."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(out), str(ROOT)],
        check=True,
        env=os.environ | {"PIP_DISABLE_PIP_VERSION_CHECK": "1"},
    )
    (built,) = out.glob("noonfare-*.whl")
    return built


@pytest.mark.slow
def test_the_wheel_holds_every_file_that_is_not_code(wheel: Path) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())

    for folder in (
        "events/samples",
        "events/catalogue",
        "service/web/templates",
        "service/web/static",
    ):
        for file in (ROOT / folder).iterdir():
            assert f"{folder}/{file.name}" in inside
    assert {f"{room}/py.typed" for room in ("events", "solver", "service")} <= inside


@pytest.mark.slow
def test_installed_elsewhere_it_plans_a_sample(wheel: Path, tmp_path: Path) -> None:
    # A bare environment that borrows only the libraries of this one, never our own packages.
    venv.create(tmp_path / "env", with_pip=False)
    python = tmp_path / "env" / "bin" / "python"
    site = next((tmp_path / "env" / "lib").glob("python*/site-packages"))
    zipfile.ZipFile(wheel).extractall(site)
    borrowed = [p for p in sys.path if p.endswith("site-packages")]
    (site / "borrowed.pth").write_text("\n".join(borrowed))

    code = "import solver; from service.cli.main import main; print(solver.__file__); main()"
    done = subprocess.run(
        [str(python), "-c", code, "plan", "school-day", "--json"],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )

    assert done.returncode == 0, done.stderr
    where, _, plan = done.stdout.partition("\n")
    assert where.startswith(str(tmp_path))
    assert len(json.loads(plan)["placements"]) == 3


def test_the_rooms_keep_their_order() -> None:
    lint = Path(sys.executable).with_name("lint-imports")

    done = subprocess.run([str(lint)], cwd=ROOT, capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stdout
