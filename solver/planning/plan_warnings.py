"""What a plan warns of, in words: before anybody trusts it."""

from __future__ import annotations

from events.model import Event
from solver.plan import Placement
from solver.policy import CLOCK_LIMIT_MIN
from solver.thermal.food import CLOCK_AMBER_MIN, FOOD_RULES

STANDS_MIN = 60  # a lidded pot that stands longer is looked at (judgement)
WATER_LOST_MOST = 0.15  # of a pot's mass; more than that changes the dish (judgement)


def not_saved(
    event: Event, placements: tuple[Placement, ...], lost: tuple[str, ...]
) -> tuple[str, ...]:
    """Return what to say of batches for which no gas ring is left."""
    foods = dict.fromkeys(event.dish(p.dish_id).name for p in placements if p.id in lost)
    if not foods:
        return ()
    return (f"Too few gas rings: on a poor day none is free in time for {', '.join(foods)}.",)


def warnings_of(event: Event, placements: tuple[Placement, ...]) -> tuple[str, ...]:
    """Return everything a plan warns of, the whole day first."""
    out = []
    if not event.weather.hours:
        out.append("No weather given: planned for a clear sky. A cloudy day needs another plan.")
    if not event.site.fire_rules_read:
        out.append("Local fire rules for this date: not ticked as read. Read them first.")
    typical = [c.name for c in event.cookers if c.on_sun and "typical" in c.origin]
    if typical:
        out.append(
            f"Typical, unmeasured: {', '.join(typical)}. Times are wide until each is measured."
        )
    for p in placements:
        dish = event.dish(p.dish_id)
        who = f"{dish.name} {p.batch} of {p.batches}" if p.batches > 1 else dish.name
        if p.cautious_at is None or p.cautious_at > p.served_at:
            out.append(f"{who}: late under a poor sky. Keep a gas ring ready.")
        if dish.hazardous and p.between_5_and_60_min > CLOCK_LIMIT_MIN:
            out.append(
                f"{who}: {p.between_5_and_60_min} min between 5 and 60 °C, over "
                f"{CLOCK_LIMIT_MIN}. Do not serve it."
            )
        elif dish.hazardous and p.between_5_and_60_min > CLOCK_AMBER_MIN:
            out.append(
                f"{who}: {p.between_5_and_60_min} min between 5 and 60 °C, over 120. "
                "Smaller pots, or start it in a mirror."
            )
        standing_min = (p.served_at - (p.off_at or p.lifted_at)).total_seconds() / 60
        if dish.hazardous and dish.serve_hot and standing_min > STANDS_MIN:
            hot = FOOD_RULES[event.site.food_rules].hot_holding_c
            out.append(
                f"{who}: stands {standing_min:.0f} min off the heat, lid on. Probe it half way: "
                f"under {hot:.0f} °C, back to heat."
            )
        if dish.shape != "baked" and p.water_lost_kg > WATER_LOST_MOST * p.mass_kg:
            out.append(f"{who}: {p.water_lost_kg:.1f} kg boils away. Add water, or turn it off.")
    rules = FOOD_RULES[event.site.food_rules]
    if event.site.food_rules != "strictest":
        out.append(
            f"Food rules: {rules.edition}; hot food over {rules.hot_holding_c:.0f} °C. "
            "Ask your own authority."
        )
    return tuple(out)
