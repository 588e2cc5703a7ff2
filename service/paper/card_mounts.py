"""How the aiming card and its pin sit on each kind of cooker: a drawing and a sentence."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from markupsafe import Markup

from events.kinds import Kind
from service.text.cookers import COOKER_WORDS


@dataclass(frozen=True)
class CardMount:
    """Where the card sits on a kind of cooker."""

    kind: Kind
    words: str
    drawing: Markup  # an SVG of its own


@cache
def card_mount(kind: Kind) -> CardMount | None:
    """Return how the card sits on a kind of cooker; None: it is not turned to the sun."""
    words = COOKER_WORDS[kind].card
    if not words:
        return None
    drawn = (files("service") / "paper" / "drawings" / f"{kind}.svg").read_text("utf-8")
    return CardMount(kind, words, Markup(drawn))
