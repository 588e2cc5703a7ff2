"""A cooker that is only thought of: its size, shine, panes and walls as the figures of a cooker.

What can be worked out is; what a builder's hands do to it is not known, so the band is wide.

Sources
[KLE] Klein 1975 as in Duffie & Beckman, the loss through a plate's covers, eq. 6.4.9: from memory.
[FLAP] A flap as long as the glass is wide, leaning out by 30°, throws light from half the glass's
      width onto it, which meets the glass at 60° (geometry). Of that, 0.65 is taken to come in:
      fitted to "one mirror adds 15 to 20 K", as seen in print.
The other figures are handbook values from memory, typical, unmeasured.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from events.model import Cooker
from events.provenance import Provenance
from solver.part import Part
from solver.solar.turned import GLASS_B0
from solver.thermal.energy_balance import Array

Buildable = Literal["parabolic", "box", "panel"]
BAND_FRACTION = 0.3  # a first build is off by more than a catalogue's cooker (0.25): judgement

PANE_LIGHT = (0.0, 0.86, 0.75, 0.65)  # of window glass, by panes
BLACK_TAKES = 0.92  # flat black paint
FRAME_LEAVES = 0.97  # what frame, dirt and the walls' shade leave
INSULATION_W_MK = 0.045  # dry wool, straw, crumpled paper
CARD_M2K_W = 0.3  # resistance of the two bare walls and the air on them
DEPTH_M = 0.25  # from glass to floor
BODY_J_M2K = 12.0e3  # tray, liner, inner pane, for each m² of glass
PLATE_EMITS, GLASS_EMITS, STEFAN = 0.95, 0.88, 5.67e-8
POTS_LITRES = 50.0  # what would stand in any: the pot that is asked for sets the limit
COOKING_C = 100.0  # at which the walls' loss is taken for cooking

FLAP_SIN, FLAP_COMES_IN = 0.5, 0.65  # [FLAP]
MIRROR_TAKES = 0.62  # of a mirror's shine: the pot meets most of it and keeps most of that
PANEL_TAKES = 0.375  # of a panel's shine, with one cover over a pot of the standard test
COVER_LIGHT = 0.9  # what a clear bag or bowl lets through
BARE_W_M2K, BARE_WIND_S_M = 8.0, 0.475  # a bare pot's loss, as the catalogue has it
COVERED_W_M2K, COVERED_WIND_S_M = 6.0, 0.2  # and under one cover


class Design(Part):
    """A cooker as its builder would say it."""

    kind: Buildable
    size_cm: Annotated[float, Field(ge=20, le=200)]  # across a mirror; a side of glass or panel
    shine_fraction: Annotated[float, Field(ge=0.4, le=0.95)] = 0.8
    panes: Annotated[int, Field(ge=0, le=3)] = 2  # of glass; of a panel, covers over its pot
    flaps: Annotated[int, Field(ge=0, le=4)] = 1  # shiny ones, of a box
    insulation_mm: Annotated[float, Field(ge=0, le=150)] = 50.0


def cooker_of(design: Design, *, air_c: float, wind_m_s: float) -> Cooker:
    """Return the cooker that a design is; a box's losses are those while it cooks."""
    return {"parabolic": _mirror, "box": _box, "panel": _panel}[design.kind](
        design, air_c, wind_m_s
    )


def box_loss_w_k(design: Design, body_c: Array, *, air_c: float, wind_m_s: float) -> Array:
    """Return what a box loses for each degree, glass and walls together, by its body's heat."""
    side_m = design.size_cm / 100
    glass_m2 = side_m * side_m
    walls_m2 = glass_m2 + 4 * side_m * DEPTH_M
    through_walls = walls_m2 / (CARD_M2K_W + design.insulation_mm / 1000 / INSULATION_W_MK)
    panes = max(design.panes, 1)
    return glass_m2 * covers_w_m2k(panes, body_c, air_c=air_c, wind_m_s=wind_m_s) + through_walls


