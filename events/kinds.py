"""What each kind of cooker is, and what each way of being done asks for: one row each.

A new kind of cooker is a row here, its words in service/text, its drawings and an entry of the
catalogue: DEVELOPERS.md says where. Its physics are the figures of its `Cooker`; nothing else asks
for a kind by name.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["parabolic", "box", "panel", "insulated", "burner"]
Heat = Literal["sun", "gas", "none"]
Ability = Literal["mirrors", "burner", "lift"]
Done = Literal["simmer", "core", "boil", "reheat", "melt"]


@dataclass(frozen=True)
class CookerKind:
    """What is true of every cooker of a kind, whatever its size."""

    heat: Heat  # "none" keeps heat and makes none
    has_body: bool  # a warm body of its own, whose loss is loss_w_k; else each pot loses heat
    concentrates: bool  # its bright spot burns and blinds: watched, covered, shown from far
    glazed: bool  # light falls through glass, which fogs, and may stand at a fixed tilt
    lights_the_pot: bool  # its mirrors show images of the pot: a larger pot catches more light
    ability: Ability  # what a helper must be allowed to do to work a trained one
    sized_by: Literal["diameter", "opening", "litres"]  # how people say how big it is
    requires: tuple[str, ...]  # figures that an event file must give
    scaled: tuple[str, ...]  # figures that grow with its opening, beside the light it gathers
    tips_about: Literal["middle", "front-edge", "nothing"]  # when it is tilted to the sun
    tips_past_level: bool  # near the zenith it may lean on to the other side
    symbol: str  # the drawing in symbols.html, without its "i-"


COOKER_KINDS: dict[Kind, CookerKind] = {
    "parabolic": CookerKind(
        heat="sun",
        has_body=False,
        concentrates=True,
        glazed=False,
        lights_the_pot=False,
        ability="mirrors",
        sized_by="diameter",
        requires=("aperture_m2",),
        scaled=(),
        tips_about="middle",
        tips_past_level=True,
        symbol="parabolic",
    ),
    "box": CookerKind(
        heat="sun",
        has_body=True,
        concentrates=False,
        glazed=True,
        lights_the_pot=False,
        ability="mirrors",
        sized_by="opening",
        requires=("aperture_m2", "loss_w_k"),
        scaled=("loss_w_k", "body_kj_k", "litres"),
        tips_about="front-edge",
        tips_past_level=True,
        symbol="box",
    ),
    "panel": CookerKind(
        heat="sun",
        has_body=False,
        concentrates=False,
        glazed=False,
        lights_the_pot=True,
        ability="mirrors",
        sized_by="opening",
        requires=("aperture_m2",),
        scaled=(),
        tips_about="front-edge",
        tips_past_level=False,
        symbol="panel",
    ),
    "insulated": CookerKind(
        heat="none",
        has_body=True,
        concentrates=False,
        glazed=False,
        lights_the_pot=False,
        ability="mirrors",
        sized_by="litres",
        requires=("loss_w_k",),
        scaled=(),
        tips_about="nothing",
        tips_past_level=False,
        symbol="insulated",
    ),
    "burner": CookerKind(
        heat="gas",
        has_body=False,
        concentrates=False,
        glazed=False,
        lights_the_pot=False,
        ability="burner",
        sized_by="litres",
        requires=("power_w",),
        scaled=(),
        tips_about="nothing",
        tips_past_level=False,
        symbol="burner",
    ),
}
HEATING_KINDS: tuple[Kind, ...] = tuple(k for k, v in COOKER_KINDS.items() if v.heat != "none")


@dataclass(frozen=True)
class DoneMode:
    """When a dish counts as done: what is measured, and which figure the file must give."""

    measured: Literal["cooking", "core", "boil"]  # minutes of cooking, a core's or water's heat
    requires: tuple[Literal["core_c", "ordinary_min"], ...] = ()
    cooked_before: bool = False  # to the reheating temperature of the food rules, and quickly
    burns_if_left: bool = False  # comes out at once when it is done, and is never moved on


DONE_MODES: dict[Done, DoneMode] = {
    "simmer": DoneMode(measured="cooking", requires=("ordinary_min",)),
    "core": DoneMode(measured="core", requires=("core_c",)),
    "boil": DoneMode(measured="boil"),
    "reheat": DoneMode(measured="core", cooked_before=True),
    "melt": DoneMode(measured="core", requires=("core_c",), burns_if_left=True),
}
