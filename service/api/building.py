"""JSON of a cooker that is only thought of; open to all."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from events.errors import WHOLE_FILE, FaultyEvent
from service.access import for_role
from service.api.responses import PROBLEM
from service.application.building import tried
from service.dependencies import ServicesDep
from service.forms.build_form import BuildForm
from service.text.building import too_wide
from solver.feasibility.builder import Built

router = APIRouter(prefix="/api", tags=["noonfare"])


@router.get("/build", responses={422: PROBLEM, 503: PROBLEM})
@for_role("anyone")
def read_build(form: Annotated[BuildForm, Query()], services: ServicesDep) -> Built:
    """Return what a cooker that is only thought of would do, with bands, and what would help."""
    design, filled = form.design(), form.filled()
    found = tried(design, filled, form.sun(services.now().date()).sun)
    if found is None:
        why = too_wide(design, filled.pot_litres)
        fault = WHOLE_FILE.fault("pot_litres", filled.pot_litres, "pot-too-wide", why=why)
        raise FaultyEvent("the question", [fault])
    return found
