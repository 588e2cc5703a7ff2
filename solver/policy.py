"""House rules in one place: the figures on which timetable, walks and check must agree.

All are choices of ours, common practice or judgement, none published.
"""

SLOT_MIN = 5  # the timetable's grain
LONGEST_MIN = 60  # even a box is looked at hourly (common practice)
LAST_OVER_MIN = 5  # the last aim before lifting may run over this much: no walk for five minutes
TURNS_A_WALK = 3  # under two minutes each: a walk fits one slot (common practice)
TURN_WORK_MIN = 2  # what a turn costs in the goal
LATE_CAP_MIN = 240  # a batch that never gets done under a poor sky counts as this late
RINGS_MIN = (10, 20, 30)  # on the aiming card: 4 mm apart, a blurred tip can be told from the next
RING_STEP_MIN = 5  # an aim lies on a ring or halfway between two
SWING_MOST_DEG = 60.0  # a cooker is swung by this much in one turn, and at its rim
RIM_MOST_CM = 60.0  # by this; beyond, hands no longer measure (judgement)
PREHEAT_LONGEST_MIN = 150  # a box is given this long at most to get as hot as a dish needs
CLOCK_LIMIT_MIN = 240  # 5-60 °C, cumulative: over this it is not served (US 4 h; AU/NZ 2 h/4 h)
LOAD_LONGEST_MIN = 30
SKIES_MOST = 95  # of 100: no chance is told as higher, nothing is certain
SMALL_MIN = 10  # planning again: what moves by less is no news, the hand looks at the pot anyway
PROBE_AFTER_MIN = 10  # what bakes this much longer than expected is looked at when it may be done


def weight(priority: int) -> int:
    """Return what a dish counts for: each step of priority outweighs the one below twice."""
    return int(2**priority)
