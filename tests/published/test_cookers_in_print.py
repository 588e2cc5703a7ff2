"""The product's own model put through tests of real cookers that were printed.

What a source does not print (sun, wind, pot, aperture) is a band here, never one value that fits.
Figures marked SEEN were read in the abstract or text of the source; the others are from memory.

[SAM] Samiji & Mlyuka, Tanz. J. Sci.: a mirror of 1.44 m², aimed by hand: 2 L to the boil in
      30 min, 5 L in 60 min, about 10 of them for pot and set-up; the site boils near 95 °C. SEEN
[KIT] EG-Solar, second-hand: 700 W at 750 W/m² from 1.54 m², the maker's end. SEEN
[FOIL] J. Renew. Energy 2021, 8944722: 0.11 of the beam from 2.54 m² of foil, the lower end. SEEN
[FAR] Farooqui 2017: two mirrors of 0.90 m, 1.27 m²: 485 W on average at 849 W/m². SEEN
[MOH] Mohammed 2013: a mirror 1.80 m across: 3.0 kg of dry rice in 90 to 100 min. SEEN
[MUT] "Solar cookers for developing countries: Mutoyi, Burundi", Int. J. Energy Res.: a panel,
      P_s(50) 46.85 W, more than 75 K above the air at most. SEEN
[GOU] solargourmet.de 2010: a corner of three squares of 0.30 m, a black jar of 1 L in a bag:
      68 °C at 5 °C air, March in Germany. SEEN
[MON] mikemonett.livejournal.com: 0.15 kg of lentils and 0.47 L of water in a panel done within
      4 h, 33 °C, about 35 % cloud. SEEN
[GLA] J. Renew. Energy 2013, 184352: a box, F1 0.11, F2 0.31, P_s(50) 23.95 W, about 0.33 m². SEEN
[AID] J. Aidan, Yola: a box, F1 0.12, F2 0.19, 27 W, 0.408 m². SEEN
[JAI] Sengar, Dashora & Mahavar: a box sold in Jaipur, F1 0.115, F2 0.43, 114 W for each m². SEEN
[ADE] Ademe & Hameer 2018, AIMS Energy 6:146: a box, F1 0.123, P_s(50) 36 W, 0.22 m². SEEN
[SIN] Singh et al. 2015: a box with four foil mirrors, 1 L to 94 °C in 124 and 114 min. SEEN
[USDA] US Dept. of Agriculture 1918: 5.68 L in a box packed with four inches of paper, room 21 °C:
      100 to 77.8 °C in 4 h, 68.3 °C in 8 h. SEEN
[POT] J. Jap. Soc. Food Sci. Technol. 28:181, 1981: a potato is 90 % done in 5.5, 16.4 and
      51.9 min at 100, 90 and 80 °C. SEEN
"""

from __future__ import annotations

import numpy as np
import pytest

from events.errors import WHOLE_FILE
from events.model import Cooker
from events.reading.catalogue import entries, resolve
from events.reading.cooker_facts import to_parameters
from solver.thermal.calibration import calibrated
from solver.thermal.energy_balance import insulated_c
from solver.thermal.food import cook_rate
from solver.thermal.measurement import WATER_J_KG_K, clear_light_w, standard_litres, water
from solver.thermal.pots import pot_heat_j_k
from tests.published.runs import (
    cooker_like,
    dish_like,
    empty_c,
    heated,
    line,
    minutes_to,
    minutes_to_done,
    of_kind,
    steel_pot,
)

BOXES = ("box-plain", "box-better", "box-large", "box-hot")


@pytest.mark.parametrize(("litres", "printed_min"), [(2.0, 30.0), (5.0, 60.0)])
@pytest.mark.parametrize("sun", [850.0, 1050.0])
def test_a_typical_mirror_of_the_size_boils_two_litres_and_five_as_printed(
    litres: float, printed_min: float, sun: float
) -> None:
    mirror = cooker_like("mirror-140cm", aperture_m2=1.44)

    minutes = 10.0 + minutes_to(heated(mirror, litres, sun=sun, from_c=23.0), 94.5)  # [SAM]

    assert minutes == pytest.approx(printed_min, rel=0.15)


def test_mirrors_bring_a_share_of_the_beam_into_water_from_the_middle_of_what_was_printed() -> None:
    lowest, highest = 0.11, 700 / (750 * 1.54)  # [FOIL], [KIT]
    middle = (lowest + highest) / 2

    for name in of_kind("parabolic"):
        mirror = cooker_like(name)
        litres = standard_litres(mirror)
        seconds = 60 * minutes_to(heated(mirror, litres, sun=850.0, from_c=25.0), 90.0)
        beam_w = 0.85 * 850 * (mirror.aperture_m2 or 0.0)
        share = litres * WATER_J_KG_K * 65 / seconds / beam_w
        assert abs(share - middle) < 0.2 * (highest - lowest), name
        # Of polished mirrors under black pots the printed ends lie near the band's: 0.36 and 0.61.
        assert mirror.strength_band_fraction >= 0.25


