"""What a builder asks for: kind, size, shine, panes, walls, pot, and under which sun."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from events.errors import WHOLE_FILE, FaultyEvent
from events.quantities import within
from service.application.building import Sunshine, noon_at, standard_sun
from service.forms.where import spot_of
from solver.feasibility.builder import Filled
from solver.thermal.design import Buildable, Design

USUAL_CM: dict[Buildable, float] = {"parabolic": 140, "box": 50, "panel": 70}
USUAL_PANES: dict[Buildable, int] = {"parabolic": 0, "box": 2, "panel": 1}


@dataclass(frozen=True)
class SunAsked:
    """The sun that a design is tried under, and of which place; "" is the standard's."""

    sun: Sunshine
    place: str
    day: date


def _empty_is_unset(value: object) -> object:
    return None if value == "" else value


class BuildForm(BaseModel):
    """A builder's wishes; what is left out is usual for the kind."""

    model_config = ConfigDict(frozen=True)

    kind: Buildable = "box"
    size_cm: Annotated[float | None, Field(ge=20, le=200, allow_inf_nan=False)] = None
    shine_pct: Annotated[float, Field(ge=40, le=95, allow_inf_nan=False)] = 80
    panes: Annotated[int | None, Field(ge=0, le=3)] = None
    flaps: Annotated[int, Field(ge=0, le=4)] = 1
    insulation_mm: Annotated[float, Field(ge=0, le=150, allow_inf_nan=False)] = 50
    pot_litres: Annotated[float, Field(ge=1, le=15, allow_inf_nan=False)] = 3
    litres: Annotated[float, Field(ge=0.5, le=15, allow_inf_nan=False)] = 2
    colour: Literal["black", "dark", "shiny"] = "black"
    where: Annotated[str, Field(max_length=300)] = ""
    day: Annotated[date | None, BeforeValidator(_empty_is_unset)] = None
    air_c: Annotated[float, within("air_c")] = 25

    def design(self) -> Design:
        """Return the cooker that is asked for."""
        panes = USUAL_PANES[self.kind] if self.panes is None else self.panes
        return Design(
            kind=self.kind,
            size_cm=self.size_cm or USUAL_CM[self.kind],
            shine_fraction=self.shine_pct / 100,
            panes=max(panes, 1) if self.kind == "box" else min(panes, 2),
            flaps=self.flaps,
            insulation_mm=self.insulation_mm,
        )

    def filled(self) -> Filled:
        """Return what stands in it; a pot holds no more than it can."""
        litres = min(self.litres, self.pot_litres)
        return Filled(pot_litres=self.pot_litres, litres=litres, colour=self.colour)

    def sun(self, today: date) -> SunAsked:
        """Return the sun that is asked for: the standard's where no place is named.

        Raises FaultyEvent where it is no place, or the sun stays too low there on that day.
        """
        day = self.day or today
        if not self.where.strip():
            return SunAsked(standard_sun(self.air_c), "", day)
        spot = spot_of(self.where)
        sun = noon_at(
            day,
            latitude_deg=spot.latitude_deg,
            longitude_deg=spot.longitude_deg,
            altitude_m=float(spot.altitude_m or 0),
            air_c=self.air_c,
        )
        if sun is None:
            raise FaultyEvent("the page", [WHOLE_FILE.fault("On", f"{day}", "sun-too-low")])
        return SunAsked(sun, spot.name, day)
