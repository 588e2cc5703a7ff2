"""Own cookers as a file, to send to another house."""

from __future__ import annotations

import tomli_w

from events.model import Cooker
from service.forms.event_form import own_row


def own_text(cookers: list[Cooker]) -> str:
    """Return cookers as the [[cooker]] tables of a file."""
    return tomli_w.dumps({"cooker": [own_row(c) for c in cookers]})