def test_two_small_mirrors_give_about_the_printed_watts() -> None:
    mirror = cooker_like("mirror-90cm")

    # 849 W/m² of beam; water, pot and wind are not printed: 5 L each, calm to a light air.
    powers = [
        2
        * 5
        * WATER_J_KG_K
        * 62
        / 60
        / minutes_to(heated(mirror, 5.0, sun=849 / 0.85, from_c=28.0, wind=w), 90.0)
        for w in (0.0, 1.0)
    ]

    assert all(p == pytest.approx(485, rel=0.3) for p in powers)  # [FAR]


def test_three_kilos_of_rice_in_the_large_mirror_take_about_what_was_printed() -> None:
    mirror = cooker_like("mirror-180cm")
    rice = dish_like("rice", start_c=28.0)

    # 3.0 kg dry and 5.7 kg of water; haze of the tropics; its water, pot and turning not printed.
    minutes = minutes_to_done(mirror, rice, 8.7, steel_pot(12.0), sun=800.0, air=32.0, boil_c=98.0)

    assert 0.6 <= minutes / 95 <= 1.2  # [MOH]; a mirror here is always well aimed


def test_a_panel_described_by_its_power_stagnates_where_that_panel_did() -> None:
    # [MUT] 46.85 W at 50 K and nothing at 75 K or a little more: about -1.75 W/K.
    facts = {"line_slope_w_k": -1.75, "line_intercept_w": 46.85 + 50 * 1.75, "line_sun_w_m2": 700.0}
    table = to_parameters(
        resolve("cooker", {"id": "c", "like": "panel-deep", **facts}), WHOLE_FILE, []
    )
    panel = calibrated(Cooker.model_validate(table))

    power, slope = line(panel, sun=700.0)
    water_k = heated(panel, standard_litres(panel), sun=700.0, from_c=25.0, minutes=900).max() - 25

    assert power == pytest.approx(46.85, rel=0.03)
    assert slope == pytest.approx(-1.75, rel=0.05)
    assert 70 <= water_k <= 85
    assert empty_c(panel, sun=700.0, pot=1.3 * standard_litres(panel)) - 25 > 75


def test_catalogue_panels_lie_in_the_published_powers_and_a_dry_pot_in_the_practices_heat() -> None:
    for name in of_kind("panel"):
        panel = cooker_like(name)
        for wind in (0.0, 0.5, 1.0):
            assert 20 <= line(panel, wind=wind)[0] <= 60, name
        for pot in (2.0, 4.0, 6.0):
            assert 100 <= empty_c(panel, pot=pot) <= 150, name  # common practice


def test_a_litre_in_a_corner_of_foil_gets_as_far_above_the_air_as_printed() -> None:
    corner = cooker_like("panel-folded", aperture_m2=0.156)

    most = [
        heated(corner, 1.0, sun=sun, from_c=5.0, air=5.0, minutes=300).max() - 5
        for sun in (750.0, 950.0)
    ]

    assert most[0] <= 63 * 1.1  # [GOU]
    assert most[1] >= 63 * 0.9


@pytest.mark.parametrize("name", ["panel-folded", "panel-deep"])
def test_lentils_in_a_panel_are_done_within_the_printed_four_hours(name: str) -> None:
    parts = [{"food": "lentils-dry", "portion_kg": 0.15}, {"food": "water", "portion_kg": 0.47}]
    lentils = dish_like("lentil-soup", ingredients=parts, start_c=25.0)

    minutes = minutes_to_done(
        cooker_like(name), lentils, 0.62, steel_pot(1.5), sun=0.65 * 850, air=33.0
    )

    assert 90 <= minutes <= 240  # [MON]


def test_catalogue_boxes_have_figures_of_merit_and_powers_like_printed_ones() -> None:
    least_w_m2, most_w_m2 = 27 / 0.408, 36 / 0.22  # [AID], [ADE]

    for name in BOXES:
        box = cooker_like(name)
        area = box.aperture_m2 or 0.0
        f1 = (empty_c(box, sun=800.0) - 25) / 800
        track = heated(box, 8 * area, sun=800.0, from_c=25.0)
        seconds = 60 * (minutes_to(track, 85.0) - minutes_to(track, 65.0))
        f2 = f1 * 8 * WATER_J_KG_K / seconds * np.log((1 - 40 / f1 / 800) / (1 - 60 / f1 / 800))
        power = line(box)[0] / area
        assert 0.10 <= f1 <= 0.15, name  # printed: 0.11 to 0.13; 0.12 and more is a good box
        assert 0.19 <= f2 <= 0.43, name  # [AID], [JAI]
        assert least_w_m2 <= power <= most_w_m2, name


