"""What a service on the open internet has to stand: hostile bodies, a flood, thousands of lines.

Parts of `python -m tests.long`. All traffic goes to a service started here, on this machine, and
ends by itself. Clients come from loopback addresses of their own, as strangers would.
"""

from __future__ import annotations

import asyncio
import http.client
import json
import os
import resource
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event, Thread
from urllib.parse import urlsplit

from events.reading.samples import sample_text
from events.reading.write import write_event
from tests.process import ServiceProcess
from tests.scale import grown

STRANGER, OTHER = "127.0.0.2", "127.0.0.1"
TOML, JSON = "application/toml", "application/json"
HEAD = 'title = "x"\ndate = 2026-11-28\n[site]\nlatitude_deg = 1\nlongitude_deg = 1\n'
BODIES: dict[str, tuple[str, str]] = {
    "dotted key": (TOML, ".".join(["a"] * 250_000) + " = 1"),
    "unknown keys": (TOML, "\n".join(f"key{n} = 1" for n in range(19_000))),
    "JSON keys": (JSON, json.dumps({f"key{n}": 1 for n in range(19_000)})),
    "deep arrays": (TOML, "a = " + "[" * 400_000),
    "deep JSON": (JSON, "[" * 400_000),
    "large number": (TOML, "a = " + "9" * 400_000),
    "long zone": (TOML, f'{HEAD}timezone = "{"a" * 400_000}"'),
    "long like": (TOML, f'{HEAD}[[dish]]\nid = "x"\nlike = "{"a" * 400_000}"'),
    "skyline": (TOML, f"{HEAD}skyline = [{'[1, 2], ' * 50_000}]"),
    "tables": (TOML, "[[dish]]\n" * 55_000),
    "open quotes": (TOML, 'a = """' + '\\"""' * 120_000),
    "too large": (TOML, "a" * 900_000),
    "too large a day": (TOML, write_event(grown(330, 150, 40))),
}


def call(
    service: ServiceProcess, method: str, path: str, body: str = "", *, kind: str = "", of: str
) -> tuple[int, str, float]:
    """Ask a service from an address; return status, answer and seconds."""
    began = time.perf_counter()
    line = http.client.HTTPConnection(
        urlsplit(service.base).netloc, timeout=120, source_address=(of, 0)
    )
    try:
        line.request(method, path, body.encode(), {"content-type": kind} if kind else {})
        answer = line.getresponse()
        text = answer.read().decode()
    except (OSError, http.client.HTTPException) as error:  # it may hang up on what is too large
        return 0, repr(error), time.perf_counter() - began
    finally:
        line.close()
    return answer.status, text, time.perf_counter() - began


class Beside:
    """Somebody else's page, asked again and again meanwhile."""

    def __init__(self, service: ServiceProcess, path: str = "/about") -> None:
        self._service, self._path = service, path
        self.took: list[float] = []
        self.failed = 0
        self.memory_mb = 0
        self._over = Event()
        self._thread = Thread(target=self._ask)
        self._thread.start()

    def end(self) -> str:
        """Stop asking; return how long pages took, and the most memory the service held."""
        self._over.set()
        self._thread.join()
        took = sorted(self.took)
        return (
            f"other pages half within {took[len(took) // 2] * 1000:.0f} ms, 99 of 100 within "
            f"{took[len(took) * 99 // 100] * 1000:.0f} ms of {len(took)}, {self.failed} failed; "
            f"memory {self.memory_mb} MB with all its processes"
        )

    def _ask(self) -> None:
        while not self._over.wait(0.06):
            status, _, took_s = call(self._service, "GET", self._path, of=OTHER)
            self.failed += status != 200
            self.took.append(took_s)
            self.memory_mb = max(self.memory_mb, memory_mb(self._service.child.pid))


def memory_mb(pid: int) -> int:
    """Return what a process and those it started hold, without what they share."""
    total = 0
    for process in (pid, *children(pid)):
        try:
            for line in Path(f"/proc/{process}/smaps_rollup").read_text().splitlines():
                if line.startswith("Pss:"):
                    total += int(line.split()[1])
        except OSError:
            continue
    return total // 1024


def children(pid: int) -> list[int]:
    """Return the processes that a process started, and those that they did."""
    try:
        tasks = Path(f"/proc/{pid}/task").iterdir()
        own = [int(c) for t in tasks for c in (t / "children").read_text().split()]
    except OSError:
        return []
    return own + [grandchild for child in own for grandchild in children(child)]


