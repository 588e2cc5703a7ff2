"""Who has hands for a talk on the hand-laid day, and what there is to see when."""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Event, Talk
from events.table import changed
from solver.plan import CurvePoint, Job, Plan
from solver.rounds.sights import Sighting, _stretch, sightings
from solver.simulation.day import make_day
from solver.talks.hands import free_slots, free_speakers, is_watched, taken
from solver.talks.moments import Shown, heat_seen
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import EVENT, JOBS, PLACEMENTS, PLAN, TURNS, at

DAY = make_day(EVENT)


def slot(clock: str) -> int:
    return round((at(clock) - at("00:00")).total_seconds() / 300)


def talk(minutes: int = 10, *speakers: str) -> Talk:
    return Talk(id="t", name="T", minutes=minutes, speakers=speakers)


def speakers(clock: str, of: Talk, plan: Plan = PLAN, event: Event = EVENT) -> list[int]:
    day = DAY if event is EVENT else make_day(event)
    return list(free_speakers(day, plan, of, slot(clock)))


def test_a_helpers_free_slots_are_those_without_job_walk_or_talk_but_work_of_all_is_none() -> None:
    ben, cam = (free_slots(DAY, PLAN, EVENT.helper(h)) for h in ("ben", "cam"))

    for clock, free in (
        ("08:00", True),
        ("08:30", False),  # the oven is put on the sun
        ("08:35", True),
        ("09:10", False),  # a walk
        ("12:00", True),  # serving is everybody's
        ("12:45", False),
        ("16:00", False),
    ):
        assert (slot(clock) in ben) == free, clock
    assert [slot(c) in cam for c in ("11:00", "11:05", "11:30", "11:35")] == [
        True,
        False,
        False,
        True,
    ]


def test_work_takes_every_slot_that_it_touches() -> None:
    odd = Job(id="x", kind="stir", at=at("09:03"), minutes=3, helper_ids=("ada",))

    assert taken(DAY, [odd]) == {slot("09:00"), slot("09:05")}
    assert taken(DAY, [changed(odd, at=at("09:00"), minutes=5)]) == {slot("09:00")}


@pytest.mark.parametrize(
    ("clock", "of", "found"),
    [
        ("10:00", talk(), [-1]),  # it needs nobody
        ("11:00", talk(), []),  # another talk is on: visitors are at one at a time
        ("10:55", talk(), [-1]),
        ("11:35", talk(), [-1]),
        ("12:50", talk(10, "cam"), [2]),
        ("12:40", talk(10, "ben"), []),  # a lift at 12:45
        ("12:40", talk(5, "ben"), [1]),
        ("13:50", talk(10, "cam"), [2]),
        ("13:55", talk(10, "cam"), []),  # gone by then
        ("12:50", talk(10, "ada", "cam"), [0, 2]),
    ],
)
def test_a_speaker_is_there_and_has_nothing_else_to_do(
    clock: str, of: Talk, found: list[int]
) -> None:
    assert speakers(clock, of) == found


def test_nobody_gives_a_talk_while_all_set_up() -> None:
    work = Job(id="up", kind="set-up", at=at("10:00"), minutes=10, helper_ids=("ben",))
    plan = changed(PLAN, jobs=(*JOBS, work))

    assert speakers("10:05", talk(), plan) == []
    assert speakers("10:10", talk(), plan) == [-1]


def test_while_a_mirror_is_on_the_sun_another_who_may_work_it_is_there() -> None:
    """From nine to 11:40 a pot is in the mirror; Ada and Cam may work it, Ben may not."""
    alone = edited(EVENT, "helpers", "ada", may=("burner", "lift"))
    late = edited(EVENT, "helpers", "ada", start=EVENT.helper("ada").end.replace(hour=11))

    assert speakers("10:40", talk(10, "cam")) == [2]
    assert speakers("10:40", talk(10, "cam"), event=alone) == []
    assert speakers("10:40", talk(10, "cam"), event=late) == []
    assert speakers("11:45", talk(10, "cam"), event=alone) == [2]  # the mirror is away by then
    assert speakers("10:40", talk(10, "ben"), event=alone) == [1]  # cam is there
    assert is_watched(DAY, PLAN, {slot("11:10")}, without="ada") is False  # cam gives a talk
    assert is_watched(DAY, PLAN, {slot("11:10")}, without=None)
    assert not is_watched(DAY, PLAN, {slot("14:00")}, without=None)
    kid = edited(EVENT, "helpers", "kid", may=("mirrors",))
    assert not is_watched(make_day(kid), PLAN, {slot("11:10")}, without="ada")  # no adult


# --- what there is to see


