"""One real server on a free port, with the demo in it, for a real browser."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

EVENT = "harvest-lunch-2026-11-28"


class Running:
    """A server process that can be stopped as a dead battery would."""

    def __init__(self, data: Path) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        command = "from service.cli.main import main; main()"
        arguments = ["serve", "--demo", "--port", str(self.port), "--data", str(data)]
        with (data / "log").open("w") as log:
            self.child = subprocess.Popen(
                [sys.executable, "-c", command, *arguments], stdout=log, stderr=log
            )
        self.base = f"http://127.0.0.1:{self.port}"
        _wait_for_plan(self.base, self.child)

    def stop(self) -> None:
        self.child.terminate()
        self.child.wait(20)


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    running = Running(tmp_path_factory.mktemp("data"))
    yield running.base
    running.stop()


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Running]:
    """Yield a server that this test may stop."""
    running = Running(tmp_path)
    yield running
    running.stop()


def _wait_for_plan(base: str, child: subprocess.Popen[bytes]) -> None:
    for _ in range(300):
        assert child.poll() is None, "the server stopped"
        try:
            with urllib.request.urlopen(f"{base}/api/events/{EVENT}/plan") as answer:
                if json.load(answer)["state"] == "done":
                    return
        except OSError:
            pass
        time.sleep(0.2)  # another process starts: there is nothing else to wait on
    raise AssertionError("no plan within a minute")
