"""What the cookers take beside what there is to cook, before a plan is made."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import hour, listed, mass
from solver.feasibility.capacity import Takes


def takes_line(event: Event, takes: Takes) -> str:
    """Return what the cookers take by the first meal, baked and boiled; what to do if too little.

    What is too much is said first.
    """
    by = f"By {hour(event, min(m.start for m in event.meals))} on a clear day"
    never = [event.dish(d).name for d in takes.never_ids]
    can = [d for d in event.dishes if d.id not in takes.never_ids]
    if len(never) == len(event.dishes):
        return f"{by} none of your cookers has any of this ready."
    short, enough = list[str](), list[str]()
    if any(d.needs_body_c for d in can):
        tins = f"{takes.bakes} tinful{'' if takes.bakes == 1 else 's'}"  # a tin is filled anew
        if takes.bakes < takes.bakes_asked:
            short.append(
                f"your ovens bake {tins} at most, an oven one after another; this is "
                f"{takes.bakes_asked}. Bake less, bring another oven, or eat later."
            )
        else:
            enough.append(f"your ovens bake {tins} at most; this is {takes.bakes_asked}.")
    if not all(d.needs_body_c for d in can):
        boiled, food = mass(event, takes.boiled_kg), mass(event, takes.boiled_asked_kg)
        beside = " beside the baking" if takes.bakes_asked else ""
        said = f"your cookers boil about {boiled} at most{beside}; this is {food}."
        if takes.boiled_kg < takes.boiled_asked_kg:
            remedy = "Make fewer portions, bring more cookers or gas rings, or eat later."
            short.append(f"{said} {remedy}")
        else:
            enough.append(said)
    if never:
        short.append(f"none of your cookers has {listed(never, 'or')} ready.")
    first, *others = [*short, *enough]
    return " ".join([f"{by} {first}", *(said[:1].upper() + said[1:] for said in others)])
