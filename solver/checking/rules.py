"""The rules of a plan, checked against the event alone: no solver, no estimate, no options.

It runs on every plan before anyone sees it. Each rule is one function in `RULES` and yields a
sentence for each breach; none at all means the plan keeps its rules. What a rule needs of the
sun's way it works out here anew.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime, time, timedelta

from events.food_rules import clock_limit_min
from events.model import Event
from solver import policy
from solver.checking.context import SUN, Case, minutes
from solver.checking.people_rules import PEOPLE_RULES
from solver.plan import Placement, Plan


def check(event: Event, plan: Plan) -> list[str]:
    """Return every broken rule in words; an empty list means the plan keeps them all."""
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


def names_are_the_events(case: Case) -> Iterator[str]:
    """Everything the plan names stands in the event."""
    named: list[tuple[str, str, str | None, Mapping[str, object]]] = [
        *((p.id, "dish", p.dish_id, case.dishes) for p in case.plan.placements),
        *((p.id, "cooker", p.cooker_id, case.cookers) for p in case.plan.placements),
        *((p.id, "cooker", p.then_cooker_id, case.cookers) for p in case.plan.placements),
        *((p.id, "pot", p.pot_id, case.pots) for p in case.plan.placements),
        *((t.id, "cooker", t.cooker_id, case.cookers) for t in case.plan.turns),
        *((w.id, "helper", w.helper_id, case.helpers) for w in case.plan.walks),
        *((j.id, "helper", h, case.helpers) for j in case.plan.jobs for h in j.helper_ids),
        *((u.dish_id, "dish", u.dish_id, case.dishes) for u in case.plan.unplaced),
    ]
    for where, kind, name, known in named:
        if name is not None and name not in known:
            yield f"{where}: there is no {kind} {name}"


def every_dish_whole_or_refused(case: Case) -> Iterator[str]:
    """A dish is placed with all its batches, kilograms and portions, or refused with reasons."""
    refused = {u.dish_id: u for u in case.plan.unplaced}
    for dish in case.event.dishes:
        mine = [p for p in case.plan.placements if p.dish_id == dish.id]
        if not mine:
            if case.plan.replanned_at is None and not (
                dish.id in refused and refused[dish.id].reasons
            ):
                yield f"{dish.id}: neither placed nor refused with a reason"
            continue
        if case.plan.replanned_at is not None and any(p.id in case.plan.started_ids for p in mine):
            continue  # a part may be eaten, or lost
        if dish.id in refused:
            yield f"{dish.id}: both placed and refused"
        if sorted(p.batch for p in mine) != list(range(1, mine[0].batches + 1)):
            yield f"{dish.id}: batches {[p.batch for p in mine]} of {mine[0].batches}"
        if sum(p.portions for p in mine) != dish.portions:
            yield f"{dish.id}: {sum(p.portions for p in mine)} of {dish.portions} portions"
        if abs(sum(p.mass_kg for p in mine) - dish.mass_kg) > 0.01 * len(mine):
            yield f"{dish.id}: {sum(p.mass_kg for p in mine):.2f} of {dish.mass_kg:.2f} kg"


def pots_hold_their_batches(case: Case) -> Iterator[str]:
    """A batch fits its pot, the pot its cooker, the load the cooker's litres and places."""
    for fill in case.fresh_fills():
        cooker = case.cookers[fill[0].cooker_id]
        for p in fill:
            pot, dish = case.pots[p.pot_id], case.dishes[p.dish_id]
            litres = p.mass_kg * dish.litres_per_kg
            if litres > pot.litres + 0.02:
                yield f"{p.id}: {litres:.1f} l in a pot of {pot.litres:g} l"
            if dish.shape not in pot.holds:
                yield f"{p.id}: pot {pot.id} is not for {dish.shape}"
            for name in (p.cooker_id, p.then_cooker_id):
                if name is not None and case.cookers[name].kind not in pot.fits:
                    yield f"{p.id}: pot {pot.id} does not fit {name}"
        if sum(p.mass_kg * case.dishes[p.dish_id].litres_per_kg for p in fill) > (
            cooker.litres + 0.02
        ):
            yield f"{fill[0].fill}: over {cooker.litres:g} l in {cooker.id}"
        if len(fill) > cooker.pots_max:
            yield f"{fill[0].fill}: {len(fill)} pots in {cooker.id}, which takes {cooker.pots_max}"


