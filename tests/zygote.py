"""A process that has loaded the program and forks services from it.

What is killed a thousand times needs not load its libraries a thousand times: all that touches the
data happens after the fork. `python -m tests.zygote` is that process; `Zygote` speaks to it.
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

LOADED = ("alembic.command", "alembic.config", "uvicorn.protocols.http.auto", "service.app")


@dataclass(frozen=True)
class Forked:
    """A forked service, as far as `subprocess.Popen` is like it."""

    pid: int

    def poll(self) -> int | None:
        """Return 0 once it is gone."""
        return None if Path(f"/proc/{self.pid}").exists() else 0

    def wait(self) -> None:
        """Wait until it is gone."""
        while self.poll() is None:
            time.sleep(0.01)  # it is another process's child: there is nothing else to wait on


class Zygote:
    """Starts services that are ready soon."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.zygote"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def start(self, arguments: list[str], log: Path) -> Forked:
        """Start `noonfare` with some arguments, in this process's environment as it is now."""
        assert self._process.stdin
        assert self._process.stdout
        order = {"arguments": arguments, "log": str(log), "environment": dict(os.environ)}
        self._process.stdin.write(json.dumps(order) + "\n")
        self._process.stdin.flush()
        return Forked(int(self._process.stdout.readline()))

    def close(self) -> None:
        """Start no more."""
        assert self._process.stdin
        self._process.stdin.close()
        self._process.wait()


def main() -> None:
    """Fork a service for each line that comes in."""
    for name in LOADED:
        importlib.import_module(name)
    serve = importlib.import_module("service.cli.main").main
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody waits for those that are gone
    for line in sys.stdin:
        order = json.loads(line)
        pid = os.fork()
        if pid == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            os.setsid()
            log = os.open(order["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            for stream in (1, 2):
                os.dup2(log, stream)
            os.close(0)
            os.environ.update(order["environment"])
            sys.argv = ["noonfare", *order["arguments"]]
            serve()
            os._exit(0)
        print(pid, flush=True)


if __name__ == "__main__":
    main()
