"""What can't be so, where it was typed on a page: by the fields' labels, never by a file's words.

Each takes the place of a file's sentence of the same kind. `{how}` is how such a field is typed.
"""

from __future__ import annotations

from events.fault_kinds import FaultKind
from service.text.fault_words import Words, own_words

_TINS = "Boil them for 30 minutes before, or use tins, and choose “boiled”."
_RAW_AS_THIS_KIND = "Take another kind of dish, or say that there is no raw meat or fish in it."
# How each kind of field is typed, where it is empty or can't be read.
HOW_TO_TYPE = {
    "text": "Type a few words.",
    "number": "Type a number, as 12 or 2.5.",
    "time": "Type a time, as 12:30.",
    "date": "Type a date, as 2026-11-28.",
    "tick": "Tick it or leave it.",
}
CHOOSE = "Choose one."

FORM: dict[FaultKind, Words] = {
    "no-such-food": own_words(
        "{value} is not in our table of foods",
        "Write the nearest of “Foods we know”, and what is special under “Also contains”.",
    ),
    # One value.
    "missing": own_words("is empty", "{how}"),
    "not-empty": own_words("is empty", "{how}"),
    "given-too": own_words("is given twice", "Keep one."),
    "id-taken": own_words("there is one of that name", "Give each its own name."),
    "not-in-file": own_words("{value} is not in this event", CHOOSE),
    "whole-number": own_words("{value} is not a whole number", "Type one, as 12."),
    "number": own_words("{value} is not a number", "Type one, as 12 or 2.5."),
    "not-a-number": own_words("{value} is not a number", "Type one, as 12 or 2.5."),
    "text": own_words("{value} is not text", "{how}"),
    "text-too-long": own_words("{value} is too long", "Type {most} letters at most."),
    "time": own_words("{value} is not a time", "Type one, as 12:30."),
    "date": own_words("{value} is not a date", "Type one, as 2026-11-28."),
    "list-too-long": own_words("is too many", "Keep {most} at most."),
    "list-too-short": own_words("is too few", "Give {least} at least."),
    "one-of": own_words("{value} is none of them", "Choose {choices:or}."),
    "at-least": own_words("{value} is too little", "Type {least} or more."),
    "at-most": own_words("{value} is too much", "Type {most} or less."),
    "over": own_words("{value} is too little", "Type more than {bound}."),
    "under": own_words("{value} is too much", "Type less than {bound}."),
    "step": own_words("{value} is not a multiple of {step}"),
    "not-understood": own_words("{value} can’t be taken as it is", "{how}"),
    "whole-from-to": own_words("{value} is not a whole number from {least} to {most}"),
    # The day.
    "not-after": own_words("{value} is not after {start}, when it begins", "Type a later time."),
    "outside-hours": own_words(
        "{value} is outside the crew’s hours, {opens} to {closes}",
        "Move it, or change the hours under Place and hours.",
    ),
    "nobody-may": Words(
        "nobody may work {cookers}", "Tick “{ability_words}” for an adult who is trained for it."
    ),
    "fixed-and-floating": own_words(
        "a talk with a time of its own can’t have what is for one whose time the plan chooses",
        "Empty “At”, or what is marked “where the plan chooses”.",
    ),
    "stage-without-time": own_words(
        "is for a talk with a time of its own", "Type “At”, or choose “To be seen” in its place."
    ),
    # Cookers and pots.
    "cooker-needs": own_words("this kind of cooker needs it", "{how_to_know}"),
    # Food.
    "no-such-allergen": Words(
        "is no allergen we know", "Tick one of the list; any other goes under “Also contains”."
    ),
    "raw-is-hazardous": own_words("raw meat and fish can spoil", _RAW_AS_THIS_KIND),
    "raw-middle": own_words(
        "raw meat and fish must reach {least_c} in the middle ({edition}); this is done at less",
        _RAW_AS_THIS_KIND,
    ),
    "raw-middle-by-name": own_words(
        "raw meat and fish must reach {least_c} in the middle ({edition}); this is done at less",
        _RAW_AS_THIS_KIND,
    ),
    "cooked-is-hazardous": own_words(
        "cooked, {foods:and} must be kept hot or cold, and this kind of dish is not",
        "Add it as another kind: what is baked as a cake or bread, what is kept hot as a stew.",
    ),
    "eggs-firm": own_words(
        "eggs must be firm, {least_c} in the middle, for guests who are under five, pregnant, old "
        "or ill; this is done at less",
        "Take another kind of dish.",
    ),
    "shape-needs": own_words("is empty", "Type how thick the largest piece is."),
    "raw-out-of-cold": own_words(
        "{value} is over {cold_c}: how long has the raw meat or fish been out of the cold?",
        "Type {cold_c} or less here, or “Minutes out of the cold”.",
    ),
    "cooked-out-of-cold": own_words(
        "{value} is over {cold_c}: how long has this cooked food been out of the cold?",
        "Type {cold_c} or less here, or “Minutes out of the cold”.",
    ),
    "which-beans": own_words(
        "beans: are there kidney beans among them, also white ones (cannellini)?",
        "Choose none, boiled or raw.",
    ),
    "beans-boil": own_words(
        "raw kidney beans must boil for {least} min or more (US FDA); this is cooked otherwise",
        _TINS,
    ),
    "beans-too-high": own_words(
        "at {altitude_m} water boils under {boil_c}, too cool for raw kidney beans "
        "(at most {most_m})",
        _TINS,
    ),
    "beans-for-the-vulnerable": own_words(
        "raw kidney beans are not cooked here for guests who are under five, pregnant, old or ill",
        _TINS,
    ),
    "held-for-the-vulnerable": own_words(
        "food that can spoil is held hot for {most_min} at most for guests who are under five, "
        "pregnant, old or ill",
        "Type {most_min:g}.",
    ),
    "meal-too-long": own_words(
        "{dish} would stand off the heat for {wave_min}; hot food may for {most_min} ({edition})",
        "Let people eat in {waves} sittings, a fresh pot for each; or end the meal sooner; or add "
        "a gas ring or an insulated box.",
    ),
}
