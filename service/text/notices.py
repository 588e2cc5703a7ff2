"""What the solver has to say of a plan: refusals, warnings and trade-offs, as whole sentences.

A notice is a code with its figures. A figure is said by the unit its name ends in.
"""

from __future__ import annotations

from events.food_rules import CHILLED_C, CHILLED_WITHIN_MIN, rules_of
from events.model import Dish, Event
from service.text.crew import at_first
from service.text.formatting import clock, joined, listed, mass, temp
from solver.notices import CostKey, Notice, PlanWarning, Refusal, Tradeoff
from solver.plan import LevelKey, Plan, Unplaced
from solver.policy import MISS_STEP
from solver.scheduling.batches import may_cook
from solver.thermal.safety import CLOCK_TO_C

REFUSAL = {
    "makes-no-heat": "It only keeps food hot: something else must cook it first.",
    "no-oven": "It heats the pot only; this needs an oven at {needed_c}.",
    "not-for-this-dish": "It is not for this dish.",
    "kept-shut": "It is kept shut; this needs stirring every {stir_min}.",
    "kept-out": "The organiser keeps the dish out of it.",
    "held-elsewhere": "The organiser holds the dish elsewhere.",
    "out-of-action": "It is out of action.",
    "no-pot-for-it": "No pot on the list both suits this dish and fits here. Add one under Pots: "
    "what is baked needs a tin.",
    "pots-too-small": "The largest pot for it holds {pot_litres}; the smallest part of the dish is "
    "{batch_litres}.",
    "no-pot": "No pot for {batch_litres} fits it; it takes {cooker_litres} at most.",
    "no-sun": "There is no usable sun before the meal.",
    "oven-too-cool": "Its oven gets to {reached_c} after {empty_min} empty; this needs {needed_c}.",
    "never-done": "Not done by {until_at}: the middle reaches {reached_c} at most.",
    "too-late": "Loaded at {loaded_at} it would be done at {done_at}; the meal is at {meal_at}."
    "{binds}",
    "too-late-rest": "Loaded at {loaded_at} it would be done at {done_at}, then rest {rest_min}; "
    "the meal is at {meal_at}.{binds}",
    "too-long-warm": "It would be {warm_min} between {danger_zone}; the limit is {limit_min}. "
    "Put less into each pot, or start it in a stronger cooker if there is one.",
    "stands-too-long": "It would be {warm_min} between {danger_zone} to its last plate, most of it "
    "after it is done; the limit is {limit_min}. Serve it sooner, or serve it hot.",
    "too-windy": "The wind is over {limit_m_s} when it would have to cook.",
    "held-too-long": "It could not be kept until the meal: {limit_min} at most.",
    "closes-first": "It closes at {closes_at}; this would be done at {done_at}, on a slower day "
    "later. Take smaller pots, or let it stay open longer.",
    "goes-cold": "It would cool to {reached_c} by its last plate; a plan keeps hot food over "
    "{limit_c}, a little more than the rule. "
    "Serve in sittings, take an insulated box or a larger pot, or keep it out of the wind.",
    "begun-not-done": "It has begun, but is not done in time where it stands, and no ring can "
    "finish it.",
    "too-few-pots": "It needs {needed_count} pots at once ({pots}); there are {stock_count}.",
    "too-few-pots-1": "It needs {needed_count} pots at once ({pots}); there is {stock_count}.",
    "batches-collide": "It needs {needed_count} pots one after another, and {cookers} can't take "
    "them all before the meal. Make fewer portions, begin earlier, or add a cooker.",
    "taken": "It would be ready in time in {cookers}, but what comes first there takes the cooker, "
    "the pot or the helper: {dishes}.",
    "nobody-free": "It would be ready in time in {cookers}, but no helper or pot is free for it.",
}
WARNING = {
    "no-weather": "No weather given: planned for a clear sky. A cloudy day needs another plan.",
    "sky-supposed": "The sky was put in {ahead_days} days ahead; no forecast reaches so far. It is "
    "planned for, and nobody can say how likely it is. Put a forecast in when there is one.",
    "fire-rules-unread": "Local fire rules for this date: not ticked as read. Read them first.",
    "nobody-to-call": "Nobody is named to call when something goes wrong. Name an emergency "
    "contact, with a telephone number.",
    "set-up-early": "Cooking begins at {cooking_at}, the crew comes at {crew_at}: no time to set "
    "up. {crew} would set up before that, from {begins_at}: rope line, water, extinguisher, "
    "covers. Or let the crew come sooner.",
    "beans-boil-cool": "{dishes}: water boils at {boil_c} here, too cool to make dry kidney beans "
    "safe. Use tins, or beans that were boiled under pressure.",
    "unmeasured": "Typical, unmeasured: {cookers}. Times are wide until each is measured.",
    "tipped-far": "{cookers}: tipped up to {tipped_deg} off level to face the sun. On a fixed "
    "floor pots slide and spill: a shelf must swing and keep them level. Leave out a box that has "
    "none.",
    "late-on-a-poor-day": "{batch}: late under a poor sky. Keep a gas ring ready.",
    "late-beyond-gas": "{batch}: late under a poor sky, and no ring can cook it.",
    "late-on-gas": "{batch}: a weak flame makes it late. Put it on the ring sooner if you can.",
    "do-not-serve": "{batch}: {warm_min} between {danger_zone}, over {limit_min}. Do not serve it.",
    "warmed-again": "{batch}: hot through, it would cool to {reached_c} before it is done, and be "
    "warmed again. Under {limit_c} germs grow. Keep it hot on a ring, or don’t serve it.",
    "warm-long": "{batch}: {warm_min} between {danger_zone}, over a wise {limit_min}; it is thrown "
    "away at {away_min}. {quicker} into each pot.",
    "stands-long": "{batch}: will be off the heat {standing_min} with the lid on. Check halfway: "
    "below {hot_c}, reheat.",
    "loaded-frozen": "{batch}: it goes in frozen, at {start_c}. Thaw it in the cold first. "
    "If not, probe the thickest pieces: their middle lags far behind, and makes people ill if it "
    "is raw.",
    "boils-away": "Water boils away, up to {water_kg} from one pot: {dishes}. "
    "Add water, or take it off sooner.",
    "boils-dry": "{batch}: of {in_pot_kg} of water in it, {water_kg} would boil away before it is "
    "lifted. Left alone it boils dry, burns and smokes. Look every half hour and add boiling "
    "water, or give it a smaller mirror, a box or a later start.",
    "strong-wind": "{cookers}: wind up to {wind_m_s} while on the sun. Mirrors, panels and lids "
    "blow over and burn people. Weight and stake them, or don’t cook with them; write what each "
    "bears as its wind_limit_m_s.",
    "food-rules": "Food rules: {edition}; hot food over {hot_c}{beside_60}. "
    "Ask your own authority.",
    "pale": "{batch}: its oven is at {oven_c} when it goes in, not {needed_c}: a paler crust, and "
    "slower. Look at it, and probe its middle, before you lift it.",
    "too-few-rings": "Not enough gas rings: if it is cloudy, these have no backup: {dishes}."
    "{one_more}",
}
# In place of "warm-long" where a dish is served cold: most of it is while it stands.
STANDS_WARM = (
    "{batch}: {warm_min} between {danger_zone} by its last plate; germs grow, and at {away_min} it "
    "is thrown away. {cool_at_once} Or have it done nearer to its meal."
)
# In place of "boils-dry" where it would be dry long before.
BOILS_QUITE_DRY = (
    "{batch}: all {in_pot_kg} of water in it would boil away long before it is lifted; to stay wet "
    "it takes {water_kg} in all. Left alone it boils dry, burns and smokes. Look every half hour "
    "and add boiling water, or give it a smaller mirror, a box or a later start."
)
# Warnings that a phone folds, each under what it is about. Dangers are in none: they stand open.
TOPIC = {
    "no-weather": "no weather given",
    "sky-supposed": "no forecast yet",
    "unmeasured": "cookers not measured",
    "tipped-far": "boxes tipped far",
    "stands-long": "pots off the heat",
    "loaded-frozen": "loaded frozen",
    "boils-away": "water boils away",
    "food-rules": "food rules",
    "pale": "paler crusts",
    "too-few-rings": "too few gas rings",
}
TRADEOFF = {
    "nothing-better": "{paid}; nothing else is better.",
    "dearer-elsewhere": "{paid}; else it would {other}.",
    "cooker-taken": "{dishes} would {spared} in {cookers} at {loaded_at}, but {rivals} {has} it "
    "then.",
    "hands-or-pots-taken": "{dishes} would {spared} in {cookers} at {loaded_at}, but pots or hands "
    "are taken then.",
}
# What a dish pays, what it would pay elsewhere, and what it would be spared there.
PAID: dict[CostKey, str] = {
    "missed": "{dishes} {comes} late or {stands} too long on about {days}",
    "gas": "{dishes} {takes} {figure:.0f} min on gas",
    "short": "{dishes} {has_it} {figure:.0f} min less to spare than you asked for",
    "stale": "{dishes} {stands} {figure:.0f} min longer than ideal",
}
ELSE: dict[CostKey, str] = {
    "missed": "be late or stand too long more often",
    "gas": "take {figure:.0f} min more on gas",
    "short": "have {figure:.0f} min less to spare",
    "stale": "stand {figure:.0f} min longer",
}
SPARED: dict[CostKey, str] = {
    "missed": "be surer",
    "gas": "take {figure:.0f} min less on gas",
    "short": "have {figure:.0f} min more to spare",
    "stale": "stand {figure:.0f} min less",
}
SHARES = {
    0.05: "one day in twenty",
    0.1: "one day in ten",
    0.2: "one day in five",
    0.33: "a third of the days",
    0.5: "half the days",
    0.67: "two thirds of the days",
    0.8: "four days in five",
    1.0: "all days",
}
LEVEL: dict[LevelKey, str] = {
    "placed": "dishes placed, by priority",
    "missed": "expected misses and the price of gas, in steps of 3 of 100 dishes",
    "gas": "minutes on gas",
    "moved": "pots that were to go elsewhere, or at another time",
    "short": "minutes less to spare than you asked for",
    "stale": "minutes standing longer than ideal",
    "work": "minutes of work",
}
LITRES_A_QUART = 0.946352946
MILE_H_IN_M_S = 0.44704


