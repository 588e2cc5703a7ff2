"""A builder's page: a cooker that is only thought of, and what it would do; open to all."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import Query, Response

from events.errors import FaultyEvent
from events.table import changed
from service.access import for_role
from service.application.building import cooker_built, tried
from service.charts.watts import watts_picture
from service.dependencies import ServicesDep
from service.forms.build_form import BuildForm, SunAsked
from service.forms.refusals import refusal_lines
from service.text import building as words
from service.text.cookers import cautions
from service.text.messages import CHILDREN, LOCAL, PROBE
from service.text.show_card import budget, watts_sentence
from service.text.teaching import PRICES, TEACHING
from service.web.rendering import page_router, render

router = page_router()
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


@router.get("/build")
@for_role("anyone")
def build(form: Annotated[BuildForm, Query()], services: ServicesDep) -> Response:
    """Show what a design would do, how sure that is, and what one thing more would bring."""
    design, filled = form.design(), form.filled()
    asked, faults = _asked(form, services.now().date())
    found = tried(design, filled, asked.sun)
    if found is None:
        faults.append(words.too_wide(design, filled.pot_litres))
    around = asked.sun.around
    cooker = cooker_built(design, air_c=around.air_c, wind_m_s=around.wind_m_s)
    said = budget(cooker, found.flows) if found else None
    return render(
        "build.html",
        form=form,
        design=design,
        filled=filled,
        day=asked.day,
        sliders=[s for s in SLIDERS if design.kind in s[-1]],
        values={
            **form.model_dump(),
            "size_cm": design.size_cm,
            "panes": design.panes,
            "litres": filled.litres,
        },
        size_label=f"{words.SIZED[design.kind]}, cm",
        shine_hint=SHINE_HINT,
        faults=faults,
        sun_words=words.sun_words(asked.sun, asked.place, asked.day),
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


def _asked(form: BuildForm, today: date) -> tuple[SunAsked, list[str]]:
    """Return the sun asked for; where it can't be had, the standard's, and why."""
    try:
        return form.sun(today), []
    except FaultyEvent as error:
        standard = changed(form, where="")
        return standard.sun(today), refusal_lines(error.faults)
