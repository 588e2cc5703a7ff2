"""Words for each kind of cooker: its name on screens, and what to mind at each work of the hand.

With its row in events/kinds.py, all that a new kind needs. Cautions say what to do, then what
not: common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from events.kinds import Kind
from events.model import Cooker
from events.provenance import Source


@dataclass(frozen=True)
class KindWords:
    """What people call a kind of cooker, and its cautions by work of the hand."""

    name: str
    works: str  # how it works, in a sentence that a child reads
    card: str = ""  # where its aiming card sits
    cautions: dict[str, str] = field(default_factory=dict)


COOKER_WORDS: dict[Kind, KindWords] = {
    "parabolic": KindWords(
        "mirror",
        "A mirror catches a whole bowl of sunlight and throws it onto one pot.",
        "Tie a flat stick across the rim so that it sticks out beside it. "
        "The card goes on the stick, outside the rim.",
        {
            "turn": "Stay behind it, in its shade. Don’t look into the bowl.",
            "turn level": "Almost level: stand beside it. Don’t look into the bowl, never lean "
            "over it: the light comes straight up.",
            "load": "Load it turned away from the sun. Nobody in front of the bowl.",
            "lift": "Turn the mirror away first, then lift. Gloves to the elbow.",
            "stir": "Stir from behind, in its shade. Gloves to the elbow.",
        },
    ),
    "box": KindWords(
        "box",
        "A box lets sunlight in through its glass and keeps the warmth inside.",
        "Tape it flat on the frame of the glass, at the upper edge.",
        {
            "turn": "Metal and glass burn. Gloves on. Don’t open the lid.",
            "tilt": "Two hands, slowly: pots slide unless their shelf swings.",
            "load": "Open the lid away from your face. Gloves on.",
            "lift": "Lid away from your face. No cold water on hot glass.",
        },
    ),
    "panel": KindWords(
        "panel",
        "A panel’s shiny wings throw sunlight onto a black pot under a clear cover.",
        "Tie a flat stick across the opening so that it sticks out beside it. "
        "The card goes on the stick.",
        {
            "turn": "Look at the pot, not into the wings. The pot burns.",
            "tilt": "Two hands, slowly: pots slide.",
            "load": "Look at the pot, not into the wings. Cover shut.",
            "lift": "Steam under the cover burns. Gloves on.",
            "stir": "Steam under the cover burns. Gloves on.",
        },
    ),
    "insulated": KindWords(
        "insulated box",
        "An insulated box makes no heat: it keeps a hot pot hot, like a thick coat.",
        cautions={"lift": "Two hands, gloves, lid on. Don’t open it until serving."},
    ),
    "burner": KindWords(
        "gas ring",
        "A gas ring burns gas. It helps where the sun is not enough.",
        cautions={
            "load": "Clear ground round the flame. Sleeves up, hair tied. "
            "Turn it down once it boils.",
            "lift": "Flame off first. Gloves on.",
            "stir": "Sleeves up, hair tied. Gloves on.",
        },
    ),
}
TWELVE_UP = "12 is at the upper edge when it is set on the sun."
DIAL = (
    "It has a dial in place of the card. Lay the dial level, on something that turns with the "
    "cooker. Only the shadow’s hour counts, where it crosses the numbers.",
    "12 is at the back, away from the sun.",
)
_SOURCES: dict[Source, str] = {
    "given": "given",
    "measured": "measured",
    "learnt": "measured on the day,",
}
# Works that ask for the same care as another.
_LIKE = {"preheat": "turn", "walk": "turn", "insulate": "lift", "move": "lift", "probe": "lift"}


def kind_name(kind: Kind) -> str:
    """Return what people call a kind of cooker."""
    return COOKER_WORDS[kind].name


def strength_source(cooker: Cooker) -> str:
    """Return where a cooker's strength comes from, in a word or two."""
    if not cooker.is_measured:
        return "typical, unmeasured"
    source = cooker.strength_provenance
    return f"{_SOURCES[source.kind]} {source.note}".strip()


def caution(cooker: Cooker, work: str) -> str:
    """Return what to mind at a cooker in a work of the hand, or nothing."""
    return COOKER_WORDS[cooker.kind].cautions.get(_LIKE.get(work, work), "")


def cautions(cooker: Cooker) -> list[str]:
    """Return what to mind at a cooker from turning to lifting, each with its work."""
    works = (("Turning", "turn"), ("Loading", "load"), ("Lifting", "lift"))
    return [f"{name}: {text}" for name, work in works if (text := caution(cooker, work))]