def refusal(event: Event, notice: Refusal) -> str:
    """Return why a dish can't go into a cooker."""
    key: str = notice.kind
    if key == "too-late" and notice.figures["rest_min"]:
        key = "too-late-rest"
    if key == "too-few-pots" and notice.figures["stock_count"] == 1:
        key = "too-few-pots-1"
    return REFUSAL[key].format(**_said(event, notice))


def refusals(event: Event, unplaced: Unplaced) -> list[tuple[str, str]]:
    """Return why a dish found no place: cookers with one reason stand together.

    Where the timetable's reason names a cooker in which a smaller pot would do, that is its reason.
    """
    whole_day = [r for r in unplaced.reasons if r.cooker_id is None]
    named = {c for r in whole_day for c in r.cooker_ids}
    by_text: dict[str, list[str]] = {}
    for r in unplaced.reasons:
        if r.cooker_id is not None and r.cooker_id not in named:
            cooker = event.cooker(r.cooker_id).name
            by_text.setdefault(refusal(event, r), []).append(cooker)
    said = [(joined(names), text) for text, names in by_text.items()]
    return [("The timetable", refusal(event, r)) for r in whole_day] + said


def warning(event: Event, notice: PlanWarning) -> str:
    """Return what to know before anybody trusts the plan."""
    edition = rules_of(event).edition
    won = round(notice.figures.get("won_of_100", 0))
    # Summed over the dishes: from 100 on it is whole dishes.
    wins = f"win {won} points of 100" if won < 100 else f"have some {won // 100} more in time"
    one_more = f" One more ring would {wins}." if won > 0 else ""
    words = _warning_words(event, notice)
    return words.format(**_said(event, notice), edition=edition, one_more=one_more)


