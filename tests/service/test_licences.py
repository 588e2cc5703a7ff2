"""Every library that is needed to run is listed with its licence, those that others bring too."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from importlib.metadata import requires
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import service

HOME = Path(service.__file__ or "").parents[1]


def needed(requirements: Iterable[str], extras: Iterable[str] = ()) -> set[tuple[str, str]]:
    """Return what requirements bring on this machine, as pairs of a library and its extra."""
    of = ("", *extras)
    found: set[tuple[str, str]] = set()
    for requirement in map(Requirement, requirements):
        marker = requirement.marker
        if marker is None or any(marker.evaluate({"extra": extra}) for extra in of):
            found |= {(requirement.name, extra) for extra in ("", *requirement.extras)}
    return found


def test_every_library_is_listed_with_its_licence() -> None:
    project = tomllib.loads((HOME / "pyproject.toml").read_text())["project"]
    optional = project["optional-dependencies"]["postgres"]
    text = (HOME / "service" / "deploy" / "licences.md").read_text()
    listed = set(re.findall(r"^\| \(?([\w-]+)\)? \| \w", text, re.MULTILINE))

    waiting, seen = needed([*project["dependencies"], *optional]), set[tuple[str, str]]()
    while waiting:
        name, extra = library = waiting.pop()
        seen.add(library)
        waiting |= needed(requires(name) or (), [extra]) - seen

    assert {canonicalize_name(name) for name, _ in seen} <= listed
