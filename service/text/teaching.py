"""What somebody who shows a cooker says of it: how it works, why it is as it is, how it is built.

One entry for each kind. No word here names a price, and no figure stands here but from a source
that is named: the watts of the day come from the solver.
"""

from __future__ import annotations

from dataclasses import dataclass

from events.kinds import Kind

PRICES = (
    "Prices are local: ask what these cost where you are before you tell a class. Much of it can "
    "be had second-hand."
)


@dataclass(frozen=True)
class Question:
    """Something to ask the pupils, and a short answer."""

    ask: str
    answer: str


@dataclass(frozen=True)
class Teaching:
    """What to say of a kind of cooker."""

    happens: tuple[str, ...]  # in words that a child reads
    why: tuple[Question, ...]  # why black, why glass, why shiny
    materials: tuple[str, ...]
    built_safely: str
    asks: tuple[Question, ...]
    sources: tuple[str, ...]


TEACHING: dict[Kind, Teaching] = {
    "parabolic": Teaching(
        happens=(
            "The bowl is a mirror. It catches the sunlight of a place as big as the bowl and "
            "throws all of it onto one small pot.",
            "So much light on so little pot makes the pot hot within minutes.",
            "The sun moves on. Somebody turns the bowl after it, again and again.",
        ),
        why=(
            Question(
                "Why shiny?",
                "A shiny bowl sends the light on to the pot. A dull one keeps it, where no pot is.",
            ),
            Question(
                "Why is the pot black?",
                "Black takes light in and makes heat of it. A shiny pot sends most of the light "
                "away again.",
            ),
            Question(
                "Why no glass?",
                "There is light enough without. Its weak point is wind, which cools the bare pot.",
            ),
        ),
        materials=(
            "a bowl, or ribs bent to its shape",
            "mirror foil, polished sheet or small pieces of mirror",
            "a stand that turns and tips, and stays where it is put",
            "a rest for the pot where the light comes together",
            "a black pot with a lid",
            "a cover for whenever nobody stands at it",
        ),
        built_safely="Build it in the shade. Carry and store it covered: it burns what lies in its "
        "bright spot, also a wall or dry grass.",
        asks=(
            Question(
                "Where does the light of the whole bowl come together, and who may touch that?",
                "At the pot. Nobody: it burns at once, and looking into the bowl blinds.",
            ),
            Question(
                "What happens if nobody turns it?",
                "The sun moves on, the bright spot leaves the pot, and the pot cools.",
            ),
            Question(
                "Why does it stop under a cloud, when it is still bright outside?",
                "Under a cloud light comes from everywhere. The bowl can gather only light that "
                "comes straight from the sun.",
            ),
        ),
        sources=(
            "About half of a mirror’s light gets into the pot: common practice, no published "
            "source. Printed tests lie between 0.11 (J. Renew. Energy 2021, 8944722) and 0.61.",
        ),
    ),
    "box": Teaching(
        happens=(
            "Sunlight goes in through the glass, falls on black metal and turns into heat.",
            "The glass lets light in and holds the heat back. Thick walls hold it back too.",
            "So it gets hot inside like an oven: slowly, and for a while it stays hot when a "
            "cloud comes.",
        ),
        why=(
            Question(
                "Why black?",
                "Black takes light in and makes heat of it. A white box would send it out again.",
            ),
            Question(
                "Why glass?",
                "Light goes through glass, warm air does not, nor does the heat that warm things "
                "give off. Two panes hold air between them, and lose less.",
            ),
            Question(
                "Why a shiny flap?", "It throws light into the box that would have missed it."
            ),
        ),
        materials=(
            "two boxes of card or wood, one inside the other",
            "wool, straw or crumpled paper between them, kept dry",
            "a pane of glass, or two with a gap",
            "a black metal tray for its floor",
            "a flap with foil, and a stick that holds it",
            "a black pot with a lid",
        ),
        built_safely="Grind or tape the edges of the glass. What stands inside must bear the heat: "
        "no foam, no plastic, no paint that smells.",
        asks=(
            Question(
                "Why do we open the lid so seldom?",
                "The hot air goes out at once, and it takes long to make it hot again.",
            ),
            Question(
                "Would a white pot cook as well?",
                "No: it sends light back. In a box it would still get warm from the hot air, but "
                "later.",
            ),
            Question(
                "Why does a box go on under a thin cloud when a mirror stops?",
                "It takes light from all of the bright sky, and its warm walls give heat back.",
            ),
        ),
        sources=(
            "An empty plain box gets to 110 to 120 °C, a better one to 140 °C: common practice, no "
            "published source. Figures of merit: Mullick, Kandpal and Saxena 1987, Solar Energy "
            "39:353 (from memory).",
        ),
    ),
    "panel": Teaching(
        happens=(
            "Shiny wings stand round a black pot. Each wing throws its light onto the pot, as if "
            "several suns shone on it.",
            "A clear cover round the pot keeps the warm air in.",
            "It is slow and gentle, and must be turned less often than a mirror.",
        ),
        why=(
            Question("Why shiny?", "So that light which would pass by turns to the pot."),
            Question(
                "Why is the pot black?",
                "Black takes light in and makes heat of it. A shiny pot sends most of the light "
                "away again.",
            ),
            Question(
                "Why a bag or a bowl over it?",
                "It lets the light in and keeps the wind out. Warm air stays with the pot.",
            ),
        ),
        materials=(
            "stiff card, cut and folded",
            "foil or shiny film, glued on smooth",
            "a black pot with a lid",
            "a heat-proof bag or a glass bowl over the pot: ordinary bags melt",
            "stones or pegs against the wind",
        ),
        built_safely="Fold and glue it in the shade: its wings dazzle.",
        asks=(
            Question(
                "What does the cover do when wind blows?",
                "It keeps the wind off the pot, so that its heat is not blown away.",
            ),
            Question(
                "Would a bigger pot cook as fast?",
                "No: more water needs more heat, though a bigger pot catches more of the light.",
            ),
            Question(
                "Why must the foil be smooth?",
                "Crumpled foil throws light everywhere; only what meets the pot counts.",
            ),
        ),
        sources=(
            "A good folded panel shows about eight images of the pot: common practice, no "
            "published source. One panel’s standard power was 46.85 W: “Solar cookers for "
            "developing countries: Mutoyi, Burundi”, Int. J. Energy Res.",
        ),
    ),
    "insulated": Teaching(
        happens=(
            "It makes no heat. A pot goes in that boils already, and the food goes on cooking in "
            "its own heat.",
            "Air that cannot move carries hardly any heat. Hay, wool and paper are full of it.",
            "So the sun cooker is free for the next pot.",
        ),
        why=(
            Question(
                "Why not black?", "No light comes in: colour does nothing. Thickness does it."
            ),
            Question("Why so thick?", "Each layer of still air makes the way out longer."),
            Question("Why a full pot?", "Much hot food cools slowly, a little cools fast."),
        ),
        materials=(
            "a box or a basket with a lid",
            "hay, wool or paper, dry, packed tight around the pot and over it",
            "a cloth that can be washed between pot and packing",
            "a pot with a lid that shuts well",
        ),
        built_safely="Only for food that was really boiling when it went in. It is probed before "
        "it is served: what cooled too far is not served.",
        asks=(
            Question("Where does its heat come from?", "From the sun: the pot brought it along."),
            Question(
                "What happens when we lift the lid to look?",
                "Heat goes out, and nothing in the box can bring it back.",
            ),
            Question(
                "What else at home works like this?",
                "A coat, a flask, a tea cosy: they keep warm what is warm.",
            ),
        ),
        sources=(
            "A full kettle in a box packed with paper fell from 100 to 77.8 °C in four hours: US "
            "Dept. of Agriculture, Office of Home Economics, 1918.",
        ),
    ),
    "burner": Teaching(
        happens=(
            "Gas burns, and the flame heats the pot from below.",
            "Much of the flame’s heat goes past the pot into the air.",
            "It is here for days on which the sun is not enough, so that all can eat.",
        ),
        why=(
            Question("Why a lid?", "Steam takes a lot of heat along. The lid keeps it in."),
            Question(
                "Why turn it down at the boil?",
                "Boiling water gets no hotter. A larger flame only makes more steam.",
            ),
            Question("Why a wind screen?", "Wind blows the flame’s heat away from the pot."),
        ),
        materials=(
            "a ring with its hose and regulator, sold as one",
            "a bottle of gas, upright, outside and in the shade",
            "firm level ground, cleared of dry grass",
            "an extinguisher and a fire blanket",
        ),
        built_safely="Nobody builds or mends a gas ring: it is bought, and tested for leaks after "
        "each change of bottle.",
        asks=(
            Question(
                "Where did the sun put this heat?", "Into plants, long ago; gas is from them."
            ),
            Question(
                "What is burnt when the sun cooks instead?", "Nothing, and nobody has to carry it."
            ),
            Question(
                "Why is there a ring at a sun event?", "So that the food is safe and on time."
            ),
        ),
        sources=(
            "Propane and butane give 46 MJ for each kilogram (from memory). A camping ring puts "
            "about 45 % of it into the pot (typical).",
        ),
    ),
}
