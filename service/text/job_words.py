"""What a job is called and how it is done, in words for whoever does it; by kind of job."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta

from events.model import Event
from service.text import formatting, messages, preparing
from service.text.sittings import in_sittings
from service.text.talks import shown
from solver.plan import Job, JobKind, Placement, Plan
from solver.policy import ONE_LIFTS_KG


@dataclass(frozen=True)
class JobWords:
    """A job in words: what to do, with which food, how, and what goes with it."""

    title: str
    how: str
    food: str = ""
    second: str = ""


@dataclass(frozen=True)
class _Case:
    """A job with what it is about."""

    event: Event
    plan: Plan
    job: Job
    placements: tuple[Placement, ...]

    @property
    def cooker(self) -> str:
        """Return the cooker's name, if the job is at one."""
        return self.event.cooker(self.job.cooker_id).name if self.job.cooker_id else ""

    @property
    def foods(self) -> str:
        """Return the names of the food in hand."""
        event = self.event
        names = [event.dish(p.dish_id).name + formatting.part(p) for p in self.placements]
        return formatting.listed(names)

    @property
    def probe_orders(self) -> str:
        """Return what the probe must read in each of the dishes."""
        dishes = (self.event.dish(p.dish_id) for p in self.placements)
        orders = dict.fromkeys(messages.probe_order(self.event, d) for d in dishes)
        return ". ".join(order for order in orders if order)

    def eaten(self, meal_id: str | None) -> str:
        """Return the names of what is eaten at a meal."""
        dish_ids = sorted({p.dish_id for p in self.plan.placements})
        dishes = (self.event.dish(d) for d in dish_ids)
        return formatting.listed([d.name for d in dishes if d.meal == meal_id])

    @property
    def next_cooker(self) -> str:
        """Return the name of the cooker that the food is moved to."""
        return self.event.cooker(self.placements[0].then_cooker_id or "").name


def job_words(event: Event, plan: Plan, job: Job, placements: tuple[Placement, ...]) -> JobWords:
    """Return a job in words; `placements` are the batches it is about."""
    case = _Case(event, plan, job, placements)
    return _show(case) if job.kind != "talk" and job.talk_id else _WORDS[job.kind](case)


def _show(case: _Case) -> JobWords:
    """Return the work at what is on the sun only to be looked at in a talk."""
    talk, cooker = case.event.talk(case.job.talk_id or ""), case.cooker
    second = f"Only to look at, for the talk “{talk.name}”"
    if case.job.kind == "attend":
        until = formatting.clock(case.event, case.job.at + timedelta(minutes=case.job.minutes))
        return JobWords(f"Stay at {cooker}", f"until {until}", food="Water", second=second)
    givings = case.plan.talks.given if case.plan.talks else ()
    loads = [g.load for g in givings if g.load and g.load.cooker_id == case.job.cooker_id]
    load = next((o for o in loads if o.loaded_at <= case.job.at <= o.lifted_at), None)
    if case.job.kind == "lift" or load is None:
        how = f"{cooker}. Turn it away from the sun first"
        return JobWords("Lift", how, food="Water", second=f"{second}. It is scalding hot")
    if load.pot_id is None:
        until = formatting.clock(case.event, load.lifted_at)
        how = f"It heats up to be shown. At {until} turn it away from the sun"
        return JobWords(f"Set {cooker} on the sun, empty", how, second=second)
    pot = formatting.lower_first(case.event.pot(load.pot_id).name)
    how = f"{cooker}: {formatting.mass(case.event, load.water_kg)} in {pot}"
    return JobWords("Load", how, food="Water", second=second)


def _talk(case: _Case) -> JobWords:
    talk = case.event.talk(case.job.talk_id or "")
    shows = (
        f"Shows: {case.event.dish(talk.dish).name}, {talk.stage}"
        if talk.dish and talk.stage
        else ""
    )
    for giving in case.plan.talks.given if case.plan.talks else ():
        if (giving.talk_id, giving.at) == (talk.id, case.job.at):
            shows = shown(case.event, giving)
    return JobWords(f"Talk: {talk.name}", f"{talk.minutes} min", second=shows)


