"""Who has the database file open: services share it, putting a backup in its place needs it alone.

The lock is the system's own, so it ends with the process, however that ends.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from events.errors import Busy

IN_USE = "A service uses {file}. Stop it first: what people press now would be lost from view."


class Holding:
    """A hold on a database file, shared with other services or alone. Let it go when done."""

    def __init__(self, database: Path, *, alone: bool = False) -> None:
        database.parent.mkdir(parents=True, exist_ok=True)
        self._lock = os.open(f"{database}.in-use", os.O_CREAT | os.O_RDWR)
        if not _locked(self._lock, alone=alone):
            self.close()
            raise Busy(IN_USE.format(file=database))

    def close(self) -> None:
        """Let it go."""
        os.close(self._lock)


def _locked(file: int, *, alone: bool) -> bool:
    try:
        import fcntl  # noqa: PLC0415  not on every system; there, whoever restores must know
    except ImportError:
        return True
    with suppress(BlockingIOError):
        fcntl.flock(file, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        return True
    return False