def cookers_suit_their_dishes(case: Case) -> Iterator[str]:
    """Kind, oven heat, stirring and raw meat: what may cook where, and beside what."""
    for fill in case.fresh_fills():
        cooker = case.cookers[fill[0].cooker_id]
        for p in fill:
            dish = case.dishes[p.dish_id]
            if cooker.kind not in dish.kinds or cooker.kind == "insulated":
                yield f"{p.id}: {cooker.id} is a {cooker.kind}, not for this dish"
            if dish.needs_body_c is not None and (cooker.kind != "box" or len(fill) > 1):
                yield f"{p.id}: needs an oven of its own"
            oven_c = p.curve[0].body_c or 0.0
            if dish.needs_body_c is not None and oven_c < dish.needs_body_c - 3:
                yield f"{p.id}: oven at {p.curve[0].body_c} °C, needs {dish.needs_body_c:g} °C"
            if dish.stir_every_min and cooker.kind == "box":
                yield f"{p.id}: needs stirring in a box that is kept shut"
            then = case.cookers[p.then_cooker_id].kind if p.then_cooker_id else ""
            if then not in ("", "insulated", "burner"):
                yield f"{p.id}: moved to {p.then_cooker_id}, which neither keeps heat nor makes it"
            if then == "burner" and "burner" not in dish.kinds:
                yield f"{p.id}: moved to {p.then_cooker_id}, a ring, not for this dish"
            route = "burner" if cooker.kind == "burner" else f"sun+{then}" if then else "sun"
            if p.route != route:
                yield f"{p.id}: route {p.route}, but it goes {route}"
        if len({case.dishes[p.dish_id].raw_meat for p in fill}) > 1:
            yield f"{fill[0].fill}: raw meat beside other food"


def wishes_are_kept(case: Case) -> Iterator[str]:
    """What the organiser holds in place, or keeps out of a cooker, is so."""
    for p in case.fresh():
        dish = case.dishes[p.dish_id]
        if p.cooker_id in dish.not_in:
            yield f"{p.id}: in {p.cooker_id}, which it is kept out of"
        if dish.only_in and p.cooker_id not in dish.only_in:
            yield f"{p.id}: in {p.cooker_id}, but it is held in {', '.join(dish.only_in)}"
        held = dish.load_at
        if held is not None and case.plan.replanned_at is None and p.loaded_at != case.at(held):
            yield f"{p.id}: loaded at {p.loaded_at:%H:%M} UTC, but held at {held:%H:%M}"


def instants_are_in_order(case: Case) -> Iterator[str]:
    """Preheated, loaded, hot, done, lifted, rested, served; and the minutes say the same."""
    for p in case.fresh():
        dish = case.dishes[p.dish_id]
        row = [p.preheat_at or p.loaded_at, p.loaded_at, p.hot_at, p.done_at]
        row += [p.off_at or p.lifted_at, p.served_at]
        if (p.off_at is None) != (p.then_cooker_id is None):
            yield f"{p.id}: moved on without an end, or an end without a move"
        if p.off_at is not None and not p.loaded_at < p.lifted_at < p.off_at:
            yield f"{p.id}: moved at {p.lifted_at:%H:%M}, off at {p.off_at:%H:%M} UTC"
        if row != sorted(row) or p.loaded_at == p.done_at:
            yield f"{p.id}: its times are not in order"
        if p.fast_at > p.done_at or (p.cautious_at is not None and p.cautious_at < p.done_at):
            yield f"{p.id}: fast, expected and cautious are not in order"
        spare = minutes(p.served_at - p.done_at) - dish.rest_min
        if spare < 0:
            yield f"{p.id}: not done and rested when it is served"
        if p.margin_min != spare or p.held_min != minutes(p.served_at - p.done_at):
            yield f"{p.id}: says {p.margin_min} to spare, is {spare}"
        if p.held_min > dish.holding_max_min:
            yield f"{p.id}: held {p.held_min} min, at most {dish.holding_max_min}"


