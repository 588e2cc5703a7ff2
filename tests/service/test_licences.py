"""Every library that is needed to run is listed with its licence."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import service

HOME = Path(service.__file__ or "").parents[1]


def test_every_direct_dependency_is_listed_with_its_licence() -> None:
    project = tomllib.loads((HOME / "pyproject.toml").read_text())["project"]
    needed = [*project["dependencies"], *project["optional-dependencies"]["postgres"]]
    listed = (HOME / "service" / "deploy" / "licences.md").read_text()

    for requirement in needed:
        name = re.split(r"[<>=\[ ]", requirement)[0].lower()
        assert re.search(rf"^\| {re.escape(name)} \| \w", listed, re.MULTILINE), name