def warning_parts(event: Event, notice: PlanWarning) -> tuple[str, str]:
    """Return a batch's warning without its name: what is so, and what to do about it."""
    words = _warning_words(event, notice).removeprefix("{batch}: ").removesuffix(".")
    fact, _, remedy = words.partition(". ")
    said = _said(event, notice)
    return fact.format(**said), f"{remedy}.".format(**said) if remedy else ""


def _warning_words(event: Event, notice: PlanWarning) -> str:
    if notice.kind == "warm-long" and not any(event.dish(d).serve_hot for d in notice.dish_ids):
        return STANDS_WARM
    if notice.kind == "boils-dry" and notice.figures["water_kg"] >= notice.figures["in_pot_kg"]:
        return BOILS_QUITE_DRY
    return WARNING[notice.kind]


def tradeoff(event: Event, notice: Tradeoff) -> str:
    """Return what a cost is paid for."""
    other = ELSE[notice.other] if notice.other else ""
    rivals = [event.dish(d).name for d in notice.rival_dish_ids]
    said = _said(event, notice)
    words = TRADEOFF[notice.kind].format(
        **said | {"dishes": listed([event.dish(d).name for d in notice.dish_ids])},
        paid=_paid(event, notice),
        other=other.format(figure=notice.figures.get("other_figure", 0)),
        spared=SPARED[notice.cost].format(figure=notice.figures.get("spared_figure", 0)),
        rivals=listed(rivals),
        has="has" if len(rivals) == 1 else "have",
    )
    return words[:1].upper() + words[1:]


def can_be_told(plan: Plan, notice: Tradeoff) -> bool:
    """Return whether a trade-off says something: without a forecast no share of days is told."""
    return plan.risk is not None or notice.cost != "missed"


