"""The service as a process of its own, as `noonfare serve` starts it, on a free port."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from tests.zygote import Forked, Zygote

COMMAND = [str(Path(sys.executable).with_name("noonfare"))]


class ServiceProcess:
    """A service on a data directory; ready once it is made, unless nobody waits for that."""

    def __init__(
        self, data: Path, *options: str, ready: bool = True, zygote: Zygote | None = None
    ) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        self.base = f"http://127.0.0.1:{port}"
        self._log = data / f"log-{port}"
        arguments = ["serve", "--port", str(port), "--data", str(data), *options]
        self.child: subprocess.Popen[bytes] | Forked
        if zygote is not None:
            self.child = zygote.start(arguments, self._log)
        else:
            with self._log.open("w") as out:
                self.child = subprocess.Popen(
                    [*COMMAND, *arguments], stdout=out, stderr=out, start_new_session=True
                )
        if ready:
            self.wait_until_ready()

    def wait_until_ready(self) -> None:
        """Wait until it answers."""
        while not self._answers():
            assert self.child.poll() is None, self._log.read_text()
            time.sleep(0.02)  # another process starts: there is nothing else to wait on

    def _answers(self) -> bool:
        try:
            self.get("/api/events")
        except OSError:
            return False
        return True

    def get(self, path: str) -> object:
        """Return a JSON answer."""
        with urllib.request.urlopen(self.base + path) as answer:
            return json.load(answer)

    def put_in(self, text: str) -> str:
        """Put an event file in; return the event's name."""
        kind = {"content-type": "application/toml"}
        request = urllib.request.Request(f"{self.base}/api/events", text.encode(), kind)
        with urllib.request.urlopen(request) as answer:
            return str(json.load(answer)["id"])

    def wait_for_plans(self, *names: str) -> None:
        """Wait until its solvers have planned all these events."""
        for name in names:
            while not self.is_planned(name):
                time.sleep(0.1)

    def is_planned(self, name: str) -> bool:
        """Return whether an event's plan is there."""
        answer = self.get(f"/api/events/{name}/plan")
        assert isinstance(answer, dict)
        return bool(answer["state"] == "done")

    def kill(self) -> None:
        """Stop the service and its solvers as a power cut would."""
        os.killpg(self.child.pid, signal.SIGKILL)
        self.child.wait()

    def stop(self) -> None:
        """Stop the service as Ctrl-C does."""
        os.killpg(self.child.pid, signal.SIGTERM)
        self.child.wait()
