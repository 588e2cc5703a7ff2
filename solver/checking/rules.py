"""The rules of a plan, checked against the event alone: no solver, no estimate, no options.

It runs on every plan before anyone sees it. Each rule is one function in `RULES` and yields a
record for each breach; none at all means the plan keeps its rules. Rules compute solar geometry
independently.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime, timedelta

from events.model import Cooker, Event
from solver import policy
from solver.checking.breach import Breach
from solver.checking.contest_rules import the_contest_is_kept
from solver.checking.context import Case, Use, minutes, most_at_once, strongest_wind
from solver.checking.food_rules import FOOD_RULES
from solver.checking.people_rules import PEOPLE_RULES
from solver.checking.rota_rules import the_rota_is_kept
from solver.checking.talk_rules import floating_talks_are_kept
from solver.plan import LevelKey, Placement, Plan, Route


def check(event: Event, plan: Plan) -> list[Breach]:
    """Return every broken rule; an empty list means the plan keeps them all."""
    case = Case(
        event,
        plan,
        {c.id: c for c in event.cookers},
        {d.id: d for d in event.dishes},
        {p.id: p for p in event.pots},
        {h.id: h for h in event.helpers},
        {m.id: m for m in event.meals},
    )
    unknown = list(names_are_the_events(case))
    return unknown or [breach for rule in RULES for breach in rule(case)]


def names_are_the_events(case: Case) -> Iterator[Breach]:
    """Everything the plan names stands in the event."""
    plan = case.plan
    for p in plan.placements:
        yield from _unknown("dish", p.id, [p.dish_id], case.dishes)
        yield from _unknown("cooker", p.id, [p.cooker_id, p.then_cooker_id], case.cookers)
        yield from _unknown("pot", p.id, [p.pot_id], case.pots)
    for t in plan.turns:
        yield from _unknown("cooker", t.id, [t.cooker_id], case.cookers)
    for w in plan.walks:
        yield from _unknown("helper", w.id, [w.helper_id], case.helpers)
    for j in plan.jobs:
        yield from _unknown("helper", j.id, j.helper_ids, case.helpers)
        yield from _unknown("cooker", j.id, [j.cooker_id], case.cookers)
    for u in plan.unplaced:
        yield from _unknown("dish", u.dish_id, [u.dish_id], case.dishes)


def _unknown(
    kind: str, where: str, names: Iterable[str | None], known: Mapping[str, object]
) -> Iterator[Breach]:
    for name in names:
        if name is not None and name not in known:
            yield Breach(f"unknown-{kind}", (where, name))


def every_dish_whole_or_refused(case: Case) -> Iterator[Breach]:
    """A dish is placed with all its batches, kilograms and portions, or refused with reasons."""
    refused = {u.dish_id: u for u in case.plan.unplaced}
    for dish in case.event.dishes:
        placed = [p for p in case.plan.placements if p.dish_id == dish.id]
        if not placed:
            if case.plan.replanned_at is None and not (
                dish.id in refused and refused[dish.id].reasons
            ):
                yield Breach("neither-placed-nor-refused", (dish.id,))
            continue
        if any(p.id in case.plan.started_ids for p in placed):
            continue  # a part may be eaten, or lost
        if dish.id in refused:
            yield Breach("placed-and-refused", (dish.id,))
        batches = tuple(sorted(p.batch for p in placed))
        if batches != tuple(range(1, placed[0].batches + 1)):
            yield Breach("wrong-batches", (dish.id,), batches, placed[0].batches)
        portions, kg = sum(p.portions for p in placed), sum(p.mass_kg for p in placed)
        if portions != dish.portions:
            yield Breach("wrong-portions", (dish.id,), portions, dish.portions)
        if abs(kg - dish.mass_kg) > 0.01 * len(placed):
            yield Breach("wrong-mass", (dish.id,), kg, dish.mass_kg)


def pots_hold_their_batches(case: Case) -> Iterator[Breach]:
    """A batch fits its pot, the pot its cooker, the load the cooker's litres and places."""
    for fill in case.fresh_fills():
        cooker = case.cookers[fill[0].cooker_id]
        for p in fill:
            pot, dish = case.pots[p.pot_id], case.dishes[p.dish_id]
            litres = p.mass_kg * dish.litres_per_kg
            if litres > pot.litres + 0.02:
                yield Breach("pot-too-small", (p.id, pot.id), litres, pot.litres)
            if dish.shape not in pot.holds:
                yield Breach("pot-not-for-this-food", (p.id, pot.id), dish.shape)
            for name in (p.cooker_id, p.then_cooker_id):
                if name is not None and case.cookers[name].kind not in pot.fits:
                    yield Breach("pot-does-not-fit", (p.id, pot.id, name))
        ids = (fill[0].fill, cooker.id)
        litres = sum(p.mass_kg * case.dishes[p.dish_id].litres_per_kg for p in fill)
        if litres > cooker.litres + 0.02:
            yield Breach("too-many-litres", ids, litres, cooker.litres)
        if len(fill) > cooker.pots_max:
            yield Breach("too-many-pots", ids, len(fill), cooker.pots_max)