def hostile() -> str:
    """Send ten bodies of each kind, four at a time, and ask another page meanwhile."""
    with tempfile.TemporaryDirectory() as data:
        service = ServiceProcess(Path(data))
        beside = Beside(service)
        worst: dict[str, float] = {}
        for name, (kind, body) in BODIES.items():

            def send(_n: int, kind: str = kind, body: str = body) -> tuple[int, float]:
                status, _, took_s = call(
                    service, "POST", "/api/events", body, kind=kind, of=STRANGER
                )
                return status, took_s

            with ThreadPoolExecutor(4) as crowd:
                answers = list(crowd.map(send, range(10)))
            assert all(status in (0, 413, 422, 429) for status, _ in answers), (name, answers)
            worst[name] = max(took_s for _, took_s in answers)
        said = beside.end()
        service.stop()
    slowest = max(worst, key=lambda name: worst[name])
    return f"10 of each of {len(worst)} kinds: slowest {worst[slowest]:.2f} s ({slowest}); {said}"


def flood() -> str:
    """One client throws in forty cook-offs; another's plan and a day's re-plan come in time."""
    with tempfile.TemporaryDirectory() as data:
        service = ServiceProcess(Path(data), "--demo")
        day = "harvest-lunch-2026-11-28"
        service.wait_for_plans(day)
        text = sample_text("cook-off")
        statuses = [
            call(
                service,
                "POST",
                "/api/events",
                text.replace("Sun cook-off", f"Flood {n}"),
                kind=TOML,
                of=STRANGER,
            )[0]
            for n in range(40)
        ]
        beside = Beside(service)
        began = time.perf_counter()
        lunch = sample_text("school-day").replace("School day", "Somebody else's")
        name = json.loads(call(service, "POST", "/api/events", lunch, kind=TOML, of=OTHER)[1])["id"]
        replans = [
            call(service, "POST", f"/api/events/{day}/replans", of=OTHER)[2] for _ in range(3)
        ]
        service.wait_for_plans(name)
        waited_s = time.perf_counter() - began
        said = beside.end()
        service.stop()
    return (
        f"{statuses.count(201)} of 40 taken; another's plan after {waited_s:.1f} s; three re-plans "
        f"of a running day in {', '.join(f'{s:.1f}' for s in replans)} s; {said}"
    )


def lines() -> str:
    """Hold two thousand open lines; measure what they cost idle, and how late news are."""
    resource.setrlimit(
        resource.RLIMIT_NOFILE, (6000, resource.getrlimit(resource.RLIMIT_NOFILE)[1])
    )
    with tempfile.TemporaryDirectory() as data:
        service = ServiceProcess(Path(data), "--demo")
        name = "harvest-lunch-2026-11-28"
        service.wait_for_plans(name)
        said = asyncio.run(_hold(service, name, 2000))
        service.stop()
    return said


async def _hold(service: ServiceProcess, name: str, count: int) -> str:
    host, port = urlsplit(service.base).hostname or "", urlsplit(service.base).port
    request = f"GET /e/{name}/live HTTP/1.1\r\nhost: {host}:{port}\r\n\r\n".encode()
    arrived: list[float] = []

    async def line(n: int) -> None:
        # Forty addresses: a hundred phones behind one router would be limited without keys.
        of = (f"127.0.1.{n % 200 + 1}", 0)
        reader, writer = await asyncio.open_connection(host, port, local_addr=of)
        writer.write(request)
        try:
            while data := await reader.readline():
                if data == b"event: news\n":
                    arrived.append(time.perf_counter())
        finally:
            writer.close()

    tasks = []
    for n in range(count):
        tasks.append(asyncio.create_task(line(n)))
        if n % 50 == 49:
            await asyncio.sleep(0.2)
    while len(arrived) < count and not any(t.done() for t in tasks):
        await asyncio.sleep(0.1)
    before = _cpu_s(service.child.pid)
    await asyncio.sleep(30)
    share = (_cpu_s(service.child.pid) - before) / 30
    arrived.clear()
    began = time.perf_counter()
    press = {"id": "press-00001", "kind": "cloud", "at": "2026-11-28T08:30:00Z"}
    sent = json.dumps(press)
    path = f"/api/events/{name}/diary"
    await asyncio.to_thread(call, service, "POST", path, sent, kind=JSON, of=OTHER)
    while len(arrived) < count:
        await asyncio.sleep(0.05)
    late = sorted(at - began for at in arrived)
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
    return (
        f"{count} lines idle: {share:.1%} of a core; news on half within {late[count // 2]:.1f}"
        f" s, on all within {late[-1]:.1f} s"
    )


def _cpu_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


PARTS: dict[str, Callable[[], str]] = {"hostile": hostile, "flood": flood, "lines": lines}