def _serve(case: _Case) -> JobWords:
    meal = case.event.meal(case.job.meal_id or "")
    people = f"{meal.portions} people {in_sittings(case.event, meal)}".rstrip()
    return JobWords(
        meal.name,
        ". ".join([people, *_served_out(case, meal.id)]),
        food=case.eaten(meal.id),
        second="Wash hands. Hot food stays hot.",
    )


def _served_out(case: _Case, meal_id: str) -> Iterator[str]:
    """Yield what is served out of its cooker: it is probed before its first plate."""
    event = case.event
    for p in case.plan.placements:
        dish = event.dish(p.dish_id)
        if dish.meal == meal_id and stays_in(p):
            cooker = event.cooker(p.then_cooker_id or p.cooker_id).name
            order = formatting.lower_first(messages.probe_order(event, dish))
            first = f". Before its first plate: {order}" if order else ""
            yield f"{dish.name}{formatting.part(p)}: out of {cooker}{first}"


def stays_in(p: Placement) -> bool:
    """Return whether a batch stays in its cooker while it is served."""
    return (p.off_at or p.lifted_at) > p.served_at


def _preheat(case: _Case) -> JobWords:
    return JobWords(f"Set {case.cooker} on the sun, empty", "It heats up before it is loaded")


def _load(case: _Case) -> JobWords:
    event = case.event
    loads = "; ".join(
        f"{formatting.mass(event, p.mass_kg)} in {formatting.lower_first(event.pot(p.pot_id).name)}"
        for p in case.placements
    )
    dry = {w.placement_id for w in case.plan.warnings if w.kind == "boils-dry"}
    look = messages.BOILS_DRY if any(p.id in dry for p in case.placements) else ""
    first = [event.dish(p.dish_id) for p in case.placements if p.batch == 1]
    before = (preparing.nobodys(case.plan, dish, -1) for dish in first)
    how = _and(f"{case.cooker}: {loads}", *before)
    return JobWords("Load", how, food=case.foods, second=look)


def _prepare(case: _Case) -> JobWords:
    dish = case.event.dish(case.job.dish_id or "")
    step = preparing.what(dish, case.job.step)
    how = f"{step[:1].upper()}{step[1:]}. It takes {case.job.minutes} min"
    if (
        case.job.step is not None
        and (wait := dish.before[case.job.step].minutes) > case.job.minutes
    ):
        how += f", then waits {wait} min"
    second = preparing.nobodys(case.plan, dish, case.job.step)
    return JobWords("Prepare", how, food=dish.name, second=second)


def _stir(case: _Case) -> JobWords:
    return JobWords("Stir", case.cooker, food=case.foods)


def _set_up(case: _Case) -> JobWords:
    fire = "extinguisher, fire blanket, " if messages.burns_things(case.event) else ""
    mirrors = any(c.nature.concentrates for c in case.event.cookers)
    covers = "covers on the mirrors, " if mirrors else ""
    how = f"Rope line, water, {fire}first-aid box, {covers}gloves, shade"
    return JobWords("Set up", how, second=messages.LOCAL)


def _pack_down(_: _Case) -> JobWords:
    return JobWords("Pack down", "Only what is cool: glass, metal and stones stay hot")


def _attend(case: _Case) -> JobWords:
    job = case.job
    until = formatting.clock(case.event, job.at + timedelta(minutes=job.minutes))
    title, second = f"Stay at {case.cooker}", "Visitors stand in front of it"
    return JobWords(title, f"until {until}", food=case.foods, second=second)


def _probe(case: _Case) -> JobWords:
    event = case.event
    latest = formatting.clock(event, max(p.lifted_at for p in case.placements))
    dish = event.dish(case.placements[0].dish_id)
    order = messages.probe_order(event, dish) or "A skewer comes out dry"
    return JobWords(
        "Probe",
        f"{case.cooker}. {order}? Lift it now",
        food=case.foods,
        second=f"If not, check every 10 min, until {latest} at the latest",
    )


def _weight(case: _Case) -> str:
    """Return how many lift a heavy pot, and why; nothing of one that one person lifts."""
    pots = [case.event.pot(p.pot_id) for p in case.placements]
    kg = max(
        (p.mass_kg + pot.mass_kg for p, pot in zip(case.placements, pots, strict=True)), default=0
    )
    if kg <= ONE_LIFTS_KG:
        return ""
    limit, whole = (formatting.mass(case.event, w) for w in (ONE_LIFTS_KG, kg))
    two = "two lift it" if len(case.job.helper_ids) > 1 else "call a second person to lift it"
    return f"{whole} with its pot, over {limit}: {two}"