def _paid(event: Event, notice: Tradeoff) -> str:
    """Return what dishes pay: minutes, or a share of the days, on the mean of them."""
    names = [event.dish(d).name for d in notice.dish_ids]
    one = len(names) == 1 or notice.cost == "missed"
    share = notice.cost_figure * MISS_STEP / max(len(names), 1)
    return PAID[notice.cost].format(
        dishes=listed(names, "or" if notice.cost == "missed" else "and"),
        comes="comes" if one else "come",
        stands="stands" if one else "stand",
        takes="takes" if one else "take",
        has_it="has" if one else "have",
        days=SHARES[min(SHARES, key=lambda part: abs(part - share))],
        figure=notice.cost_figure,
    )


def _said(event: Event, notice: Notice) -> dict[str, str]:
    """Return a notice's names, figures and instants as the event says them."""
    dishes = [event.dish(d).name for d in notice.dish_ids]
    said = {name: figure(event, name, value) for name, value in notice.figures.items()}
    said |= {name: clock(event, at) for name, at in notice.instants.items()}
    return {
        "cookers": ", ".join(event.cooker(c).name for c in notice.cooker_ids),
        "dishes": ", ".join(dishes),
        "pots": " or ".join(event.pot(p).name.lower() for p in notice.pot_ids),
        "danger_zone": danger_zone(event),
        "crew": listed([h.name for h in at_first(event, notice.instants["cooking_at"])])
        if "cooking_at" in notice.instants
        else "",
        "cool_at_once": cool_at_once(event),
        "beside_60": beside_60(event),
        "binds": _binds(event, notice),
        "quicker": quicker(event, event.dish(notice.dish_ids[0])) if dishes else "",
        **said,
        "batch": batch_name(event, notice),
    }


def danger_zone(event: Event) -> str:
    """Return the temperatures between which food is not left for long."""
    return f"{temp(event, 5).split()[0]} and {temp(event, CLOCK_TO_C)}"


def quicker(event: Event, dish: Dish) -> str:
    """Return how a dish heats faster with what is there, before “into each pot”."""
    fit = [c for c in event.cookers if may_cook(c, dish) is None]
    if any(c.kind == "parabolic" for c in fit):
        return "Start it in a mirror, or put less"
    if any(c.on_gas for c in fit):
        return "Start it on a gas ring, or put less"
    return "Put less"


def _binds(event: Event, notice: Notice) -> str:
    """Return why a dish that is too late is not loaded sooner; an older plan does not know."""
    first_at, heating = (notice.instants.get(k) for k in ("first_at", "heating_from_at"))
    if notice.kind != "too-late" or first_at is None:
        return ""
    if first_at < notice.instants["loaded_at"]:
        return f" Loaded sooner, from {clock(event, first_at)} on, it is done no sooner."
    if heating is None:
        return " It can’t go in sooner: crew and sun are not there."
    oven = f"set on the sun at {clock(event, heating)}, its oven is hot enough only then"
    return f" It can’t go in sooner: {oven}."


def beside_60(event: Event) -> str:
    """Return why food is kept hot over another temperature than that up to which germs count."""
    hot_c, upto = rules_of(event).hot_holding_c, temp(event, CLOCK_TO_C)
    if hot_c > CLOCK_TO_C:
        return f" (germs are counted up to {upto}; this has some to spare)"
    return f" (germs are counted up to {upto}, to be sure)" if hot_c < CLOCK_TO_C else ""


def cool_at_once(event: Event) -> str:
    """Return what is done with food that is served cold, once it is cooked."""
    return (
        f"Cool it at once: its pot in ice water, stirred, under {temp(event, CHILLED_C)} within "
        f"{CHILLED_WITHIN_MIN} min at most (US FDA Food Code), then a cold box."
    )


def batch_name(event: Event, notice: Notice) -> str:
    """Return the name of the batch that a notice is about; nothing where it is about none."""
    count = int(notice.figures.get("batches", 1))
    name = event.dish(notice.dish_ids[0]).name if notice.dish_ids else ""
    return f"{name} {int(notice.figures['batch'])} of {count}" if count > 1 else name


def figure(event: Event, name: str, value: float) -> str:
    """Return a figure as the event says it, by the unit that its name ends in."""
    us = event.units == "us"
    if name.endswith("_c"):
        return temp(event, value)
    if name.endswith("_min"):
        return f"{value:.0f} min"
    if name.endswith("_kg"):
        return mass(event, value)
    if name.endswith("_litres"):
        return f"{value / LITRES_A_QUART:.1f} qt" if us else f"{value:.1f} litres"
    if name.endswith("_deg"):
        return f"{value:.0f}°"
    if name.endswith("_m_s"):
        return f"{value / MILE_H_IN_M_S:.0f} mph" if us else f"{value:g} m/s"
    return f"{value:g}"
