"""Who asks: a key's digest or an address, so that solvers are shared out fairly between them."""

from __future__ import annotations

from contextvars import ContextVar

ASKER: ContextVar[str] = ContextVar("asker", default="")  # set around each request
