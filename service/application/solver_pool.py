"""Processes in which solvers run."""

from __future__ import annotations

import os
from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import get_context


def solver_pool(workers: int) -> Executor:
    """Return worker processes that leave the machine to the pages."""
    return ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=os.nice, initargs=(15,)
    )