def served_when_promised(case: Case) -> Iterator[str]:
    """A batch is served when its meal, or its wave of it, begins."""
    grain = timedelta(minutes=policy.SLOT_MIN)
    for p in case.plan.placements:
        meal = case.meal_of(p)
        start, end = case.at(meal.start), case.at(meal.end)
        wave = (p.batch - 1) * meal.waves // p.batches
        promised = start + (end - start) * wave / meal.waves
        if not promised - grain < p.promised_at <= promised:
            yield f"{p.id}: {p.promised_at:%H:%M} for {promised:%H:%M} UTC"
        late = p.served_at - p.promised_at
        if late and (p.id not in case.plan.started_ids or late < timedelta()):
            yield f"{p.id}: served at {p.served_at:%H:%M}, promised {promised:%H:%M} UTC"


def hours_are_kept(case: Case) -> Iterator[str]:
    """Cookers are used inside the site's opening hours and their own, and below their wind."""
    site = case.event.site
    for p in case.fresh():
        cooker = case.cookers[p.cooker_id]
        opens = max(case.at(t) for t in (site.opens, cooker.opens) if t is not None)
        closes = min(case.at(t) for t in (site.closes, cooker.closes) if t is not None)
        if case.begins(p) < opens or p.lifted_at > closes:
            yield f"{p.id}: {cooker.id} is used outside its hours"
        if cooker.wind_limit_m_s is not None:
            blow = _strongest_wind(case, case.begins(p), p.lifted_at)
            if blow > cooker.wind_limit_m_s:
                yield f"{p.id}: wind {blow:g} m/s, {cooker.id} takes {cooker.wind_limit_m_s:g}"


def one_load_at_a_time(case: Case) -> Iterator[str]:
    """A sun cooker holds one load; a burner and an insulated box as many pots as they take."""
    use: dict[str, list[tuple[datetime, datetime, int]]] = defaultdict(list)
    stays: dict[tuple[str, datetime], datetime] = {}
    for fill in case.fills().values():
        if len({(p.cooker_id, p.loaded_at, p.lifted_at, p.served_at) for p in fill}) > 1:
            yield f"{fill[0].fill}: one load with two places or times"
        first = fill[0]
        sun = case.cookers[first.cooker_id].kind in SUN
        start = case.from_now(first)
        if first.id in case.plan.started_ids and sun:  # pots of one load may leave it one by one
            key = (first.cooker_id, first.loaded_at)
            stays[key] = max(stays.get(key, start), first.lifted_at)
        else:
            use[first.cooker_id].append((start, first.lifted_at, 1 if sun else len(fill)))
        hot_when_standing = (
            case.plan.replanned_at is not None and first.lifted_at <= case.plan.replanned_at
        )
        if first.then_cooker_id and not hot_when_standing:
            off = first.off_at or first.served_at
            use[first.then_cooker_id].append((first.lifted_at, off, len(fill)))
    for (name, loaded_at), until in stays.items():
        use[name].append((max(loaded_at, case.plan.replanned_at or loaded_at), until, 1))
    for name, spans in use.items():
        cooker = case.cookers[name]
        limit = 1 if cooker.kind in SUN else cooker.pots_max
        if _most_at_once(spans) > limit:
            yield f"{name}: more at once than the {limit} it takes"


def pots_are_stock(case: Case) -> Iterator[str]:
    """No more pots of a kind are in use, washing included, than there are."""
    use: dict[str, list[tuple[datetime, datetime, int]]] = defaultdict(list)
    for p in case.plan.placements:
        washed = p.served_at + timedelta(minutes=case.pots[p.pot_id].wash_min)
        use[p.pot_id].append((max(p.loaded_at, case.from_now(p)), washed, 1))
    for name, spans in use.items():
        if _most_at_once(spans) > case.pots[name].count:
            yield f"{name}: more in use at once than the {case.pots[name].count} there are"


def sun_is_there(case: Case) -> Iterator[str]:
    """A sun cooker is set on the sun, and loaded, inside its own window."""
    windows = {w.cooker_id: w.stretches for w in case.plan.windows}
    slack = timedelta(minutes=1)  # windows are to the second, the sky is by the minute
    for p in case.fresh():
        if case.cookers[p.cooker_id].kind not in SUN:
            continue
        for at in (case.begins(p), p.loaded_at):
            if not any(
                s.starts_at - slack <= at <= s.ends_at + slack for s in windows[p.cooker_id]
            ):
                yield f"{p.id}: no usable sun on {p.cooker_id} at {at:%H:%M} UTC"


