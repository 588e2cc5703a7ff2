"""What food is cooked in and with whom: cookers, pots, dishes, meals, helpers.

Frozen pydantic models, one for each table of an event file. Keys carry their unit.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, model_validator

from events.allergens import Allergen
from events.kinds import (
    COOKER_KINDS,
    DONE_MODES,
    HEATING_KINDS,
    Ability,
    CookerKind,
    Done,
    DoneMode,
    Kind,
)
from events.measured import Measured
from events.provenance import TRUSTED, Provenance
from events.quantities import within
from events.table import Id, Minutes, Name, Table, Time

Shape = Literal["liquid", "pieces", "slab", "baked"]


def round_opening_m2(diameter_m: float) -> float:
    """Return the area of a round opening."""
    return round(math.pi / 4 * diameter_m * diameter_m, 4)


class Cooker(Table):
    """One physical cooker at one station, with its physics and its limits.

    Sun kinds use aperture, efficiency and acceptance. `loss_w_k` is the body to the air (box,
    insulated); `pot_loss_w_m2_k` is each pot's own surface to the air (parabolic, panel, burner).
    `glass_tilt_deg` is for an opening that turns but does not tilt, from level (0); without it
    the opening is tilted square to the sun.
    `provenance` says for each figure where it comes from. A round opening may be given by its
    diameter; the area is what the physics uses.
    """

    id: Id
    name: Name
    kind: Kind
    station: Id | None = None
    like: str | None = None
    aperture_m2: Annotated[float, within("aperture_m2")] | None = None
    diameter_m: Annotated[float, within("diameter_m")] | None = None
    optical_efficiency: Annotated[float, within("optical_efficiency")] = 0.5
    diffuse_fraction: Annotated[float, within("fraction")] = 0.0
    glass_tilt_deg: Annotated[float, within("glass_tilt_deg")] | None = None
    sun_on_pots_fraction: Annotated[float, within("fraction")] = 1.0
    loss_w_k: Annotated[float, within("loss_w_k")] | None = None
    pot_loss_w_m2_k: Annotated[float, within("loss_w_m2_k")] = 10.0
    wind_factor_s_m: Annotated[float, within("wind_factor_s_m")] = 0.3
    body_kj_k: Annotated[float, within("body_kj_k")] = 0.0
    coupling_w_m2_k: Annotated[float, within("coupling_w_m2_k")] = 20.0
    acceptance_deg: Annotated[float, within("acceptance_deg")] = 10.0
    lost_deg: Annotated[float, within("lost_deg")] = 40.0
    sun_low_deg: Annotated[float, within("sun_height_deg")] = 0.0
    sun_high_deg: Annotated[float, within("sun_height_deg")] = 90.0
    litres: Annotated[float, within("vessel_litres")]
    pots_max: Annotated[int, within("count")] = 1
    power_w: Annotated[float, within("power_w")] | None = None
    wind_limit_m_s: Annotated[float, within("wind_m_s")] | None = None
    trained: bool = False  # only a helper who "may" work it: mirrors, or burner
    attended: bool = False  # somebody stays at it: it stands in front of the public
    opens: Time | None = None
    closes: Time | None = None
    strength_band_fraction: Annotated[float, within("fraction")] = 0.25
    measured: Measured | None = None  # the solver lets it stand before the figures above
    provenance: dict[str, Provenance] = Field(default_factory=dict)

    @property
    def nature(self) -> CookerKind:
        """What is true of every cooker of its kind."""
        return COOKER_KINDS[self.kind]

    @property
    def on_sun(self) -> bool:
        """Whether the sun heats it."""
        return self.nature.heat == "sun"

    @property
    def only_turned(self) -> bool:
        """Whether it is turned to the sun and can't be tilted."""
        return self.on_sun and self.glass_tilt_deg is not None

    @property
    def on_gas(self) -> bool:
        """Whether it is a ring."""
        return self.nature.heat == "gas"

    @property
    def keeps_heat_only(self) -> bool:
        """Whether it keeps heat and makes none."""
        return self.nature.heat == "none"

    @property
    def is_oven(self) -> bool:
        """Whether food stands in its warm body and it is kept shut: it can bake."""
        return self.nature.has_body and not self.keeps_heat_only

    @property
    def ability(self) -> Ability | None:
        """What a helper must be allowed to do to work it; None: nothing."""
        return self.nature.ability if self.trained else None

    @property
    def strength_provenance(self) -> Provenance:
        """Where its strength comes from."""
        return self.provenance.get("optical_efficiency", Provenance(kind="given"))

    @property
    def is_measured(self) -> bool:
        """Whether its strength is known better than typical figures are."""
        return self.strength_provenance.kind in TRUSTED

    @property
    def opening_width_m(self) -> float:
        """How wide its opening is: as given, else as a disc or a square of its area is."""
        area_m2 = self.aperture_m2 or 0.0
        is_round = self.nature.sized_by == "diameter"
        return self.diameter_m or math.sqrt(4 * area_m2 / math.pi if is_round else area_m2)

    @model_validator(mode="before")
    @classmethod
    def _one_opening(cls, values: object) -> object:
        """Work the area out from the diameter; an area of its own puts the diameter out."""
        if not isinstance(values, dict) or not isinstance(values.get("diameter_m"), float | int):
            return values
        area = round_opening_m2(values["diameter_m"])
        if values.get("aperture_m2") in (None, area):
            return {**values, "aperture_m2": area}
        return {**values, "diameter_m": None}


