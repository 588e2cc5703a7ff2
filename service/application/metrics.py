"""What is counted since the start, and its text for a collector (Prometheus' text form)."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from threading import Lock

BOUNDS_S = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 20.0)
Labels = tuple[tuple[str, str], ...]


class Metrics:
    """Requests by route and status, how long they took, solves by how they ended."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._requests: Counter[Labels] = Counter()
        self._took: dict[str, list[int]] = defaultdict(lambda: [0] * (len(BOUNDS_S) + 1))
        self._took_sum_s: dict[str, float] = defaultdict(float)
        self._solves: Counter[Labels] = Counter()

    def request(self, method: str, route: str, status: int, took_s: float) -> None:
        """Count a request."""
        labels = (("method", method), ("route", route), ("status", str(status)))
        with self._lock:
            self._requests[labels] += 1
            at = next((n for n, most in enumerate(BOUNDS_S) if took_s <= most), len(BOUNDS_S))
            self._took[route][at] += 1
            self._took_sum_s[route] += took_s

    def solve(self, lane: str, ended: str) -> None:
        """Count a solve: its lane, and how it ended."""
        with self._lock:
            self._solves[(("lane", lane), ("ended", ended))] += 1

    def solves(self) -> dict[Labels, int]:
        """Return how many solves ended how."""
        with self._lock:
            return dict(self._solves)

    def text(self, gauges: Mapping[str, float]) -> str:
        """Return everything counted, and some figures of this moment."""
        with self._lock:
            lines = [
                *_counter("noonfare_requests_total", self._requests.items()),
                *_counter("noonfare_solves_total", self._solves.items()),
                *self._histogram(),
            ]
        for name, value in gauges.items():
            lines += [f"# TYPE {name} gauge", f"{name} {value:g}"]
        return "\n".join(lines) + "\n"

    def _histogram(self) -> Iterable[str]:
        name = "noonfare_request_seconds"
        yield f"# TYPE {name} histogram"
        for route, counts in self._took.items():
            total = 0
            for most, count in zip((*map(str, BOUNDS_S), "+Inf"), counts, strict=True):
                total += count
                yield f'{name}_bucket{{route="{route}",le="{most}"}} {total}'
            yield f'{name}_sum{{route="{route}"}} {self._took_sum_s[route]:.3f}'
            yield f'{name}_count{{route="{route}"}} {total}'


def _counter(name: str, counts: Iterable[tuple[Labels, int]]) -> Iterable[str]:
    yield f"# TYPE {name} counter"
    for labels, count in counts:
        shown = ",".join(f'{key}="{value}"' for key, value in labels)
        yield f"{name}{{{shown}}} {count}"
