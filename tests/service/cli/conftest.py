"""The command, run here: as its own process it only spends a second on starting."""

from __future__ import annotations

import sys
from collections.abc import Callable
from subprocess import CompletedProcess

import pytest

from service.cli.main import main
from tests.conftest import plan_of

Command = Callable[..., CompletedProcess[str]]


@pytest.fixture
def noonfare(monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Command:
    """Return `noonfare` as a function of its words: it says what was printed, and the status."""
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setattr("service.cli.planning.make_plan", plan_of)

    def run(*words: str) -> CompletedProcess[str]:
        monkeypatch.setattr(sys, "argv", ["noonfare", *words])
        status: object = 0
        try:
            main()
        except SystemExit as ended:
            status = ended.code
        printed = capfd.readouterr()
        return CompletedProcess(words, int(str(status or 0)), printed.out, printed.err)

    return run
