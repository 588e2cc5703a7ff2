"""When food is safe: how much heat kills what makes people ill.

What a jurisdiction asks stands in `events.food_rules`.

Source
[ACMSF] UK ACMSF 2007: 70 °C for 2 minutes, z 6; Listeria z 7.5. The smaller rate is taken.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_LN10 = math.log(10.0)
LETHALITY_MIN = 2.0  # minutes at 70 °C [ACMSF]
LETHAL_C, LEAST_LETHAL_C = 70.0, 60.0
Z_C, LISTERIA_Z_C = 6.0, 7.5  # [ACMSF]
# Between them the clock of hazardous food runs (AU and NZ; US 5 and 57 °C; all from memory).
CLOCK_FROM_C, CLOCK_TO_C = 5.0, 60.0


def lethality_rate(core_c: Array) -> Array:
    """Return minutes at 70 °C won for each minute at `core_c`; none below 60 °C.

    Source: [ACMSF]; the smaller of z 6 and z 7.5 at each temperature.
    """
    core_c = np.asarray(core_c, dtype=np.float64)
    over = core_c - LETHAL_C
    rate = np.exp(np.minimum(over * (_LN10 / Z_C), over * (_LN10 / LISTERIA_Z_C)))
    return np.where(core_c < LEAST_LETHAL_C, 0.0, rate)