def food_is_safe(case: Case) -> Iterator[str]:
    """Hazardous food spends at most its minutes between 5 and 60 °C."""
    for p in case.fresh():
        dish = case.dishes[p.dish_id]
        if dish.hazardous and p.between_5_and_60_min > clock_limit_min(case.event, dish):
            yield f"{p.id}: {p.between_5_and_60_min} min between 5 and 60 °C"
        if dish.kidney_beans == "raw" and (dish.done != "boil" or dish.hold_min < 30):
            yield f"{p.id}: dry kidney beans that are not boiled for 30 minutes"


def talks_get_their_dish(case: Case) -> Iterator[str]:
    """A dish that a talk shows, where it is placed, is at the promised stage during the talk."""
    for talk in case.event.talks:
        mine = [p for p in case.plan.placements if p.dish_id == talk.dish]
        start = case.at(talk.at)
        end = start + timedelta(minutes=talk.minutes)
        if talk.stage is None or not mine or any(p.id in case.plan.started_ids for p in mine):
            continue
        if case.plan.replanned_at is not None and start <= case.plan.replanned_at:
            continue
        fine = {
            "loaded": any(start <= p.loaded_at <= end for p in mine),
            "lifted": any(start <= p.lifted_at <= end for p in mine),
            "simmering": any(p.hot_at <= start and p.lifted_at >= end for p in mine),
        }
        if not fine[talk.stage]:
            yield f"{talk.id}: {talk.dish} is not {talk.stage} during the talk"


def levels_are_what_they_say(case: Case) -> Iterator[str]:
    """The goal's levels, counted again from the plan, are the figures the plan gives."""
    placed = {p.dish_id for p in case.plan.placements}
    late = short = stale = 0
    for p in case.plan.placements:
        dish = case.dishes[p.dish_id]
        over = policy.LATE_CAP_MIN
        if p.cautious_at is not None:
            over = min(over, minutes(p.cautious_at - p.promised_at) + dish.rest_min)
        if _is_out(case, p):
            continue  # nothing more can be done about it
        spare = minutes(p.promised_at - p.done_at) - dish.rest_min
        late += max(0, over)
        short += max(0, case.event.wanted_margin_min - spare)
        stale += max(0, spare - dish.fresh_min)
    counted = {
        "minutes late under a poor sky": late,
        "minutes on gas": sum(_gas_min(case, p) for p in case.plan.placements),
        "minutes short of the wanted margin": short,
        "minutes held beyond fresh": stale,
    }
    if case.plan.replanned_at is None:
        worth = sum(policy.weight(case.dishes[d].priority) for d in placed)
        counted["dishes placed, by priority"] = worth
    for level in case.plan.levels:
        if level.name in counted and counted[level.name] != level.value:
            yield f"{level.name}: says {level.value}, counted {counted[level.name]}"


def _is_out(case: Case, p: Placement) -> bool:
    """Return whether a pot was out of its cooker when the day was planned again."""
    since = case.plan.replanned_at
    if since is None or p.id not in case.plan.started_ids:
        return False
    ring = p.then_cooker_id is not None and case.cookers[p.then_cooker_id].kind == "burner"
    return (p.off_at if ring and p.off_at else p.lifted_at) <= since


def _gas_min(case: Case, p: Placement) -> int:
    if case.cookers[p.cooker_id].kind == "burner":
        return 0 if _is_out(case, p) else minutes(p.lifted_at - p.loaded_at)
    if p.then_cooker_id and case.cookers[p.then_cooker_id].kind == "burner" and p.off_at:
        return 0 if _is_out(case, p) else minutes(p.off_at - p.lifted_at)
    return 0


def _most_at_once(spans: list[tuple[datetime, datetime, int]]) -> int:
    return max(sum(n for a, b, n in spans if a <= at < b) for at, _, _ in spans)


def _strongest_wind(case: Case, start: datetime, end: datetime) -> float:
    hours = sorted(case.event.weather.hours, key=lambda h: h.start)
    blow = 0.0
    for n, hour in enumerate(hours):
        begins = case.at(time(0)) if n == 0 else case.at(hour.start)
        ends = case.at(hours[n + 1].start) if n + 1 < len(hours) else end
        if begins < end and ends > start:
            blow = max(blow, hour.wind_m_s)
    return blow


RULES: list[Callable[[Case], Iterator[str]]] = [
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
    food_is_safe,
    *PEOPLE_RULES,
    talks_get_their_dish,
    levels_are_what_they_say,
]