class Pot(Table):
    """A kind of vessel held in stock; `count` of them, washed between uses."""

    id: Id
    name: Name
    count: Annotated[int, within("count")] = 1
    litres: Annotated[float, within("vessel_litres")]
    mass_kg: Annotated[float, within("vessel_kg")] = 1.0
    material: Literal["steel", "aluminium", "cast-iron", "enamel", "glass", "clay"] = "steel"
    colour: Literal["black", "dark", "shiny"] = "black"
    fits: tuple[Kind, ...] = tuple(COOKER_KINDS)
    holds: tuple[Shape, ...] = ("liquid", "pieces", "slab")
    wash_min: Minutes = 15

    @property
    def fits_rings(self) -> bool:
        """Whether it may stand on gas."""
        return any(COOKER_KINDS[k].heat == "gas" for k in self.fits)


class Meal(Table):
    """A promised interval in which certain dishes are eaten; people may come in waves."""

    id: Id
    name: Name
    start: Time
    end: Time
    portions: Annotated[int, within("portions")]
    waves: Annotated[int, Field(ge=1, le=12)] = 1


class Composition(Table):
    """What a food is made of, as fractions of its mass that add up to 1."""

    water: Annotated[float, within("fraction")]
    protein: Annotated[float, within("fraction")] = 0.0
    fat: Annotated[float, within("fraction")] = 0.0
    carbohydrate: Annotated[float, within("fraction")] = 0.0  # less fibre
    fibre: Annotated[float, within("fraction")] = 0.0
    ash: Annotated[float, within("fraction")] = 0.0


class Ingredient(Table):
    """A part of a dish: which food, and how much goes into one portion."""

    food: Id
    portion_kg: Annotated[float, Field(gt=0, le=5, allow_inf_nan=False)]


class Before(Table):
    """Something to do before the day's sun: soak, thaw, rise, chop."""

    what: Name
    minutes: Annotated[int, Field(ge=0, le=5760)]
    hands_min: Minutes = 0


