"""Processes in which solvers run, renewed where one dies."""

from __future__ import annotations

import logging
import os
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from threading import Lock
from typing import TypeVar

TRIES = 5  # a killed worker takes every waiting solve of its pool with it
T = TypeVar("T")
log = logging.getLogger("noonfare")


def worker_processes(count: int) -> Executor:
    """Return worker processes that leave the machine to the pages."""
    return ProcessPoolExecutor(
        count, mp_context=get_context("spawn"), initializer=os.nice, initargs=(15,)
    )


class SolverPool:
    """Runs work in the workers that `make_workers` returns; asks it for new ones where they die."""

    def __init__(self, make_workers: Callable[[], Executor]) -> None:
        self._make_workers = make_workers
        self._workers = make_workers()
        self._renewing = Lock()
        self._closed = False

    def run(self, work: Callable[[str], T], payload: str) -> T:
        """Return what work makes of a payload; tried again where a worker dies."""
        for _ in range(TRIES - 1):
            workers = self._workers
            try:
                return workers.submit(work, payload).result()
            except BrokenProcessPool:
                self._renew(workers)
        return self._workers.submit(work, payload).result()

    def start(
        self,
        work: Callable[[str], T],
        payload: str,
        done: Callable[[Future[T]], None],
        *,
        tries: int = TRIES,
    ) -> None:
        """Begin work and return; `done` gets its future when it has ended, or died for good."""
        workers = self._workers

        def ended(future: Future[T]) -> None:
            if future.cancelled() or self._closed:
                return
            if tries > 1 and isinstance(future.exception(), BrokenProcessPool):
                log.warning("a solver died; its work is begun again")
                self._renew(workers)
                self.start(work, payload, done, tries=tries - 1)
            else:
                done(future)

        try:
            future = workers.submit(work, payload)
        except BrokenProcessPool as error:  # it died before, and nobody has noticed yet
            future = Future()
            future.set_exception(error)
        future.add_done_callback(ended)

    def close(self) -> None:
        """Stop solving, without waiting for what is under way."""
        self._closed = True
        self._workers.shutdown(wait=False, cancel_futures=True)

    def _renew(self, broken: Executor) -> None:
        """Put fresh workers in the place of broken ones, once, however many notice it."""
        with self._renewing:
            if self._workers is broken:
                self._workers = self._make_workers()
