"""A builder's page: a cooker that is only thought of, and what it would do; open to all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated

from fastapi import Query, Response

from events.errors import FaultyEvent
from service.access import for_role
from service.application.building import Sunshine, cooker_built, noon_at, standard_sun, tried
from service.charts.watts import watts_picture
from service.dependencies import ServicesDep
from service.forms.build_form import BuildForm
from service.forms.refusals import refusal_lines
from service.forms.where import spot_of
from service.text import building as words
from service.text.cookers import cautions
from service.text.messages import CHILDREN, LOCAL, PROBE
from service.text.show_card import budget, watts_sentence
from service.text.teaching import PRICES, TEACHING
from service.web.rendering import page_router, render

router = page_router()
TOO_LOW = "The sun stays too low there on that day to cook. Try another date."
SLIDERS = (  # field, label, least, most, step, for which kinds
    ("size_cm", "", 20, 200, 5, ("parabolic", "box", "panel")),
    ("shine_pct", "Shine of its mirrors, of 100", 40, 95, 5, ("parabolic", "box", "panel")),
    ("flaps", "Shiny flaps, each as wide as the glass", 0, 4, 1, ("box",)),
    ("panes", "Panes of glass", 1, 3, 1, ("box",)),
    ("panes", "Clear covers over the pot", 0, 2, 1, ("panel",)),
    ("insulation_mm", "Insulation of the walls, mm", 0, 150, 10, ("box",)),
    ("pot_litres", "Pot, litres", 1, 15, 0.5, ("parabolic", "box", "panel")),
    ("litres", "Filled with, litres", 0.5, 15, 0.5, ("parabolic", "box", "panel")),
)
SHINE_HINT = "new glass mirror about 90, polished sheet 80, smooth foil 75, crumpled 50: typical"


@dataclass(frozen=True)
class Trial:
    """Under which sun a design is tried, and what is in the way of it."""

    sun: Sunshine
    said: str
    faults: tuple[str, ...] = ()


@router.get("/build")
@for_role("anyone")
def build(form: Annotated[BuildForm, Query()], services: ServicesDep) -> Response:
    """Show what a design would do, how sure that is, and what one thing more would bring."""
    design, filled = form.design(), form.filled()
    day = form.day or services.now().date()
    trial = _trial(form, day)
    found = tried(design, filled, trial.sun)
    if found is None:
        trial = replace(trial, faults=(*trial.faults, words.too_wide(design, filled.pot_litres)))
    around = trial.sun.around
    cooker = cooker_built(design, air_c=around.air_c, wind_m_s=around.wind_m_s)
    said = budget(cooker, found.flows) if found else None
    return render(
        "build.html",
        form=form,
        design=design,
        filled=filled,
        day=day,
        sliders=[s for s in SLIDERS if design.kind in s[-1]],
        values={
            **form.model_dump(),
            "size_cm": design.size_cm,
            "panes": design.panes,
            "litres": filled.litres,
        },
        size_label=f"{words.SIZED[design.kind]}, cm",
        shine_hint=SHINE_HINT,
        trial=trial,
        figures=words.figure_lines(design.kind, found, filled.litres) if found else [],
        changes=words.change_lines(found) if found else [],
        dishes=words.dish_groups(found) if found else [],
        picture=watts_picture(said, watts_sentence(cooker, said)) if said else "",
        cautions=[*cautions(cooker), TEACHING[design.kind].built_safely, CHILDREN],
        teaching=TEACHING[design.kind],
        prices=PRICES,
        notes=(words.NOT_KNOWN, words.HELD_AGAINST, f"{PROBE} {LOCAL}"),
        size_words=words.both_lengths(design.size_cm),
    )


def _trial(form: BuildForm, day: date) -> Trial:
    """Return the sun asked for; the standard's where no place is named, or none can be had."""
    standard = standard_sun(form.air_c)
    usual = Trial(standard, words.sun_words(standard, "", day))
    if not form.where.strip():
        return usual
    try:
        spot = spot_of(form.where)
    except FaultyEvent as error:
        return replace(usual, faults=tuple(refusal_lines(error.faults)))
    sun = noon_at(
        day,
        latitude_deg=spot.latitude_deg,
        longitude_deg=spot.longitude_deg,
        altitude_m=float(spot.altitude_m or 0),
        air_c=form.air_c,
    )
    if sun is None:
        return replace(usual, faults=(TOO_LOW,))
    return Trial(sun, words.sun_words(sun, spot.name, day))
