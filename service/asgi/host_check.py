"""Which hosts an open service answers to: addresses, this machine's own names, what is named.

Where everybody on the network may change every event, a page from elsewhere could do so too, by
having its own name lead to this machine (DNS rebinding). It comes with that name as its host. A
number can't be led astray, so every address is answered: a container doesn't know the one at which
phones reach it.
"""

from __future__ import annotations

import socket
from collections.abc import Iterable
from ipaddress import ip_address

LOCALHOST = "localhost"
# Under these a router names the machines of its network; the public DNS has none of them.
ROUTERS_SUFFIXES = ("", ".local", ".lan", ".home", ".internal", ".home.arpa", ".localdomain")


def hosts_answered(named: Iterable[str]) -> frozenset[str]:
    """Return the names to which an open service answers: those named, and the machine's own."""
    own = socket.gethostname().lower()
    short = own.partition(".")[0]
    given = (name.strip().lower() for name in named)
    return frozenset({LOCALHOST, own, *(short + s for s in ROUTERS_SUFFIXES), *given} - {""})


def is_answered(host: str, names: frozenset[str]) -> bool:
    """Return whether a request's Host is one of the names, or an address; its port is no matter."""
    name = host.rpartition("]")[0].lstrip("[") if host.startswith("[") else host.partition(":")[0]
    try:
        ip_address(name)
    except ValueError:
        return name.lower().rstrip(".") in names
    return True
