"""How the aiming card and its pin sit on each kind of cooker: a drawing and a sentence."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from markupsafe import Markup

from events.kinds import Kind
from events.model import Cooker
from service.text.cookers import COOKER_WORDS, DIAL, TWELVE_UP


@dataclass(frozen=True)
class CardMount:
    """Where the card sits on a kind of cooker, or the dial on one that can't be tilted."""

    name: str  # of the kind
    words: str
    twelve: str  # where its 12 goes
    drawing: Markup  # an SVG of its own


def card_mount(cooker: Cooker) -> CardMount | None:
    """Return how the card sits on a cooker; None: it is not turned to the sun."""
    words = COOKER_WORDS[cooker.kind]
    if not words.card:
        return None
    name = words.name.capitalize()
    if cooker.only_turned:
        return CardMount(f"{name} that can’t be tilted", *DIAL, _drawing("dial"))
    return CardMount(name, words.card, TWELVE_UP, _drawing(cooker.kind))


@cache
def _drawing(name: Kind | str) -> Markup:
    return Markup((files("service") / "paper" / "drawings" / f"{name}.svg").read_text("utf-8"))
