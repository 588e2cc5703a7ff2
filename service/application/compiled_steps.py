"""Loaded into the process that solver processes are forked from: physics compiled, if it can be.

`pip install noonfare[fast]` brings the compiler. What it made is kept beside the program, or in
the user's cache; where neither can be written (NUMBA_CACHE_DIR names a folder), numpy goes on.
"""

from __future__ import annotations

import logging

log = logging.getLogger(__name__)

try:
    from solver.simulation import compiled
except (ImportError, RuntimeError) as error:  # RuntimeError: nowhere to keep what is compiled
    log.info("physics by numpy: %s", error)
else:
    compiled.use()
