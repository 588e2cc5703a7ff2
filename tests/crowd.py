"""Five hundred phones at one event, listening and pressing, beside solves.

A part of `python -m tests.long`. Each phone holds a line, fetches its page anew when there is news
for its helper, and presses now and then, as page.js does; whoever pressed fetches its page as well.
All is on this machine: the phones' own work is in the figures too.
"""

from __future__ import annotations

import asyncio
import os
import random
import resource
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from events.reading.samples import sample_text
from events.reading.write import write_event
from tests.hostile import memory_mb
from tests.process import ServiceProcess
from tests.scale import grown

PHONES, HELPERS = 500, 50
LASTS_S = float(os.environ.get("NOONFARE_TEST_SECONDS", "180"))
PRESS_EVERY_S = 240.0  # each phone, on the mean
SOLVE_EVERY_S = 15.0
FORM = "application/x-www-form-urlencoded"


@dataclass
class Crowd:
    """The phones, and what they met."""

    host: str
    port: int
    name: str
    presses_s: list[float] = field(default_factory=list)
    pages_s: list[float] = field(default_factory=list)
    news_s: list[float] = field(default_factory=list)
    refused: int = 0
    pressed_at: dict[str, float] = field(default_factory=dict)  # the last of each helper
    listening: int = 0

    async def ask(self, number: int, head: str, body: bytes = b"") -> tuple[int, float]:
        """Ask the service from a phone's address; return status and seconds."""
        began = time.perf_counter()
        reader, writer = await self._open(number)
        writer.write(
            f"{head} HTTP/1.1\r\nhost: {self.host}:{self.port}\r\nconnection: close\r\n"
            f"accept-encoding: gzip\r\ncontent-length: {len(body)}\r\n".encode()
        )
        kind = f"accept: application/json\r\ncontent-type: {FORM}\r\n" if body else ""
        writer.write(f"{kind}\r\n".encode() + body)
        answer = await reader.read(-1)
        writer.close()
        status = int(answer.split(b" ", 2)[1])
        self.refused += status != 200
        return status, time.perf_counter() - began

    async def phone(self, number: int) -> None:
        """Listen, fetch what is new, press now and then."""
        luck, helper = random.Random(number), f"h{number % HELPERS}"
        page = f"GET /e/{self.name}/jobs/{helper}"
        reader, writer = await self._open(number)
        writer.write(
            f"GET /e/{self.name}/live?helper={helper} HTTP/1.1\r\n"
            f"host: {self.host}:{self.port}\r\n\r\n".encode()
        )
        pressing = asyncio.create_task(self._presses(number, helper, luck))
        try:
            first = True
            while line := await reader.readline():
                if line != b"event: news\n":
                    continue
                if first:
                    first, self.listening = False, self.listening + 1
                    continue
                if helper in self.pressed_at:
                    self.news_s.append(time.perf_counter() - self.pressed_at[helper])
                self.pages_s.append((await self.ask(number, page))[1])
        finally:
            pressing.cancel()
            writer.close()

    async def _presses(self, number: int, helper: str, luck: random.Random) -> None:
        while True:
            await asyncio.sleep(luck.expovariate(1 / PRESS_EVERY_S))
            words = {"kind": "note", "note": "seen", "helper_id": helper}
            words["id"] = f"phone{number:04d}-{luck.randrange(10**9):09d}"
            body = urlencode(words).encode()
            status, took_s = await self.ask(number, f"POST /e/{self.name}/diary", body)
            self.presses_s.append(took_s)
            if status == 200:
                self.pressed_at[helper] = time.perf_counter()

    async def _open(self, number: int) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        # Two hundred addresses: five hundred phones behind one have keys, which these have not.
        of = (f"127.0.1.{number % 200 + 1}", 0)
        return await asyncio.open_connection(self.host, self.port, local_addr=of)


def crowd() -> str:
    """Have five hundred phones listen and press while days are planned; return what they met."""
    files = resource.getrlimit(resource.RLIMIT_NOFILE)[1]
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(6000, files), files))
    event = grown(12, 9, HELPERS)
    with tempfile.TemporaryDirectory() as data:
        service = ServiceProcess(Path(data), "--open")
        name = service.put_in(write_event(event))
        service.wait_for_plans(name)
        where = urlsplit(service.base)
        phones = Crowd(where.hostname or "", where.port or 0, name)
        memory = asyncio.run(_lasts(phones, service))
        service.stop()
    took = {"presses": phones.presses_s, "pages": phones.pages_s, "news": phones.news_s}
    said = "; ".join(f"{what} {_spread(times)}" for what, times in took.items())
    held = ", ".join(str(mb) for mb in memory)
    return f"{PHONES} phones for {LASTS_S:.0f} s: {said}; {phones.refused} refused; MB held: {held}"


async def _lasts(phones: Crowd, service: ServiceProcess) -> list[int]:
    """Let the phones come, then press for a while; return the memory held, ten times."""
    tasks = []
    for number in range(PHONES):
        tasks.append(asyncio.create_task(phones.phone(number)))
        if number % 25 == 24:
            await asyncio.sleep(0.2)
    while phones.listening < PHONES and not any(task.done() for task in tasks):
        await asyncio.sleep(0.1)
    memory, began, solve = list[int](), time.perf_counter(), 0
    while (passed_s := time.perf_counter() - began) < LASTS_S:
        assert not any(task.done() for task in tasks), "a line was cut"
        if passed_s >= solve * SOLVE_EVERY_S:
            text = sample_text("cook-off").replace("Sun cook-off", f"Day {solve}")
            await asyncio.to_thread(service.put_in, text)
            solve += 1
        if passed_s >= len(memory) * LASTS_S / 10:
            memory.append(await asyncio.to_thread(memory_mb, service.child.pid))
        await asyncio.sleep(0.1)
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
    return memory


def _spread(times_s: list[float]) -> str:
    times = sorted(times_s)
    assert times, "none came"
    half, most = times[len(times) // 2], times[len(times) * 99 // 100]
    return f"{len(times)}, half within {half * 1000:.0f} ms, 99 of 100 within {most * 1000:.0f} ms"
