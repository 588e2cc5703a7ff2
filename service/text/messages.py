"""Sentences that stand in many places: cautions, presses, probe orders."""

from __future__ import annotations

from events.diary import EntryKind
from events.food_rules import least_middle_c, rules_of
from events.model import Cooker, Dish, Event
from service.text.formatting import mass, temp
from solver.plan import LIGHT_JOBS, Placement

DRY_SOON_MIN = 180  # later than this nobody forgets a pot (judgement)

PRESSED: dict[EntryKind, str] = {
    "aimed": "Turned",
    "loaded": "Loaded",
    "stirred": "Stirred",
    "lid-opened": "Lid opened",
    "probed": "Probed",
    "done": "Done",
    "lifted": "Lifted",
    "served": "Served",
    "held": "Held hot",
    "discarded": "Discarded",
    "cloud": "Cloud over the sun",
    "sun": "Sun is back",
    "late": "Late",
    "out-of-action": "Out of action",
    "parked": "Turned away and covered",
    "gone": "Left",
    "to-burner": "Moved to the gas ring",
    "hurt": "Somebody is hurt",
    "fire": "Fire",
    "need-help": "Needs help",
    "note": "Note",
    "seen": "Has seen the plan",
    "read-changes": "Has read what is new",
    "undo": "Undone",
}
# What the big press is called after, and which entry it makes, by kind of job.
PRESS: dict[str, tuple[str, EntryKind]] = {
    "walk": ("Turned", "aimed"),
    "preheat": ("It is on the sun", "aimed"),
    "load": ("Loaded", "loaded"),
    "prepare": ("Done", "done"),
    "stir": ("Stirred", "stirred"),
    "probe": ("Lifted", "lifted"),
    "lift": ("Lifted", "lifted"),
    "insulate": ("Moved", "lifted"),
    "move": ("Moved", "to-burner"),
    "talk": ("Done", "done"),
    "round": ("Done", "done"),
    "serve": ("Served", "served"),
    "set-up": ("Ready", "done"),
    "pack-down": ("Packed", "done"),
    **dict.fromkeys(LIGHT_JOBS, ("Done", "done")),
}
CHILDREN = "Children only with a named adult. Nobody inside the rope line."
PROBE = "Times are computed. A probe in the middle of the food decides."
BURNS = "Burns: cool running water, then qualified help."
TIP = (
    "Shadow tip: move the cooker until the pin’s shadow ends on this ring at this hour of the "
    "card; “10 to 20” is halfway between."
)
TIP_TOWARDS = "“Towards 11¾”: turn it until the shadow on its level dial lies towards this hour."
CARD_READ = "Shadow tips: ring and hour of the aiming card."
NO_SHADOW = (
    "No shadow? Turn by the ruler, at the set times, lids shut. No sun for 20 min: say so "
    "to whoever runs the day, who decides about gas. Sun back: aim by the shadow again."
)
BOILS_DRY = "Look every half hour and add boiling water: it boils dry"
TOO_NEAR = "Somebody comes too near? Say stop. Turn it away from the sun."
LOCAL = "Local rules and licensed practice come first."


def burns_things(event: Event) -> bool:
    """Return whether something on the site can set fire to what is dry: a mirror or a flame."""
    return any(c.nature.concentrates or c.on_gas for c in event.cookers)


def tip(event: Event) -> str:
    """Return how the shadow's place is read, on the cards that an event's cookers have."""
    cookers = [c for c in event.cookers if c.on_sun]
    ways = {TIP_TOWARDS if c.only_turned else TIP: None for c in cookers}
    return " ".join(sorted(ways, key=[TIP, TIP_TOWARDS].index))


def tip_on_card(cooker: Cooker) -> str:
    """Return the same on a station's card, and what to do without a shadow."""
    place = (
        "on the level dial the pin’s shadow lies towards this hour"
        if cooker.only_turned
        else "the pin’s shadow ends at this ring and hour of the aiming card"
    )
    by_ruler = "No shadow: turn by the ruler, at these times. No sun for 20 min: say so."
    return f"Tip: {place}. {by_ruler}"


def probe_order(event: Event, dish: Dish) -> str:
    """Return what the probe must read before the dish is served, or nothing."""
    if dish.core_c is not None and not dish.hazardous:
        return f"Middle at {temp(event, dish.core_c)} or more"
    if dish.hazardous:
        rules = rules_of(event)
        order = f"Probe: {temp(event, least_middle_c(event, dish))} or more in the middle"
        if not dish.serve_hot:  # it may cool: its minutes are counted to the last plate
            return order
        return f"{order}, then keep over {temp(event, rules.hot_holding_c)}"
    if dish.done_mode.measured == "boil":
        return f"A real boil for {max(dish.hold_min, 1)} min"
    return ""


def steam(event: Event, p: Placement) -> str:
    """Return what a pot loses as steam, and when it would be dry; nothing where it does not boil.

    A pot that is dry before it is lifted loses no more than it holds: the rest is to be added.
    """
    if p.boil_dry_min is None:
        return ""
    in_pot_kg = event.dish(p.dish_id).composition.water * p.mass_kg
    if p.water_lost_kg >= in_pot_kg:
        added = mass(event, p.water_lost_kg)
        return f"All its water boils away before it is lifted. {BOILS_DRY}, {added} in all."
    said = f"{mass(event, p.water_lost_kg)} of water is lost as steam."
    if p.boil_dry_min <= DRY_SOON_MIN:
        said += f" Left on, it would boil dry {p.boil_dry_min} min after lifting time."
    return said


def probe_least(event: Event, dish: Dish) -> str:
    """Return what the probe must read at least, in the few words that a table has room for."""
    if dish.hazardous:
        return f"{temp(event, least_middle_c(event, dish))} or more"
    if dish.core_c is not None:
        return f"{temp(event, dish.core_c)} or more"
    return "a real boil" if dish.done_mode.measured == "boil" else ""