def box_with(f1: float, f2: float, *, area: float, sun: float) -> Cooker:
    """Return our box with printed figures of merit: F1 by its empty heat, F2 by the minutes.

    The minutes from 65 to 85 °C are those of Mullick 1987 for 8 kg/m².
    """
    rise = [40 / (f1 * sun), 60 / (f1 * sun)]
    printed_s = f1 * 8 * WATER_J_KG_K / f2 * np.log((1 - rise[0]) / (1 - rise[1]))
    low, high = 0.1, 0.95
    for _ in range(20):  # the efficiency by which our box takes those minutes
        middle = (low + high) / 2
        light = clear_light_w(cooker_like("box-plain", aperture_m2=area), sun) / 0.5 * middle
        loss = float(light) / (f1 * sun) / 1.05  # a wind of 1 m/s is in it
        own = {"optical_efficiency": middle, "loss_w_k": loss, "body_kj_k": 12 * area}
        box = cooker_like("box-plain", aperture_m2=area, **own)
        track = heated(box, 8 * area, sun=sun, from_c=25.0, wind=1.0)
        slow = 60 * (minutes_to(track, 85.0) - minutes_to(track, 65.0)) > printed_s
        low, high = (middle, high) if slow else (low, middle)
    return box


@pytest.mark.slow
def test_the_box_of_which_all_three_figures_are_printed_agrees_with_itself_in_our_model() -> None:
    # [GLA] Its aperture is about 0.33 m² inside, 0.22 at the least.
    least, most = (
        line(box_with(0.11, 0.31, area=area, sun=800.0), sun=800.0, wind=1.0)[0]
        for area in (0.22, 0.36)
    )

    assert least <= 23.95 <= most


@pytest.mark.parametrize(
    ("f1", "f2", "area", "sun", "above_k", "printed_w", "within"),
    [
        (0.12, 0.19, 0.408, 750.0, 48.0, 27.0, 0.1),  # [AID] not standardised
        (0.115, 0.43, 1.0, 700.0, 50.0, 114.0, 0.2),  # [JAI] for each m²
    ],
)
def test_the_power_of_a_box_follows_from_its_printed_figures_of_merit(
    f1: float, f2: float, area: float, sun: float, above_k: float, printed_w: float, within: float
) -> None:
    at_50, slope = line(box_with(f1, f2, area=area, sun=sun), sun=sun, wind=1.0)

    power = (at_50 + slope * (above_k - 50)) * sun / 700
    assert power == pytest.approx(printed_w, rel=within)


@pytest.mark.parametrize("printed_min", [124.0, 114.0])
def test_a_litre_in_a_box_gets_to_94_about_as_fast_as_printed(printed_min: float) -> None:
    plain, better = (
        minutes_to(heated(cooker_like(b), 1.0, sun=850.0, from_c=30.0, air=30.0), 94.0)
        for b in ("box-plain", "box-better")
    )

    assert better <= printed_min <= plain  # [SIN] its opening is not printed
    assert plain / printed_min < 1.4
    assert better / printed_min > 0.7


def test_a_kettle_in_a_hay_box_falls_as_printed_fast_at_first_and_slowly_later() -> None:
    # The packing of [USDA]: figures found for it, two points by one packing.
    paper = cooker_like("hay-box", coupling_w_m2_k=5.0, loss_w_k=0.5, body_kj_k=11.0)
    kettle = steel_pot(5.7)

    def after(box: Cooker, hours: int) -> float:
        return insulated_c(
            box,
            pot_litres=kettle.litres,
            heat_j_k=pot_heat_j_k(water(5.68, 100.0), 5.68, kettle),
            from_c=100.0,
            air_c=21.0,
            minutes=60 * hours,
        )

    assert after(paper, 4) == pytest.approx(77.8, abs=1.0)
    assert after(paper, 8) == pytest.approx(68.3, abs=1.0)
    # Ours is larger, and not better packed.
    typical = cooker_like("hay-box")
    assert after(typical, 4) == pytest.approx(77.8, abs=5.0)
    assert after(typical, 8) == pytest.approx(68.3, abs=7.0)
    assert after(typical, 8) < 68.3


def test_the_potatoes_z_tells_their_printed_times() -> None:
    z = float(str(entries("dish")["potatoes"]["z_c"]))

    for at_c, printed in ((100, 5.5), (90, 16.4), (80, 51.9)):
        minutes = 5.5 / float(cook_rate(np.array([at_c]), z)[0])
        assert minutes == pytest.approx(printed, rel=0.08)  # [POT]


def test_dry_pulses_soften_by_a_z_of_their_own() -> None:
    # Quast & Silva 1977, J. Food Sci. 42 (SEEN): soybeans and peas 16, brown beans 18, black 19.
    for name in ("lentil-soup", "pea-soup", "bean-stew"):
        assert 16 <= dish_like(name).z_c <= 19, name
    own = dish_like("vegetable-soup", ingredients=[{"food": "lentils-dry", "portion_kg": 0.1}])
    assert 16 <= own.z_c <= 19