def cookers_suit_their_dishes(case: Case) -> Iterator[Breach]:
    """Kind, oven heat, stirring and raw meat: what may cook where, and beside what."""
    for fill in case.fresh_fills():
        cooker = case.cookers[fill[0].cooker_id]
        for p in fill:
            dish = case.dishes[p.dish_id]
            if cooker.kind not in dish.kinds or cooker.keeps_heat_only:
                yield Breach("cooker-not-for-this-dish", (p.id, cooker.id), cooker.kind)
            if dish.needs_body_c is not None and (not cooker.is_oven or len(fill) > 1):
                yield Breach("needs-its-own-oven", (p.id, cooker.id))
            oven_c = p.curve[0].body_c or 0.0
            floor_c = policy.oven_floor_c(dish)
            if floor_c is not None and oven_c < floor_c - policy.PALE_FROM_C:
                yield Breach("oven-too-cold", (p.id,), oven_c, floor_c)
            if dish.stir_every_min and cooker.is_oven:
                yield Breach("stirred-in-a-shut-box", (p.id, cooker.id))
            then = case.cookers[p.then_cooker_id] if p.then_cooker_id else None
            if then is not None and then.on_sun:
                yield Breach("second-cooker-of-no-use", (p.id, then.id), then.kind)
            if then is not None and then.on_gas and then.kind not in dish.kinds:
                yield Breach("cooker-not-for-this-dish", (p.id, then.id), then.kind)
            route = _route(cooker, then)
            if p.route != route:
                yield Breach("wrong-route", (p.id,), p.route, route)
        if len({case.dishes[p.dish_id].raw_meat for p in fill}) > 1:
            yield Breach("raw-meat-beside-other-food", (fill[0].fill,))


def _route(cooker: Cooker, then: Cooker | None) -> Route:
    if cooker.on_gas:
        return "burner"
    return "sun" if then is None else "sun+burner" if then.on_gas else "sun+insulated"


def wishes_are_kept(case: Case) -> Iterator[Breach]:
    """What the organiser holds in place, or keeps out of a cooker, is so."""
    for p in case.fresh():
        dish = case.dishes[p.dish_id]
        if p.cooker_id in dish.not_in:
            yield Breach("kept-out-of-this-cooker", (p.id, p.cooker_id))
        if dish.only_in and p.cooker_id not in dish.only_in:
            yield Breach("held-in-another-cooker", (p.id, p.cooker_id, *dish.only_in))
        held_at = case.at(dish.load_at) if dish.load_at is not None else None
        if held_at is not None and case.plan.replanned_at is None and p.loaded_at != held_at:
            yield Breach("held-at-another-time", (p.id,), p.loaded_at, held_at)


def instants_are_in_order(case: Case) -> Iterator[Breach]:
    """Preheated, loaded, hot, done, lifted, rested, served; and the minutes say the same."""
    for p in case.fresh():
        dish = case.dishes[p.dish_id]
        row = [p.preheat_at or p.loaded_at, p.loaded_at, p.hot_at, p.done_at]
        leaves = p.off_at or p.lifted_at  # a pot may stay hot where it is until its last plate
        row += [min(leaves, p.served_at), p.served_at, max(leaves, p.served_at), p.last_plate_at]
        if (p.off_at is None) != (p.then_cooker_id is None):
            yield Breach("move-without-its-end", (p.id,))
        if p.off_at is not None and not p.loaded_at < p.lifted_at < p.off_at:
            yield Breach("move-not-in-order", (p.id,), p.lifted_at, p.off_at)
        if row != sorted(row) or p.loaded_at == p.done_at:
            yield Breach("times-not-in-order", (p.id,))
        if p.fast_at > p.done_at or (p.cautious_at is not None and p.cautious_at < p.done_at):
            yield Breach("estimates-not-in-order", (p.id,))
        spare = minutes(p.served_at - p.done_at) - dish.rest_min
        if spare < 0:
            yield Breach("not-ready-when-served", (p.id,), spare, 0)
        if p.margin_min != spare or p.held_min != minutes(p.served_at - p.done_at):
            yield Breach("wrong-margin", (p.id,), p.margin_min, spare)
        if p.held_min > dish.holding_max_min:
            yield Breach("held-too-long", (p.id,), p.held_min, dish.holding_max_min)