def seen(of: str, cooker: str) -> list[tuple[int, int]]:
    found = sightings(DAY, PLACEMENTS, JOBS, TURNS)
    return [(s.start, s.end) for s in found if (s.moment, s.cooker_id) == (of, cooker)]


def test_hands_are_seen_when_they_work_and_heat_by_the_curve_until_it_is_lifted() -> None:
    assert seen("loading", "mirror") == [(540, 545), (630, 635)]
    assert seen("lid-opened", "mirror") == [(570, 575), (660, 665)]
    assert seen("lifted", "mirror") == [(620, 625), (700, 705)]
    assert seen("turn", "box") == [(570, 570), (630, 630), (690, 690), (740, 740)]
    # From 20 °C to 95 in an hour: 85 °C, 15 under the boil, after 52 minutes.
    assert seen("first-steam", "mirror") == [(592, 592), (682, 682)]
    assert seen("boil", "mirror") == []
    assert seen("over-100", "box") == [(570, 780), (570, 780)]
    assert seen("over-100", "mirror") == []


def test_on_a_mountain_the_first_steam_comes_sooner() -> None:
    """At 3000 m water boils at 90 °C: 15 under it are 75, after 44 of 60 minutes."""
    high = make_day(changed(EVENT, site=changed(EVENT.site, altitude_m=3000.0)))

    steams = [s.start for s in sightings(high, PLACEMENTS[:1], (), ()) if s.moment == "first-steam"]

    assert steams == [pytest.approx(584, abs=1)]


def curve(*points: tuple[str, float]) -> list[CurvePoint]:
    return [CurvePoint(at=at(t), food_c=c, core_c=c, body_c=None) for t, c in points]


@pytest.mark.parametrize(
    ("until", "limit_c", "found"),
    [
        ("12:00", 90.0, (610, 630)),  # from half way between two points, to its last above
        ("12:00", 95.0, (615, 630)),
        ("10:25", 90.0, (610, 620)),
        ("12:00", 100.1, None),
        ("10:05", 90.0, None),
    ],
)
def test_a_heat_lasts_from_where_the_curve_crosses_it_and_the_first_time_counts(
    until: str, limit_c: float, found: tuple[int, int] | None
) -> None:
    points = curve(
        ("10:00", 80.0), ("10:20", 100.0), ("10:30", 100.0), ("10:40", 70.0), ("10:50", 100.0)
    )
    last = slot(until) * 5

    assert _stretch(DAY, points, last, limit_c, lambda q: q.food_c) == found


@pytest.mark.parametrize(
    ("sighting", "long", "visits"),
    [
        # Two minutes until all are there; what lasts is seen by three minutes of it.
        (
            Sighting("boil", "c", 600, 640, lasts=True),
            12,
            {590: False, 591: True, 635: True, 636: False},
        ),
        # Loading is seen whole, from the first minute, and three to look up a last time.
        (Sighting("loading", "c", 600, 605), 16, {591: False, 592: True, 600: True, 601: False}),
        (Sighting("turn", "c", 600, 600), 16, {586: False, 587: True, 598: True, 599: False}),
    ],
    ids=["lasts", "loading", "hands"],
)
def test_a_visit_sees_what_lies_inside_it(
    sighting: Sighting, long: int, visits: dict[int, bool]
) -> None:
    found = {start: sighting.seen_at(start, start + long) is not None for start in visits}

    assert found == visits


def test_on_drawn_days_a_talk_shows_what_begins_or_lasts_in_it() -> None:
    """On one of two days the pot boils from the tenth to the fortieth minute."""
    boils = np.zeros((2, 60), dtype=bool)
    boils[0, 10:40] = True
    shown = Shown("boil", "c", ("stew",), 600, boils)

    assert [shown.share(s, s + 10) for s in (602, 603, 604, 635, 636)] == [0.0, 0.5, 0.5, 0.5, 0.0]
    once = np.zeros((2, 60), dtype=bool)
    once[0, 10] = True
    begins = Shown("first-steam", "c", ("stew",), 600, once)
    assert [begins.share(s, s + 10) for s in (602, 603, 608, 609)] == [0.0, 0.5, 0.5, 0.0]
    assert begins.share(605, 609) == 0.0


def test_steam_shows_once_and_a_pot_boils_at_its_own_sites_boil() -> None:
    high = make_day(changed(EVENT, site=changed(EVENT.site, altitude_m=3000.0)))
    food_c = np.asarray([[70.0, 76.0, 80.0, 89.0, 89.9, 90.0]])

    assert heat_seen(high, "boil", food_c).tolist() == [[False] * 4 + [True] * 2]
    steams = heat_seen(high, "first-steam", food_c)
    assert steams.tolist() == [[False, True, False, False, False, False]]
