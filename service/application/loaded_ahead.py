"""Loaded into the process that others are forked from, and so held once: zones' shapes, physics.

`pip install noonfare[fast]` brings a compiler for physics. What it made is kept beside the
program, or in the user's cache; where neither can be written (NUMBA_CACHE_DIR names a folder),
numpy goes on.
"""

from __future__ import annotations

import logging

from events.reading.event_file import zone_at

log = logging.getLogger(__name__)

zone_at(0.0, 0.0)  # the first question loads the shapes of all
try:
    from solver.simulation import compiled
except (ImportError, RuntimeError) as error:  # RuntimeError: nowhere to keep what is compiled
    log.info("physics by numpy: %s", error)
else:
    compiled.use()