def served_when_promised(case: Case) -> Iterator[Breach]:
    """A batch is served when its meal, or its wave of it, begins."""
    grain = timedelta(minutes=policy.SLOT_MIN)
    for p in case.plan.placements:
        meal = case.meal_of(p)
        start, end = case.at(meal.start), case.at(meal.end)
        wave = (p.batch - 1) * meal.waves // p.batches
        promised = start + (end - start) * wave / meal.waves
        if not promised - grain < p.promised_at <= promised:
            yield Breach("not-its-meals-time", (p.id, meal.id), p.promised_at, promised)
        late = p.served_at - p.promised_at
        if late and (p.id not in case.plan.started_ids or late < timedelta()):
            yield Breach("not-served-when-promised", (p.id,), p.served_at, promised)


def hours_are_kept(case: Case) -> Iterator[Breach]:
    """Cookers are used inside the site's opening hours and their own, and below their wind.

    An insulated box burns nothing: it keeps its pot hot for as long as people eat.
    """
    site = case.event.site
    uses = [(p, p.cooker_id, case.begins(p), p.lifted_at) for p in case.fresh()]
    uses += [
        (p, p.then_cooker_id, p.lifted_at, p.off_at)
        for p in case.fresh()
        if p.then_cooker_id and p.off_at and case.cookers[p.then_cooker_id].on_gas
    ]
    for p, name, start, end in uses:
        cooker = case.cookers[name]
        opens = max(case.at(t) for t in (site.opens, cooker.opens) if t is not None)
        closes = min(case.at(t) for t in (site.closes, cooker.closes) if t is not None)
        if start < opens or end > closes:
            yield Breach("cooker-outside-its-hours", (p.id, cooker.id))
        if cooker.wind_limit_m_s is not None:
            blow = strongest_wind(case, start, end)
            if blow > cooker.wind_limit_m_s:
                yield Breach("too-much-wind", (p.id, cooker.id), blow, cooker.wind_limit_m_s)


def one_load_at_a_time(case: Case) -> Iterator[Breach]:
    """A sun cooker holds one load; a burner and an insulated box as many pots as they take."""
    uses: dict[str, list[Use]] = defaultdict(list)
    stays: dict[tuple[str, datetime], datetime] = {}
    since = case.plan.replanned_at
    for fill in case.fills().values():
        if len({(p.cooker_id, p.loaded_at, p.lifted_at, p.served_at) for p in fill}) > 1:
            yield Breach("load-not-together", (fill[0].fill,))
        first, start = fill[0], case.from_now(fill[0])
        on_sun = case.cookers[first.cooker_id].on_sun
        if first.id in case.plan.started_ids and on_sun:  # pots may leave their load one by one
            key = (first.cooker_id, first.loaded_at)
            stays[key] = max(stays.get(key, start), first.lifted_at)
        else:
            places = 1 if on_sun else len(fill)
            uses[first.cooker_id].append(Use(start, first.lifted_at, places))
        has_moved = since is not None and first.lifted_at <= since
        if first.then_cooker_id and not has_moved:
            off = first.off_at or first.served_at
            uses[first.then_cooker_id].append(Use(first.lifted_at, off, len(fill)))
    for (name, loaded_at), until in stays.items():
        uses[name].append(Use(max(loaded_at, since or loaded_at), until))
    for name, taken in uses.items():
        cooker, most = case.cookers[name], most_at_once(taken)
        limit = 1 if cooker.on_sun else cooker.pots_max
        if most > limit:
            yield Breach("cooker-overfull", (name,), most, limit)


def pots_are_stock(case: Case) -> Iterator[Breach]:
    """No more pots of a kind are in use, washing included, than there are."""
    uses: dict[str, list[Use]] = defaultdict(list)
    for p in case.plan.placements:
        washed_at = p.served_at + timedelta(minutes=case.pots[p.pot_id].wash_min)
        uses[p.pot_id].append(Use(max(p.loaded_at, case.from_now(p)), washed_at))
    for name, taken in uses.items():
        most = most_at_once(taken)
        if most > case.pots[name].count:
            yield Breach("too-few-pots", (name,), most, case.pots[name].count)