def covers_w_m2k(panes: int, plate_c: Array, *, air_c: float, wind_m_s: float) -> Array:
    """Return the loss through level panes over a black plate. Source: [KLE]."""
    wind = 5.7 + 3.8 * wind_m_s  # McAdams, from memory
    plate, air = np.maximum(plate_c, air_c + 1.0) + 273.15, air_c + 273.15
    f = (1 + 0.089 * wind - 0.1166 * wind * PLATE_EMITS) * (1 + 0.07866 * panes)
    power = 0.43 * (1 - 100 / plate)
    still = 1 / (panes / (520 / plate * ((plate - air) / (panes + f)) ** power) + 1 / wind)
    glow = STEFAN * (plate + air) * (plate**2 + air**2)
    between = 1 / (PLATE_EMITS + 0.00591 * panes * wind)
    between += (2 * panes + f - 1 + 0.133 * PLATE_EMITS) / GLASS_EMITS - panes
    loss: Array = still + glow / between
    return loss


def empty_c(design: Design, light_w: Array, *, loss: Array, air_c: float, wind_m_s: float) -> Array:
    """Return how hot an empty box gets under the light that it takes, by lane.

    Its losses grow with its heat, so the answer is found by going back and forth a few times.
    """
    body_c = np.full_like(light_w, COOKING_C)
    for _ in range(12):
        ua = box_loss_w_k(design, body_c, air_c=air_c, wind_m_s=wind_m_s) * loss
        body_c = (body_c + air_c + light_w / ua) / 2
    return body_c


def _mirror(design: Design, air_c: float, wind_m_s: float) -> Cooker:
    return _cooker(
        design,
        diameter_m=design.size_cm / 100,
        optical_efficiency=MIRROR_TAKES * design.shine_fraction,
        pot_loss_w_m2_k=BARE_W_M2K,
        wind_factor_s_m=BARE_WIND_S_M,
        litres=POTS_LITRES,
    )


def _panel(design: Design, air_c: float, wind_m_s: float) -> Cooker:
    covers = min(design.panes, 2)
    each = 1 / COVERED_W_M2K - 1 / BARE_W_M2K  # what one cover holds back, m²K/W
    return _cooker(
        design,
        aperture_m2=(design.size_cm / 100) ** 2,
        optical_efficiency=PANEL_TAKES * design.shine_fraction * COVER_LIGHT ** (covers - 1),
        diffuse_fraction=0.3,
        pot_loss_w_m2_k=1 / (1 / BARE_W_M2K + covers * each),
        wind_factor_s_m=COVERED_WIND_S_M if covers else BARE_WIND_S_M,
        litres=POTS_LITRES,
    )


def _box(design: Design, air_c: float, wind_m_s: float) -> Cooker:
    """Return a box; its opening is what the sun falls into, flaps included, as in the standard."""
    glass_m2 = (design.size_cm / 100) ** 2
    panes = max(design.panes, 1)
    at_60 = 1 - GLASS_B0  # ASHRAE's coefficient: what glass lets in at 60° of what it does square
    flap = FLAP_SIN * design.shine_fraction * at_60 * FLAP_COMES_IN
    opening = 1 + FLAP_SIN * design.flaps
    light = PANE_LIGHT[panes] * BLACK_TAKES * FRAME_LEAVES * (1 + flap * design.flaps)
    ua = box_loss_w_k(design, np.full(1, COOKING_C), air_c=air_c, wind_m_s=wind_m_s)
    return _cooker(
        design,
        aperture_m2=glass_m2 * opening,
        optical_efficiency=light / opening,
        diffuse_fraction=0.7 - 0.1 * design.flaps,
        sun_on_pots_fraction=0.25,
        loss_w_k=float(ua[0]),
        wind_factor_s_m=0.0,  # the wind is in the loss
        body_kj_k=BODY_J_M2K / 1000 * glass_m2,
        coupling_w_m2_k=25.0,
        litres=POTS_LITRES,
    )


def _cooker(design: Design, **figures: float) -> Cooker:
    return Cooker(
        id="design",
        name="Your own",
        kind=design.kind,
        strength_band_fraction=BAND_FRACTION,
        provenance={key: Provenance(kind="computed", note="of its build") for key in figures},
        **{k: float(f"{v:.5g}") for k, v in figures.items()},  # type: ignore[arg-type]
    )


def widest_pot_litres(design: Design) -> float:
    """Return the largest pot that a box takes, as tall as it is wide and a hand's breadth free."""
    if design.kind != "box":
        return POTS_LITRES
    width_m = min(design.size_cm / 100 * 0.85, DEPTH_M * 0.9)
    return 1000 * math.pi / 4 * width_m**3