def _and(*parts: str) -> str:
    return ". ".join(part for part in parts if part)


def _move(case: _Case) -> JobWords:
    how = f"from {case.cooker} to {case.next_cooker}, lid on"
    return JobWords("Move", how, food=case.foods, second=_and("Flame first", _weight(case)))


def _insulate(case: _Case) -> JobWords:
    how = f"from {case.cooker} to {case.next_cooker}, lid on"
    return JobWords("Move", how, food=case.foods, second=_and(case.probe_orders, _weight(case)))


# Common practice, no published source. A plan counts on the lid alone: wrapped, it stays hotter.
WRAPPED = "lid on, wrapped in a thick cotton towel or wool blanket, out of the wind,"


def _lift(case: _Case) -> JobWords:
    standing = [p for p in case.placements if p.served_at > p.lifted_at]
    until = ""
    if standing:
        lukewarm = {w.placement_id for w in case.plan.warnings if w.kind == "warm-long"}
        cold = any(p.id in lukewarm and not case.event.dish(p.dish_id).serve_hot for p in standing)
        hot = any(case.event.dish(p.dish_id).serve_hot for p in standing)
        keeps = "then into ice water and a cold box" if cold else WRAPPED if hot else "lid on"
        until = f", {keeps} until {formatting.clock(case.event, standing[0].served_at)}"
    is_served_out = any(stays_in(p) for p in case.placements)
    title = "Lift" if standing or not is_served_out else "Lift what is left of"
    return JobWords(
        title, case.cooker + until, food=case.foods, second=_and(case.probe_orders, _weight(case))
    )


# What the young do: the order, how, and what they keep away from. Common practice.
LIGHT: dict[JobKind, tuple[str, str, str]] = {
    "greet": ("Greet visitors", "Say what cooks, and where to stand", "Outside the rope"),
    "read-board": ("Read the board aloud", "And what is in it", "Outside the rope"),
    "write-temperatures": ("Write temperatures down", "", "Two steps from every pot"),
    "carry-plates": ("Carry plates", "Filled at the table", "No pot, no pan, nothing hot"),
    "wash-up": ("Wash up", "Plates, cups and spoons", "No knives; pots when they are cold"),
    "wash-vegetables": ("Wash vegetables and fruit", "Hands first", "No knives, no raw meat"),
    "call-turns": (
        "Call the turns",
        "Watch the clock, and call each turn aloud two minutes before",
        "Outside the rope",
    ),
    "write-sky": (
        "Write sun and cloud down",
        "Is the sun out, how much of the sky is cloud",
        "Outside the rope. Nobody looks at the sun or into a mirror",
    ),
    "set-table": ("Set the table", "Plates, cups, spoons, water", "Nothing hot"),
}


def _light(case: _Case) -> JobWords:
    """Return a job of the young in words: who stands with them is named."""
    job = case.job
    people = [case.event.helper(h) for h in job.helper_ids]
    young = formatting.listed([h.name for h in people if not h.adult])
    adult = formatting.listed([h.name for h in people if h.adult])
    title, how, away = LIGHT[job.kind]
    beside = f"{adult} stands with {young}"
    if job.kind == "write-temperatures":
        writes = "writes" if len(people) == 2 else "write"
        beside = f"{adult} probes every pot and reads aloud, {young} {writes} it down"
    food = case.eaten(job.meal_id) if job.kind == "read-board" else ""
    return JobWords(title, ". ".join(part for part in (how, beside) if part), food, away)


_WORDS: dict[JobKind, Callable[[_Case], JobWords]] = {
    "talk": _talk,
    "serve": _serve,
    "preheat": _preheat,
    "load": _load,
    "prepare": _prepare,
    "stir": _stir,
    "set-up": _set_up,
    "pack-down": _pack_down,
    "attend": _attend,
    "probe": _probe,
    "move": _move,
    "insulate": _insulate,
    "lift": _lift,
    **dict.fromkeys(LIGHT, _light),
}
