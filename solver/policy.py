"""House rules in one place: the figures on which timetable, walks and check must agree.

All are choices of ours, common practice or judgement, none published.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from events.model import Dish

Array = NDArray[np.float64]

SLOT_MIN = 5  # the timetable's grain
LONGEST_MIN = 60  # even a box is looked at hourly (common practice)
LAST_OVER_MIN = 5  # the last aim before lifting may run over this much: no walk for five minutes
TURNS_A_WALK = 3  # under two minutes each: a walk fits one slot (common practice)
TURN_WORK_MIN = 2  # what a turn costs in the goal
LATE_CAP_MIN = 240  # a batch that never gets done under a poor sky counts as this late
RINGS_MIN = (10, 20, 30)  # on the aiming card: 4 mm apart, a blurred tip can be told from the next
RING_STEP_MIN = 5  # an aim lies on a ring or halfway between two
DIAL_STEP_DEG = 7.5  # a quarter hour of the dial by which a cooker that can't be tilted is turned
SAME_POWER = 0.01  # of full power: an aim off by so little is as good as the exact one
SWING_MOST_DEG = 60.0  # a cooker is swung by this much in one turn, and at its rim
RIM_MOST_CM = 60.0  # by this; beyond, hands no longer measure (judgement)
MISS_STEP = 0.03  # the goal counts expected misses in such shares of a dish
HELD_WEIGHT = 0.25  # a batch held to its limit is a quarter missed: an hour past fresh, a fifth
CHANGE_STEPS = 3  # planning again: a pot moved must save so many such steps, else it stays
LATE_HANDS_MIN = 7.0  # loading and turning come so late on the mean (judgement)
PREHEAT_LONGEST_MIN = 150  # a box is given this long at most to get as hot as a dish needs
# How far under the oven a recipe asks for a loaf may still go in: it is put into an oven that goes
# on warming, and bakes slower and paler. Common practice (a cold oven), no published source.
PALE_BAND_C = 40.0
# An oven that just reaches what a loaf's middle needs may come an hour later, a little cooler. So a
# loaf is planned to be done when its middle is so much warmer than it needs (judgement).
BAKE_SPARE_K = 0.5
PALE_WEIGHT = 0.1  # a loaf from the palest oven is a tenth missed (judgement)
PALE_FROM_C = 3.0  # so far under what was asked, nobody sees a difference (judgement)
LOAD_LONGEST_MIN = 30
SKIES_MOST = 95  # of 100: no chance is told as higher, nothing is certain
STAND_LOSS_W_M2_K = 8.0  # a lidded pot standing in still air: typical, unmeasured
# It loses so much more for each m/s of wind, as a pot in a mirror does: typical, unmeasured.
STAND_WIND_FACTOR_S_M = 0.475
HOLD_SPARE_K = 2.0  # what is planned to stay hot, is planned so much hotter than the rule asks
SMALL_MIN = 10  # planning again: what moves by less is no news, the hand looks at the pot anyway
# What one lifts, pot and food, held away from the body. HSE INDG143 (guideline weights, women,
# hands between knuckle and elbow, arms stretched out), from memory.
ONE_LIFTS_KG = 10.0
SET_UP_MIN = 30  # before the first load: common practice, no published source
YOUNG_MOST = 4  # for one adult who stands with them (common practice, no published source)
PROBE_AFTER_MIN = 10  # what bakes this much longer than expected is looked at when it may be done
# Visitors have found their places after so much of a talk or visit, and look up a last time so
# long before its end; what lasts (a boil) is seen by so many minutes of it. Judgement.
SETTLE_MIN, LAST_LOOK_MIN, LASTING_MIN = 2, 3, 3
BOIL_WITHIN_K = 0.5  # this near to the boiling point water boils for all to see
FIRST_STEAM_K = 15.0  # and this far below it the first steam shows: judgement, not measured
SHOW_WATER_KG = 1.0  # what is put on the sun for a talk alone, and at most so long before it
SHOW_LEAD_MIN = 120
NOTICE_MIN = 10  # planning again: a tasting that begins this soon stays, people are on their way
YOUNG_WALK_M_MIN = 40  # the young go round no faster (common practice, no published source)


def weight(priority: int) -> int:
    """Return what a dish counts for: each step of priority outweighs the one below twice."""
    return int(2**priority)


def gas_steps(gas_min: int, price_dishes_h: float) -> int:
    """Return what minutes on gas cost, in the steps of expected misses."""
    return round(gas_min / 60 * price_dishes_h / MISS_STEP)


def miss_steps(missed_fraction: float) -> int:
    """Return the missed share of a batch in whole steps, as the goal counts it.

    Each batch counts as its whole dish: a dish comes when all its batches do.
    """
    return round(missed_fraction / MISS_STEP)


def oven_floor_c(dish: Dish) -> float | None:
    """Return the coolest oven into which a dish may go, to bake slower and paler, or None.

    Under `needs_body_c` a cook must be warned. None: it needs no oven.
    """
    return None if dish.needs_body_c is None else dish.needs_body_c - PALE_BAND_C


def in_time_fraction(spare_min: Array, took_min: Array) -> Array:
    """Return how surely each of some drawn pots is in time, by its spare minutes; none if never.

    A logistic smooths few draws: pots, hands, and what the model does not know.
    """
    done = np.isfinite(took_min)
    usual_min = np.where(done, took_min, 0.0)
    off = 1.7 * np.where(done, spare_min, 0.0) / (0.07 * usual_min + 3.0)
    return done / (1.0 + np.exp(-np.minimum(np.maximum(off, -50.0), 50.0)))
