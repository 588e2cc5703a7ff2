"""The checked answer: placements, jobs, turns, walks, warnings. What every door shows.

Instants are aware UTC. Minutes are whole. Nothing here says when or by whom the plan was asked
for: the same event gives the same plan, byte for byte.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from solver.contest_plan import ContestPlan
from solver.notices import PlanWarning, Refusal, Tradeoff
from solver.part import Part
from solver.programme import RotaPlan, TalkPlan

Route = Literal["sun", "sun+insulated", "sun+burner", "burner"]
JobKind = Literal[
    "preheat",
    "load",
    "prepare",
    "stir",
    "probe",
    "lift",
    "insulate",
    "move",
    "attend",
    "talk",
    "serve",
    "set-up",
    "pack-down",
    "greet",
    "read-board",
    "write-temperatures",
    "carry-plates",
    "wash-up",
    "wash-vegetables",
    "call-turns",
    "write-sky",
    "set-table",
]


# What the hands mostly do: set it on the sun for the first time, swing it, tip it, tip it past
# level, swing it by more than can be measured at the rim, or nothing.
TurnKind = Literal["aim", "turn", "tilt", "tip-over", "turn-round", "hold"]


EVERYBODY: tuple[JobKind, ...] = ("serve", "set-up", "pack-down")  # work of all, named or not
# What the young may do: never at a cooker, and a named adult stands with them.
LIGHT_JOBS: tuple[JobKind, ...] = (
    *("greet", "read-board", "write-temperatures", "carry-plates", "wash-up"),
    *("wash-vegetables", "call-turns", "write-sky", "set-table"),
)


class Stretch(Part):
    """An interval of time, its end not included."""

    starts_at: datetime
    ends_at: datetime


class SunStep(Part):
    """How strong the sun's beam is over ten minutes: as forecast, if clear, and whether blocked."""

    at: datetime
    beam_w_m2: float
    clear_w_m2: float
    elevation_deg: float
    azimuth_deg: float
    blocked: bool
    diffuse_w_m2: float = 0.0  # the sky's own light on level ground; came later than the others


class Window(Part):
    """The stretches in which a place has usable sun."""

    cooker_id: str | None  # None: the site itself
    stretches: tuple[Stretch, ...]


class CurvePoint(Part):
    """What a batch's temperature is expected to be: food, its core, and the cooker's body."""

    at: datetime
    food_c: float
    core_c: float
    body_c: float | None


class Placement(Part):
    """One batch in one cooker: what, where, from when to when, how warm, how sure."""

    id: str  # batch id: "<dish>-<n>", stable across re-plans
    dish_id: str
    batch: int
    batches: int
    mass_kg: float
    litres: float
    portions: int
    pot_id: str
    cooker_id: str
    fill: str  # batches loaded together share it
    route: Route
    then_cooker_id: str | None  # the insulated box or the ring it is moved to
    preheat_at: datetime | None
    loaded_at: datetime
    hot_at: datetime  # 60 °C in the middle
    done_at: datetime  # expected
    fast_at: datetime
    cautious_at: datetime | None  # None: not done before the meal under a poor sky
    lifted_at: datetime
    off_at: datetime | None  # when it leaves the second cooker
    promised_at: datetime  # when its meal, or its wave of it, begins
    served_at: datetime  # later than promised only for a pot that had begun when it was planned
    last_plate_at: datetime  # when its serving ends: it is hot until then
    held_min: int
    margin_min: int  # served minus expected done
    missed_fraction: float  # expected not to come as promised, holding past fresh priced in
    peak_c: float
    spent_min: int = 0  # between 5 and 60 °C in a cooker it had to leave before this one
    between_5_and_60_min: int
    water_lost_kg: float
    boil_dry_min: int | None  # if it were left on after lifting time; None: it does not boil
    curve: tuple[CurvePoint, ...]


class StrandedPot(Part):
    """A pot whose cooker broke: as it was placed there, and how it came off the heat."""

    placement: Placement
    off_at: datetime
    off_c: float  # its middle then: expected, and as it would be of a weak and a strong cooker
    low_c: float
    high_c: float
    done: bool
    clock_min: int  # between 5 and 60 °C until then


class Turn(Part):
    """One bringing back of a cooker to the sun, in what the hands do and where the shadow ends.

    Fields with a default came later: plans kept before then are read without them.
    """

    id: str
    cooker_id: str
    at: datetime
    holds_until: datetime
    kind: TurnKind = "turn"
    # The shadow's tip goes to this ring of the aiming card; 0: no shadow is left. None: the cooker
    # can't be tilted, the hour alone is told, of a dial that lies level with its 12 at the back.
    ring_min: float | None
    ring_deg: float | None = None  # how far that ring is from the pin, at the pin's top
    clock_hour: float | None = None  # and to this hour: 0.5 to 12, half hours; quarters of a dial
    was_ring_deg: float | None = None  # where the tip lies before, if nobody came between
    was_clock_hour: float | None = None
    turn_deg: float  # positive: clockwise seen from above (to the right of one behind it)
    tilt_deg: float  # positive: the edge with the card's 12 goes down
    rim_cm: float  # how far the rim moves to the side
    tip_cm: float = 0.0  # how far its upper edge moves by the tilt
    from_azimuth_deg: float
    to_azimuth_deg: float
    to_elevation_deg: float | None = None
    over: bool = False  # tipped past level afterwards: the edge with the card's 12 is the low one
    first: bool  # the aiming when it is first set on the sun


