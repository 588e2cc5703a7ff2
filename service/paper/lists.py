"""Lists before and after the day: kit, pots, shopping, preparing, allergens, leftovers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import cycle

from events.food_rules import clock_limit_min, rules_of
from events.model import Dish, Event
from service.application.event_analyses import crew_from, tasks_before
from service.paper.duties import NOBODY, Shares
from service.paper.shopping import cold_boxes, shopping, tools, water
from service.text import formatting, messages, preparing, safety
from service.text.allergens import table
from service.text.crew import who_sets_up
from solver.plan import Job, Plan
from solver.policy import SLOT_MIN
from solver.risk.decision import EVENING

PREPARE_MIN = 20  # to wash, cut and weigh a dish: common practice, no published source
EARLIER_MIN = 60  # so much earlier it may be where nobody is free: judgement
CHILL_MIN = 120  # AU and NZ 2 h / 4 h; UK 2 h
Facts = dict[str, object]


def lists(event: Event, plan: Plan) -> Facts:
    """Return every list of the paper."""
    placed = {p.dish_id for p in plan.placements}
    dishes = [d for d in event.dishes if d.id in placed]
    return {
        "kit": _kit(event, plan, dishes),
        "pots": _pots(event, plan),
        "shopping": shopping(event, dishes),
        "prepare": _prepare(event, plan, dishes, Shares(event, plan)),
        "allergens": table(event),
        "set_up": _set_up(event, plan, Shares(event, plan)),
        "pack_down": _pack_down(event, plan, Shares(event, plan)),
        "leftovers": _leftovers(event, plan, dishes),
        "brief": safety.brief(event),
        "sign": safety.SIGN,
        "gas": {
            "rings": plan.gas_day.rings,
            "kg": formatting.mass(event, plan.gas_day.gas_kg),
            "never": [d.name for d in event.dishes if d.id in plan.gas_day.not_on_gas],
            "rows": _gas_rows(event, plan),
        },
    }


def _kit(event: Event, plan: Plan, dishes: list[Dish]) -> list[str]:
    out = [
        "Probe thermometer, and a second one",
        "Elbow gloves: a pair for each helper at a cooker",
    ]
    out += ["Rope and posts", "First-aid box with burn gel", "A shade to stand in"]
    out += [*water(event, dishes), "Hand-washing: a tap, soap, paper towels, bin"]
    out += [*cold_boxes(event, dishes), *tools(event, plan, dishes)]
    out.append("Clock or phone that is right")
    if any(c.nature.concentrates for c in event.cookers):
        out += [
            "A cover for each mirror",
            "Extinguisher or water, and a fire blanket, at the mirrors",
        ]
    elif messages.burns_things(event):
        out.append("Extinguisher or water, and a fire blanket, at the gas ring")
    out += ["Aiming cards on stiff board, pins, tape", "This paper in plastic sleeves, pencils"]
    if any(c.on_gas for c in event.cookers):
        gas = formatting.mass(event, plan.gas_day.gas_kg * 1.5)
        out.append(f"Gas: {gas} in all (a gas day and half as much again), lighter, leak spray")
    return out


def _pots(event: Event, plan: Plan) -> list[Facts]:
    """Return how many of each pot are in use at once, and one more to spare where there is one."""
    rows: list[Facts] = []
    for pot in event.pots:
        wash = timedelta(minutes=pot.wash_min)
        uses = [
            (p.loaded_at, p.last_plate_at + wash) for p in plan.placements if p.pot_id == pot.id
        ]
        if uses:
            at_once = max(sum(a <= start < b for a, b in uses) for start, _ in uses)
            spare = min(1, pot.count - at_once)
            rows.append({"name": pot.name, "count": at_once, "spare": spare, "loads": len(uses)})
    return rows


def _prepare(event: Event, plan: Plan, dishes: list[Dish], shares: Shares) -> list[Facts]:
    """Return what is prepared when and by whom: who loads a dish gets it ready, if they can."""
    rows, begun = [], []
    for dish in dishes:
        ids = {p.id for p in plan.placements if p.dish_id == dish.id}
        loading = [j for j in plan.jobs if j.kind == "load" and ids & set(j.placement_ids)]
        wanted = next((h for j in loading for h in j.helper_ids), "")
        loaded = min(p.loaded_at for p in plan.placements if p.dish_id == dish.id)
        takes = PREPARE_MIN + dish.load_min
        tasks = zip(tasks_before(event, dish, plan), reversed(dish.before), strict=True)
        numbered = zip(reversed(range(len(dish.before))), tasks, strict=True)
        work: list[tuple[int | None, datetime, int]]
        work = [(step, due.at, task.hands_min) for step, (due, task) in numbered]
        work.append((None, loaded - timedelta(minutes=takes), takes))
        for step, at, minutes in work:
            what = preparing.what(dish, step)
            if job := preparing.job_of(plan, dish, step):
                begun.append((job.at, dish.name, what, _names(event, job)))
            else:
                rows.append((at, minutes, wanted, dish.name, what))
    for at, minutes, wanted, food, what in sorted(rows):
        begins, who = _begun(event, shares, at, minutes=minutes, wanted=wanted)
        begun.append((begins, food, what, who))
    return [
        {"at": _prepared_at(event, at), "food": food, "what": what, "who": who}
        for at, food, what, who in sorted(begun)
    ]


def _names(event: Event, job: Job) -> str:
    return ", ".join(event.helper(h).name for h in job.helper_ids)


def _begun(
    event: Event, shares: Shares, at: datetime, *, minutes: int, wanted: str
) -> tuple[datetime, str]:
    """Return when work begins and who does it: up to an hour earlier where nobody is free then."""
    if at < crew_from(event):  # whoever comes later is not named
        same_day = formatting.same_day(event, at)
        return at, "before the crew’s hours" if same_day else ""
    for earlier in range(0, EARLIER_MIN + 1, SLOT_MIN):
        begins = at - timedelta(minutes=earlier)
        if (who := shares.give(begins, minutes=minutes, wanted=wanted)) != NOBODY:
            return begins, who
    return at, NOBODY


def _prepared_at(event: Event, at: datetime) -> str:
    """Return when work begins; the day before at the latest then."""
    local = at.astimezone(event.zone)
    days = (event.date - local.date()).days
    if not days:
        return formatting.clock(event, at)
    if days == 1 and local.time() >= EVENING:
        return "the evening before"
    day = "the day before" if days == 1 else f"{days} days before"
    return f"{day}, {formatting.clock(event, at)} at the latest"


def _set_up(event: Event, plan: Plan, shares: Shares) -> list[Facts]:
    work = [j.at for j in plan.jobs if j.kind not in ("set-up", "prepare")]
    if not work:
        return []
    first = min(work)
    job = next((j for j in plan.jobs if j.kind == "set-up"), None)
    when = f"From {formatting.clock(event, job.at)}" if job else "Before the first job"
    first_clock = formatting.clock(event, first)
    fire = "extinguisher, " if messages.burns_things(event) else ""
    mirrors = any(c.nature.concentrates for c in event.cookers)
    stand = "Mirrors stand covered, facing away from the sun. " if mirrors else ""
    texts = (
        f"{when}: ground plan, rope line, water, {fire}first aid.",
        f"{stand}Level and weight every stand.",
        "Aiming cards as drawn on “How the aiming card sits”: 12 at the upper edge, pin upright.",
        "Read the wind. Read the local fire rules for today. Say who is called.",
        f"Pots, gloves and probes to their stations. First job at a cooker at {first_clock}.",
    )
    if job is None:  # a plan of an earlier program, whose crew begins at once
        return _shared(texts, first, shares)
    ends_at = job.at + timedelta(minutes=job.minutes)
    names = cycle(h.name for h in who_sets_up(event, job.at, ends_at))
    return [{"what": text, "who": name} for text, name in zip(texts, names, strict=False)]


def _pack_down(event: Event, plan: Plan, shares: Shares) -> list[Facts]:
    cool = next((j.at for j in plan.jobs if j.kind == "pack-down"), None)
    if cool is None:
        return []
    texts = []
    if any(c.nature.concentrates for c in event.cookers):
        texts.append("Mirrors first: away from the sun, covered, then laid down.")
    texts.append(  # It begins when the last cooker is cool.
        f"Boxes open in the shade until cool, about {formatting.clock(event, cool)}. "
        "Nothing wet on hot glass."
    )
    if any(c.on_gas for c in event.cookers):
        texts.append("Gas off at the bottle, rings cool before they are packed.")
    texts += [
        "Count pots, lids, gloves, probes. The rope line goes last.",
        "Write down what each cooker did: it makes the next plan better.",
    ]
    return _shared(texts, cool, shares)


def _shared(texts: Sequence[str], at: datetime, shares: Shares) -> list[Facts]:
    """Return work of all, each line with one who sees to it."""
    return [{"what": text, "who": shares.give(at, minutes=0)} for text in texts]


def _leftovers(event: Event, plan: Plan, dishes: list[Dish]) -> list[Facts]:
    """Return by when what is left of each dish goes into the cold, or is thrown away.

    The plan has it hot, or within its minutes, to its last plate: the clock goes on from there,
    and what it was between 5 and 60 °C before counts.
    """
    rules = rules_of(event)
    hold = formatting.temp(event, rules.hot_holding_c)
    out: list[Facts] = []
    for dish in dishes:
        if not dish.hazardous:
            continue
        batches = [p for p in plan.placements if p.dish_id == dish.id]
        eaten = max(p.last_plate_at for p in batches)
        spent_min = max(p.between_5_and_60_min for p in batches)
        left_min = max(0, min(rules.off_heat_min, clock_limit_min(event, dish) - spent_min))
        chill_min = min(CHILL_MIN, left_min)
        out.append(
            {
                "food": dish.name,
                "keep": f"over {hold}" if dish.serve_hot else "not kept hot",
                "chill": formatting.clock(event, eaten + timedelta(minutes=chill_min)),
                "discard": formatting.clock(event, eaten + timedelta(minutes=left_min)),
            }
        )
    return out


def _gas_rows(event: Event, plan: Plan) -> list[Facts]:
    """Return the gas day in time order: which pot goes on a ring when, for how long."""
    return [
        {
            "at": formatting.clock(event, s.at),
            "food": event.dish(s.dish_id).name,
            "minutes": s.minutes,
            "off": formatting.clock(event, s.at + timedelta(minutes=s.minutes)),
        }
        for s in plan.gas_day.steps
    ]
