"""What a plan warns of, before anybody trusts it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from events.food_rules import KIDNEY_BEANS_HIGHEST_M, clock_limit_min, rules_of
from events.model import Event
from solver.notices import PlanWarning, WarningKind
from solver.plan import Placement, Turn
from solver.policy import PALE_FROM_C, SET_UP_MIN
from solver.risk.decision import crew_from
from solver.risk.rescue import RescuePlan
from solver.simulation.holding import falls_to_c
from solver.thermal.food import boiling_c

STANDS_MIN = 60  # a lidded pot that stands longer is looked at (judgement)
POTS_SLIDE_DEG = 20.0  # on a floor that is tipped more (judgement)
STRONG_WIND_M_S = 8.0  # a fresh breeze, 5 Beaufort (WMO's table): small trees sway
DRY_FROM = 0.6  # of the water in a pot: who comes a little late finds it dry (judgement)
WATER_LOST_MOST = 0.15  # of a pot's mass; more than that changes the dish (judgement)


def warnings_of(
    event: Event,
    placements: Sequence[Placement],
    turns: Sequence[Turn],
    rescue: RescuePlan,
    since: datetime | None = None,
) -> Iterator[PlanWarning]:
    """Yield everything a plan warns of, the whole day first; of pots from an instant on."""
    yield from _of_the_day(event)
    if since is None:
        yield from _set_up_early(event, placements)
    yield from _tipped(event, turns)
    yield from _blown_over(event, placements)
    for placement in placements:
        yield from _of_batch(event, placement, since)
    yield from _boils_away(event, placements)
    rules = rules_of(event)
    if event.site.food_rules != "strictest":
        yield PlanWarning(kind="food-rules", figures={"hot_c": rules.hot_holding_c})
    lost = dict.fromkeys(p.dish_id for p in placements if p.id in rescue.unsaved_ids)
    if lost:
        won_of_100 = float(round(100 * rescue.one_more_dishes))
        won = {"won_of_100": won_of_100} if event.weather.is_forecast else {}
        yield PlanWarning(kind="too-few-rings", dish_ids=tuple(lost), figures=won)


def _of_the_day(event: Event) -> Iterator[PlanWarning]:
    if not event.weather.hours:
        yield PlanWarning(kind="no-weather")
    elif not event.weather.is_forecast:
        yield PlanWarning(kind="sky-supposed", figures={"ahead_days": event.weather.days_ahead})
    if not event.site.fire_rules_read:
        yield PlanWarning(kind="fire-rules-unread")
    if not event.site.emergency:
        yield PlanWarning(kind="nobody-to-call")
    beans = [d.id for d in event.dishes if d.kidney_beans == "boiled"]
    if beans and event.site.altitude_m > KIDNEY_BEANS_HIGHEST_M:
        figures = {"boil_c": float(round(boiling_c(event.site.altitude_m)))}
        yield PlanWarning(kind="beans-boil-cool", dish_ids=tuple(beans), figures=figures)
    typical = [c.id for c in event.cookers if c.on_sun and not c.is_measured]
    if typical:
        yield PlanWarning(kind="unmeasured", cooker_ids=tuple(typical))


def _set_up_early(event: Event, placements: Sequence[Placement]) -> Iterator[PlanWarning]:
    """Warn where the crew's hours leave too few minutes for setting up before the first load."""
    if not placements:
        return
    first_at = min(p.preheat_at or p.loaded_at for p in placements)
    begins_at, crew_at = first_at - timedelta(minutes=SET_UP_MIN), crew_from(event)
    if begins_at < crew_at:
        instants = {"begins_at": begins_at, "crew_at": crew_at, "cooking_at": first_at}
        yield PlanWarning(kind="set-up-early", instants=instants)


def _tipped(event: Event, turns: Sequence[Turn]) -> Iterator[PlanWarning]:
    """Warn of ovens that are tipped so far that pots on a fixed floor would slide."""
    ovens = [c.id for c in event.cookers if c.is_oven and c.glass_tilt_deg is None]
    tipped_deg = {
        name: max(
            (
                90.0 - t.to_elevation_deg
                for t in turns
                if t.cooker_id == name and t.to_elevation_deg
            ),
            default=0.0,
        )
        for name in ovens
    }
    far = {name: deg for name, deg in tipped_deg.items() if deg > POTS_SLIDE_DEG}
    if far:
        figures = {"tipped_deg": max(far.values())}
        yield PlanWarning(kind="tipped-far", cooker_ids=tuple(far), figures=figures)