def sun_is_there(case: Case) -> Iterator[Breach]:
    """A sun cooker is set on the sun, and loaded, inside its own window."""
    windows = {w.cooker_id: w.stretches for w in case.plan.windows}
    slack = timedelta(minutes=1)  # windows are to the second, the sky is by the minute
    for p in case.fresh():
        if not case.cookers[p.cooker_id].on_sun:
            continue
        for at in (case.begins(p), p.loaded_at):
            stretches = windows.get(p.cooker_id, ())
            if not any(s.starts_at - slack <= at <= s.ends_at + slack for s in stretches):
                yield Breach("no-usable-sun", (p.id, p.cooker_id), at)


def talks_get_their_dish(case: Case) -> Iterator[Breach]:
    """A dish that a talk shows, where it is placed, is at the promised stage during the talk."""
    for talk in case.event.talks:
        if talk.at is None:
            continue  # see talk_rules
        placed = [p for p in case.plan.placements if p.dish_id == talk.dish]
        start = case.at(talk.at)
        end = start + timedelta(minutes=talk.minutes)
        if talk.stage is None or not placed or any(p.id in case.plan.started_ids for p in placed):
            continue
        if case.plan.replanned_at is not None and start <= case.plan.replanned_at:
            continue
        fine = {
            "loaded": any(start <= p.loaded_at <= end for p in placed),
            "lifted": any(start <= p.lifted_at <= end for p in placed),
            "simmering": any(p.hot_at <= start and p.lifted_at >= end for p in placed),
        }
        if not fine[talk.stage]:
            yield Breach("dish-not-at-its-stage", (talk.id, *(p.id for p in placed)), talk.stage)


def levels_are_what_they_say(case: Case) -> Iterator[Breach]:
    """The goal's levels, counted again from the plan, are the figures the plan gives."""
    placed = {p.dish_id for p in case.plan.placements}
    moved = sum(level.value for level in case.plan.levels if level.key == "moved")
    missed, short, stale = policy.CHANGE_STEPS * moved, 0, 0
    for p in case.plan.placements:
        dish = case.dishes[p.dish_id]
        if _is_out(case, p):
            continue  # nothing more can be done about it
        spare = minutes(p.promised_at - p.done_at) - dish.rest_min
        missed += policy.miss_steps(p.missed_fraction)
        missed += policy.gas_steps(_gas_min(case, p), case.event.gas_price_dishes_h)
        short += max(0, case.event.wanted_margin_min - spare)
        stale += max(0, spare - dish.fresh_min)
    counted: dict[LevelKey, int] = {
        "missed": missed,
        "gas": sum(_gas_min(case, p) for p in case.plan.placements),
        "short": short,
        "stale": stale,
    }
    if case.plan.replanned_at is None:
        worth = sum(policy.weight(case.dishes[d].priority) for d in placed)
        counted["placed"] = worth
    for level in case.plan.levels:
        if level.key in counted and counted[level.key] != level.value:
            yield Breach("wrong-level", (level.key,), level.value, counted[level.key])


def _is_out(case: Case, p: Placement) -> bool:
    """Return whether a pot was out of its cooker when the day was planned again."""
    replanned_at = case.plan.replanned_at
    if replanned_at is None or p.id not in case.plan.started_ids:
        return False
    ring = p.then_cooker_id is not None and case.cookers[p.then_cooker_id].on_gas
    return (p.off_at if ring and p.off_at else p.lifted_at) <= replanned_at


def _gas_min(case: Case, p: Placement) -> int:
    if case.cookers[p.cooker_id].on_gas:
        return 0 if _is_out(case, p) else minutes(p.lifted_at - p.loaded_at)
    if p.then_cooker_id and case.cookers[p.then_cooker_id].on_gas and p.off_at:
        return 0 if _is_out(case, p) else minutes(p.off_at - p.lifted_at)
    return 0


RULES: list[Callable[[Case], Iterator[Breach]]] = [
    every_dish_whole_or_refused,
    pots_hold_their_batches,
    cookers_suit_their_dishes,
    wishes_are_kept,
    instants_are_in_order,
    served_when_promised,
    hours_are_kept,
    one_load_at_a_time,
    pots_are_stock,
    sun_is_there,
    *FOOD_RULES,
    *PEOPLE_RULES,
    talks_get_their_dish,
    floating_talks_are_kept,
    the_rota_is_kept,
    the_contest_is_kept,
    levels_are_what_they_say,
]
