"""How the aiming card and its pin sit on each kind of cooker: a drawing and a sentence."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from markupsafe import Markup

from events.kinds import Kind

ON_THE_COOKER: dict[Kind, str] = {
    "parabolic": "Tie a flat stick across the rim so that it sticks out beside it. "
    "The card goes on the stick, outside the rim.",
    "box": "Tape it flat on the frame of the glass, at the upper edge.",
    "panel": "Tie a flat stick across the opening so that it sticks out beside it. "
    "The card goes on the stick.",
}


@dataclass(frozen=True)
class CardMount:
    """Where the card sits on a kind of cooker."""

    kind: Kind
    words: str
    drawing: Markup  # an SVG of its own


@cache
def card_mount(kind: Kind) -> CardMount | None:
    """Return how the card sits on a kind of cooker; None: the sun does not heat it."""
    if kind not in ON_THE_COOKER:
        return None
    drawn = (files("service") / "paper" / "card_mounts" / f"{kind}.svg").read_text("utf-8")
    return CardMount(kind, ON_THE_COOKER[kind], Markup(drawn))