def _blown_over(event: Event, placements: Sequence[Placement]) -> Iterator[PlanWarning]:
    """Warn of a strong wind where nobody said what a cooker bears."""
    wind_m_s: dict[str, float] = {}
    for p in placements:
        cooker = event.cooker(p.cooker_id)
        if cooker.on_sun and cooker.wind_limit_m_s is None:
            most = _windiest_m_s(event, p.preheat_at or p.loaded_at, p.lifted_at)
            wind_m_s[cooker.id] = max(most, wind_m_s.get(cooker.id, 0.0))
    strong = {name: wind for name, wind in wind_m_s.items() if wind >= STRONG_WIND_M_S}
    if strong:
        figures = {"wind_m_s": max(strong.values())}
        yield PlanWarning(kind="strong-wind", cooker_ids=tuple(strong), figures=figures)


def _windiest_m_s(event: Event, start: datetime, end: datetime) -> float:
    """Return the strongest wind of the forecast between two instants; 0 without a forecast."""
    hours = sorted(event.weather.hours, key=lambda h: h.start)
    begins = [start, *(event.instant(h.start) for h in hours[1:]), end]
    return max(
        (
            hour.wind_m_s
            for hour, (holds_from, until) in zip(hours, itertools.pairwise(begins), strict=False)
            if holds_from < end and until > start
        ),
        default=0.0,
    )


def _of_batch(
    event: Event, placement: Placement, since: datetime | None = None
) -> Iterator[PlanWarning]:
    p, dish = placement, event.dish(placement.dish_id)
    since = since or p.loaded_at

    def warns(kind: WarningKind, **figures: float) -> PlanWarning:
        return PlanWarning(
            kind=kind,
            placement_id=p.id,
            dish_ids=(p.dish_id,),
            figures={"batch": p.batch, "batches": p.batches, **figures},
        )

    oven_c = p.curve[0].body_c if p.curve else None
    if dish.needs_body_c and oven_c is not None and oven_c < dish.needs_body_c - PALE_FROM_C:
        yield warns("pale", oven_c=round(oven_c), needed_c=dish.needs_body_c)
    reached_c = falls_to_c(event, dish, p.curve, since=since, until=min(p.done_at, p.lifted_at))
    if math.isfinite(reached_c):
        hot_c = rules_of(event).hot_holding_c
        yield warns("warmed-again", reached_c=round(reached_c), limit_c=hot_c)
    if p.cautious_at is None or p.cautious_at > p.served_at:
        on_gas = "burner" in p.route
        on_sun: WarningKind = "late-on-a-poor-day" if dish.suits_gas else "late-beyond-gas"
        yield warns("late-on-gas" if on_gas else on_sun)
    warm_min = p.between_5_and_60_min
    limit_min = clock_limit_min(event, dish)
    if dish.hazardous and warm_min > limit_min:
        yield warns("do-not-serve", warm_min=warm_min, limit_min=limit_min)
    elif dish.hazardous and warm_min > limit_min // 2:  # judgement: half of what is ever served
        figures = {"warm_min": warm_min, "limit_min": limit_min // 2, "away_min": limit_min}
        yield warns("warm-long", **figures)
    standing_min = (p.served_at - (p.off_at or p.lifted_at)).total_seconds() / 60
    if dish.hazardous and dish.serve_hot and standing_min > STANDS_MIN:
        hot_c = rules_of(event).hot_holding_c
        yield warns("stands-long", standing_min=round(standing_min), hot_c=hot_c)
    in_pot_kg = dish.composition.water * p.mass_kg
    if _boils_dry(event, p):
        yield warns("boils-dry", water_kg=p.water_lost_kg, in_pot_kg=round(in_pot_kg, 2))
    if dish.hazardous and dish.start_c < 0:
        yield warns("loaded-frozen", start_c=dish.start_c)


def _boils_dry(event: Event, p: Placement) -> bool:
    dish = event.dish(p.dish_id)
    return dish.shape != "baked" and p.water_lost_kg > DRY_FROM * dish.composition.water * p.mass_kg


def _boils_away(event: Event, placements: Sequence[Placement]) -> Iterator[PlanWarning]:
    """Warn once of all pots that lose much water: how much, each one's card says."""
    lost_kg = {
        p.dish_id: p.water_lost_kg
        for p in sorted(placements, key=lambda p: p.water_lost_kg)
        if event.dish(p.dish_id).shape != "baked"
        and p.water_lost_kg > WATER_LOST_MOST * p.mass_kg
        and not _boils_dry(event, p)
    }
    if lost_kg:
        most_first = tuple(reversed(lost_kg))
        figures = {"water_kg": max(lost_kg.values())}
        yield PlanWarning(kind="boils-away", dish_ids=most_first, figures=figures)