class Walk(Part):
    """One trip in which a helper turns several cookers."""

    id: str
    at: datetime
    minutes: int
    helper_id: str
    turn_ids: tuple[str, ...]


class Job(Part):
    """Work for named people at a time."""

    id: str
    kind: JobKind
    at: datetime
    minutes: int
    helper_ids: tuple[str, ...]
    cooker_id: str | None = None
    placement_ids: tuple[str, ...] = ()
    talk_id: str | None = None
    meal_id: str | None = None
    dish_id: str | None = None  # what is prepared
    step: int | None = None  # which of its steps, from 0; None: weighing in


LevelKey = Literal["placed", "missed", "gas", "moved", "short", "stale", "work"]


class Unplaced(Part):
    """A dish that could not be placed, and why."""

    dish_id: str
    reasons: tuple[Refusal, ...]


class DishChance(Part):
    """How many of a hundred drawn days have the whole dish ready in time; steps of five."""

    dish_id: str
    of_100: int


class MealChance(Part):
    """How many of a hundred drawn days have every placed dish of a meal ready in time."""

    meal_id: str
    of_100: int


class Risk(Part):
    """The plan flown through drawn days."""

    runs: int
    all_of_100: int  # every placed dish in time
    without: tuple[DishChance, ...]  # left out one after another: all others are in time then
    dishes: tuple[DishChance, ...]
    meals: tuple[MealChance, ...]
    weakest_cooker_id: str | None
    dishes_on_time: float  # expected number


class Rescue(Part):
    """The last moment at which a pot can still be saved on a gas ring, on a poor day."""

    placement_id: str
    at: datetime
    below_c: float  # colder than this then: to the ring
    ring_min: int  # how long it needs there
    ring_id: str = ""  # the ring that is kept for it from then on


class GasStep(Part):
    """One pot on a ring on a gas day."""

    dish_id: str
    at: datetime
    minutes: int


class GasDay(Part):
    """The whole menu on gas rings."""

    rings: int
    gas_kg: float
    steps: tuple[GasStep, ...]  # in time order
    not_on_gas: tuple[str, ...]  # dishes that need an oven, or more care than a ring gives


class Level(Part):
    """One level of the goal: its value, the best bound, and whether it is proven."""

    key: LevelKey
    value: int
    bound: int
    proven: bool


class FoodPart(Part):
    """A dish, or one of the batches that it is split into."""

    dish_id: str
    batch: int
    batches: int


class PotChange(Part):
    """What planning again changed for one pot, or (given-up) for a whole dish."""

    kind: Literal["new", "moved", "second-cooker", "late", "lifted", "given-up"]
    food: FoodPart
    cooker_id: str | None = None  # where it goes, or comes out of
    at: datetime | None = None  # when it is loaded, moved on, served or lifted
    was_cooker_id: str | None = None
    was_at: datetime | None = None


class WorkChange(Part):
    """A job or a walk that planning again gave to a helper, or took from them."""

    kind: Literal["new", "dropped"]
    helper_id: str
    at: datetime
    job: JobKind | Literal["turn"]
    foods: tuple[FoodPart, ...] = ()
    cooker_ids: tuple[str, ...] = ()
    talk_id: str | None = None
    meal_id: str | None = None


# What a plan made anew wins over the one before: it does without a broken cooker or an absent
# helper, places more dishes, has them surer or sooner ready, or saves gas.
GainKind = Literal["cooker", "people", "dishes", "chance", "sooner", "gas", "tastings", "timetable"]
LookCause = Literal[
    "cooker", "people", "chance", "sun", "forecast"
]  # why a day is planned again unasked


class Plan(Part):
    """The checked answer."""

    event_id: str  # fingerprint of the event it answers
    title: str
    sky: Literal["clear", "forecast"]
    sun: tuple[SunStep, ...]
    windows: tuple[Window, ...]  # the site first, then each sun cooker
    placements: tuple[Placement, ...]
    turns: tuple[Turn, ...]
    walks: tuple[Walk, ...]
    jobs: tuple[Job, ...]
    unplaced: tuple[Unplaced, ...]
    levels: tuple[Level, ...]
    risk: Risk | None  # None without a forecast
    rescues: tuple[Rescue, ...]  # in the order in which a scarce ring is given
    gas_day: GasDay
    warnings: tuple[PlanWarning, ...]
    replanned_at: datetime | None = None  # planned again at this moment: what had begun, stayed
    started_ids: tuple[str, ...] = ()  # placements that had begun by then
    in_hand: tuple[StrandedPot, ...] = ()  # out of a broken cooker when this was planned again
    pot_changes: tuple[PotChange, ...] = ()  # against the plan before
    work_changes: tuple[WorkChange, ...] = ()
    if_kept: tuple[MealChance, ...] = ()  # chances of the meals if the plan before were kept
    gains: tuple[GainKind, ...] = ()  # over the plan before; none: nothing better was found
    tradeoffs: tuple[Tradeoff, ...] = ()  # what was given up for what
    talks: TalkPlan | None = None  # None: none floats
    rota: RotaPlan | None = None  # None: no groups go round
    contest: ContestPlan | None = None  # None: there is none


def turners(plan: Plan) -> dict[str, str]:
    """Return who does each turn: its walker, or who sets the cooker on the sun at first."""
    hands = {(j.cooker_id, j.at): j.helper_ids[0] for j in reversed(plan.jobs) if j.helper_ids}
    first = {
        t.id: hands[at] for t in plan.turns if t.first and (at := (t.cooker_id, t.at)) in hands
    }
    return {t: w.helper_id for w in plan.walks for t in w.turn_ids} | first
