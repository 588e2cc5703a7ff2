"""The address at which phones reach this service, as far as a request tells."""

from __future__ import annotations

import socket

from fastapi import Request

THIS_COMPUTER = ("127.0.0.1", "localhost", "::1")
CHOSEN = "noonfare-at"  # which of this machine's addresses was chosen under Hand out


def phones_base_url(request: Request) -> str:
    """Return this service's address; empty where it is only this computer's name for itself.

    Then the address counts that was chosen in this browser, while it is one of this machine's.
    """
    if not is_loopback(request):
        return f"{request.url.scheme}://{request.url.netloc}"
    at = request.cookies.get(CHOSEN, "")
    if not at or at not in own_addresses():
        return ""
    return f"{request.url.scheme}://{at}" + (f":{request.url.port}" if request.url.port else "")


def is_loopback(request: Request) -> bool:
    """Return whether the page was asked for by an address that means this machine alone."""
    return request.url.hostname in THIS_COMPUTER


def own_addresses() -> list[str]:
    """Return this machine's own addresses in its networks; no packet is sent to find them."""
    found: dict[str, None] = {}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as line:
        try:
            line.connect(("192.0.2.1", 9))  # an address for examples: only the way out is looked up
            found[line.getsockname()[0]] = None
        except OSError:
            pass
    try:
        names = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
    except OSError:
        names = []
    found |= dict.fromkeys(str(name[4][0]) for name in names)
    return [address for address in found if not address.startswith("127.")]
