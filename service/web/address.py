"""The address at which phones reach this service, as far as a request tells."""

from __future__ import annotations

from fastapi import Request

THIS_COMPUTER = ("127.0.0.1", "localhost", "::1")


def phones_base_url(request: Request) -> str:
    """Return this service's address; empty where it is only this computer's name for itself."""
    if request.url.hostname in THIS_COMPUTER:
        return ""
    return f"{request.url.scheme}://{request.url.netloc}"