class Dish(Table):
    """A food to be served: how much, what it is made of, and when it counts as done."""

    id: Id
    name: Name
    meal: Id
    like: str | None = None
    portions: Annotated[int, within("portions")]
    portion_kg: Annotated[float, Field(gt=0, le=5, allow_inf_nan=False)]
    litres_per_kg: Annotated[float, Field(ge=0.8, le=6, allow_inf_nan=False)] = 1.0
    composition: Composition
    ingredients: Annotated[tuple[Ingredient, ...], Field(max_length=40)] = ()
    shape: Shape = "liquid"
    thickness_mm: Annotated[float, within("thickness_mm")] = 0.0
    # How thick the pieces are that `ordinary_min` is for, where that is another thickness.
    recipe_thickness_mm: Annotated[float, within("thickness_mm")] | None = None
    diffusivity_mm2_s: Annotated[float, within("diffusivity_mm2_s")] = 0.14
    start_c: Annotated[float, within("food_c")] = 20.0
    done: Done
    ordinary_min: Minutes = 0  # simmer: minutes in a recipe at the boil
    z_c: Annotated[float, within("z_c")] = 33.0
    core_c: Annotated[float, within("food_c")] | None = None  # core, melt
    hold_min: Minutes = 0  # core: minutes at core_c; boil: minutes at the boil
    needs_body_c: Annotated[float, within("needs_body_c")] | None = None
    preheat_min: Minutes = 0
    kinds: tuple[Kind, ...] = HEATING_KINDS
    batches_max: Annotated[int, Field(ge=1, le=12)] = 4
    batches_min: Annotated[int, Field(ge=1, le=12)] = 1
    hazardous: bool = True  # unknown counts as hazardous: the 5-60 °C clock runs
    out_min: Minutes | None = None  # out of the cold before loading; not given: straight from it
    kidney_beans: Literal["no", "raw", "boiled"] | None = None  # boiled: for 30 minutes, or tinned
    raw_meat: bool = False  # where not given, from the ingredients
    serve_hot: bool = True
    rest_min: Minutes = 0
    fresh_min: Minutes = 60
    holding_max_min: Minutes = 120
    load_min: Annotated[int, Field(ge=1, le=60)] = 5
    stir_every_min: Minutes = 0
    lift_helpers: Annotated[int, Field(ge=1, le=4)] = 1
    priority: Annotated[int, Field(ge=1, le=9)] = 5  # 9 is dropped last
    allergens: tuple[Allergen, ...] = ()  # declared, beside what the ingredients bring
    also_contains: Annotated[tuple[Name, ...], Field(max_length=20)] = ()  # any other, in words
    allergens_checked: bool = False  # somebody read every label: what is not named is not in it
    instead: str | None = None  # what replaces it under cloud
    only_in: Annotated[tuple[Id, ...], Field(max_length=20)] = ()  # held in these cookers
    not_in: Annotated[tuple[Id, ...], Field(max_length=20)] = ()  # kept out of these
    load_at: Time | None = None  # held at this start
    before: tuple[Before, ...] = ()
    provenance: dict[str, Provenance] = Field(default_factory=dict)

    @property
    def suits_gas(self) -> bool:
        """Whether a ring may cook it."""
        return any(COOKER_KINDS[k].heat == "gas" for k in self.kinds)

    @property
    def done_mode(self) -> DoneMode:
        """What is measured to tell that it is done."""
        return DONE_MODES[self.done]

    @property
    def batches_least(self) -> int:
        """In how many pots it is cooked at least, as far as its portions go round."""
        return min(self.batches_min, self.batches_max, self.portions)

    @property
    def mass_kg(self) -> float:
        """Return the mass of the whole dish as it is loaded."""
        return self.portions * self.portion_kg


class Break(Table):
    """A time in which a helper is not asked for anything."""

    at: Time
    minutes: Annotated[int, Field(ge=5, le=240)]


class Helper(Table):
    """A person with hours, breaks and what they may do."""

    id: Id
    name: Name
    start: Time
    end: Time
    may: tuple[Ability, ...] = ("lift",)
    adult: bool = True
    breaks: Annotated[tuple[Break, ...], Field(max_length=6)] = ()

    @property
    def works(self) -> frozenset[Ability]:
        """What is asked of them: mirrors, flames and hot pots are no work for the young.

        Common practice, no published source. The young have light jobs, beside a named adult.
        """
        return frozenset(self.may) if self.adult else frozenset()
