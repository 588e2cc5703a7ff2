"""The command that is shown to start the service again: its other options as they were given."""

from __future__ import annotations

import pytest
import uvicorn

from service import app
from service.settings import Settings
from tests.service.cli.conftest import Command


@pytest.mark.parametrize(
    ("given", "again"),
    [
        ("", ""),
        ("--port 8741 --data other-data", " --port 8741 --data other-data"),
        ("--host=10.0.0.2 --solvers 1 --forecast", " --solvers 1 --forecast"),
        ("--open --name a.test --name b.test", " --open --name a.test --name b.test"),
    ],
)
def test_it_starts_again_as_it_was_started_but_for_the_network(
    noonfare: Command, monkeypatch: pytest.MonkeyPatch, given: str, again: str
) -> None:
    made: list[Settings] = []
    monkeypatch.setattr(app, "create_app", made.append)
    monkeypatch.setattr(uvicorn, "run", lambda *_, **__: None)

    done = noonfare("serve", *given.split())

    assert done.returncode == 0, done.stderr
    (settings,) = made
    words = settings.start_for_network.removeprefix("noonfare serve --host 0.0.0.0")
    assert sorted(words.split()) == sorted(again.split())
