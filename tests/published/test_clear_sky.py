"""The clear sky against pvlib's printed figures and pvlib's own code.

Sources: Ineichen & Perez 2002, as in pvlib's own test (zenith 10, air mass 1, Linke 3,
extraterrestrial 1364). ASHRAE 1993 for Atlanta, as quoted in a textbook. pvlib.clearsky.
"""

from __future__ import annotations

import numpy as np
import pytest
from pvlib import atmosphere, clearsky
from pvlib.irradiance import get_extra_radiation

from solver.solar.irradiance import air_mass, extraterrestrial_w_m2, ineichen


def test_the_printed_figures_are_met_to_the_last_digit() -> None:
    glob, beam, diffuse = ineichen(
        np.array([10.0]), np.array([1.0]), turbidity=3, altitude_m=0, extra_w_m2=1364
    )

    assert glob[0] == pytest.approx(1038.159219, abs=1e-5)
    assert beam[0] == pytest.approx(942.208186, abs=1e-5)
    assert diffuse[0] == pytest.approx(110.265293, abs=1e-5)


@pytest.mark.parametrize("altitude", [0.0, 600.0, 2200.0])
@pytest.mark.parametrize("turbidity", [2.0, 3.5, 6.0])
def test_any_height_of_the_sun_gives_the_reference_figure(
    altitude: float, turbidity: float
) -> None:
    zenith = np.linspace(1, 89, 45)
    mass = air_mass(zenith) * atmosphere.alt2pres(altitude) / 101325

    glob, beam, diffuse = ineichen(
        zenith, mass, turbidity=turbidity, altitude_m=altitude, extra_w_m2=1364
    )

    reference = clearsky.ineichen(zenith, mass, turbidity, altitude=altitude, dni_extra=1364)
    assert np.abs(glob - reference["ghi"]).max() < 0.01
    assert np.abs(beam - reference["dni"]).max() < 0.01
    assert np.abs(diffuse - reference["dhi"]).max() < 0.01


def test_air_mass_and_the_sun_outside_the_air_are_the_references() -> None:
    zenith = np.linspace(0, 89.9, 50)

    reference = atmosphere.get_relative_airmass(zenith, "kastenyoung1989")
    assert np.abs(air_mass(zenith) - reference).max() < 1e-9
    for day in (1, 100, 200, 365):
        printed = get_extra_radiation(day, solar_constant=1366.1, method="spencer")
        assert extraterrestrial_w_m2(day) == pytest.approx(float(printed), rel=1e-6)


def test_atlanta_at_noon_in_may_lies_between_a_very_clean_and_a_warm_towns_sky() -> None:
    # ASHRAE 1993: 902 W/m2 direct, another model of the same sky; haze is not in it.
    zenith = np.array([33.7 - 20.0])

    clean, usual, warm = (
        float(
            ineichen(
                zenith,
                air_mass(zenith),
                turbidity=turbidity,
                altitude_m=315,
                extra_w_m2=extraterrestrial_w_m2(141),
            )[1][0]
        )
        for turbidity in (2, 3, 4)
    )

    assert clean > 902 > warm
    assert usual == pytest.approx(902, rel=0.05)


@pytest.mark.parametrize("altitude_m", [0.0, 500.0, 1500.0])
@pytest.mark.parametrize("aod", [0.08, 0.15, 0.25])
def test_below_1500_metres_the_beam_is_near_that_of_two_other_skies(
    altitude_m: float, aod: float
) -> None:
    # Bird and simplified Solis, as in pvlib; their haze is turned into ours by Kasten 1996.
    zenith, water_cm = np.linspace(15, 65, 11), 1.4
    mass = air_mass(zenith)
    pressure = atmosphere.alt2pres(altitude_m)
    absolute = mass * pressure / 101325
    turbidity = atmosphere.kasten96_lt(
        absolute, water_cm, atmosphere.bird_hulstrom80_aod_bb(aod * 1.3, aod)
    )
    turbidity = float(np.median(turbidity))
    extra = 1366.1

    _, beam, _ = ineichen(
        zenith, absolute, turbidity=turbidity, altitude_m=altitude_m, extra_w_m2=extra
    )

    bird = clearsky.bird(
        zenith, mass, aod * 1.3, aod, water_cm, pressure=pressure, dni_extra=extra
    )["dni"]
    solis = clearsky.simplified_solis(90 - zenith, aod * 0.7, water_cm, pressure, extra)["dni"]
    assert np.abs(beam - (bird + np.asarray(solis)) / 2).max() < 85  # W/m², a tenth
