"""What a rota says is seen, and its figures, from both sides of each limit on the hand-laid day."""

from __future__ import annotations

import pytest

from events.table import changed
from solver.checking import rota_rules
from solver.checking.breach import Breach
from solver.plan import Plan
from solver.programme import Sight, Visit
from tests.solver.checking.damage import again, case, place
from tests.solver.checking.hand_laid import PLAN, at, minutes
from tests.solver.checking.hand_laid_rota import BLUE, RED, ROTA, ROUND, level, other, said


def sees(of: Visit, moment: str, cooker: str, clock: str, old: Plan = PLAN) -> list[Breach]:
    sight = Sight.model_validate({"moment": moment, "cooker_id": cooker, "at": at(clock)})
    return said(rota_rules._what_is_seen_is_there, other(of, sees=(sight,)), old=old)


FOCUS, LAST = RED[0], BLUE[2]  # at the mirror 10:25 to 10:45, and 11:10 to 11:30


@pytest.mark.parametrize(
    ("of", "moment", "cooker", "clock", "there"),
    [
        (FOCUS, "loading", "mirror", "10:30", True),
        (FOCUS, "loading", "mirror", "10:31", False),  # nothing is loaded then
        (FOCUS, "turn", "mirror", "10:30", True),
        (FOCUS, "turn", "mirror", "10:35", False),
        (LAST, "first-steam", "mirror", "11:22", True),
        (LAST, "first-steam", "mirror", "11:20", True),  # a curve has a point every ten minutes
        (LAST, "first-steam", "mirror", "11:19", False),
        (LAST, "first-steam", "mirror", "11:11", False),  # before all have found their places
        (LAST, "lifted", "mirror", "11:40", False),
        (FOCUS, "lid-opened", "mirror", "10:30", False),
        (LAST, "boil", "mirror", "11:25", False),  # 95 °C at most
        (RED[1], "over-100", "box", "11:00", True),
        (RED[1], "over-100", "box", "10:56", False),
        (RED[1], "over-100", "box", "10:57", True),
        (RED[1], "over-100", "box", "11:12", True),
        (RED[1], "over-100", "box", "11:13", False),
    ],
)
def test_what_a_visit_is_said_to_see_is_in_the_plan(
    of: Visit, moment: str, cooker: str, clock: str, there: bool
) -> None:
    ids = (of.group_id, of.stop_id, cooker, moment)

    wrong = [Breach("sight-not-in-the-plan", ids, at(clock))]
    assert sees(of, moment, cooker, clock) == ([] if there else wrong)


def test_loading_is_seen_whole_and_work_of_hands_from_when_all_are_there() -> None:
    """The stir at eleven: two minutes after all came, three before they go."""

    def at_eleven(clock: str) -> list[Breach]:
        moved = changed(LAST, at=at(clock))
        sight = Sight(moment="lid-opened", cooker_id="mirror", at=at("11:00"))
        rota = changed(ROTA, visits=(changed(moved, sees=(sight,)),))
        return said(rota_rules._what_is_seen_is_there, rota)

    assert [bool(at_eleven(c)) for c in ("10:42", "10:43", "10:58", "10:59")] == [
        True,
        False,
        False,
        True,
    ]

    def loading(clock: str) -> list[Breach]:
        sight = Sight(moment="loading", cooker_id="mirror", at=at("10:30"))
        rota = changed(ROTA, visits=(changed(FOCUS, at=at(clock), sees=(sight,)),))
        return said(rota_rules._what_is_seen_is_there, rota)

    # Loaded until 10:35: all of it, and three minutes more.
    assert [bool(loading(c)) for c in ("10:17", "10:18", "10:30", "10:31")] == [
        True,
        False,
        False,
        True,
    ]


def test_a_sight_is_of_the_stops_own_moments_and_cookers() -> None:
    for moment, cooker in (("over-100", "mirror"), ("turn", "box")):
        found = sees(FOCUS, moment, cooker, "10:30")
        assert found == [Breach("sight-of-another-stop", ("red", "focus", cooker, moment))]


def test_what_was_seen_before_the_day_was_planned_again_is_not_looked_for() -> None:
    assert sees(FOCUS, "turn", "mirror", "10:35", again("10:25")) == []
    assert sees(FOCUS, "turn", "mirror", "10:35", again("10:24")) != []


def test_heat_is_seen_while_the_pot_is_in_its_cooker_at_the_sites_own_boil() -> None:
    """At 3000 m water boils at 90 °C and steams from 75: the stew is at 75 at 11:14."""
    high = changed(ROUND, site=changed(ROUND.site, altitude_m=3000.0))

    def seen(moment: str, clock: str) -> bool:
        sight = Sight.model_validate({"moment": moment, "cooker_id": "mirror", "at": at(clock)})
        rota = changed(ROTA, visits=(changed(LAST, at=at("10:50"), minutes=120, sees=(sight,)),))
        return not said(rota_rules._what_is_seen_is_there, rota, high)

    # Seen within ten minutes of a point of the curve: 87.5 °C of 87.5 from 11:24 on.
    assert [seen("boil", c) for c in ("11:10", "11:25", "11:40", "11:41")] == [
        False,
        True,
        True,
        False,
    ]
    assert [seen("first-steam", c) for c in ("10:52", "11:14", "11:41")] == [False, True, False]
    cool = place("rice-1", curve=tuple(changed(q, body_c=97.9) for q in PLAN.placements[2].curve))
    dark = changed(cool, placements=tuple(p for p in cool.placements if p.id != "lentils-1"))
    assert sees(RED[1], "over-100", "box", "11:00", dark) != []
    warm = place(
        "rice-1",
        dark,
        curve=tuple(changed(q, body_c=98.0) for q in PLAN.placements[2].curve),
    )
    assert sees(RED[1], "over-100", "box", "11:00", warm) == []


def is_seen(moment: str, cooker: str, clock: str, old: Plan = PLAN) -> bool:
    """Return whether a visit from ten minutes before to ten minutes after sees it in the plan."""
    sight = Sight.model_validate({"moment": moment, "cooker_id": cooker, "at": at(clock)})
    visit = changed(LAST, at=at(clock) - minutes(10), minutes=20, sees=(sight,))
    return rota_rules._is_seen(case(old, ROUND), visit, sight)


def test_a_pot_is_lifted_wherever_it_goes_and_a_lid_is_opened_to_stir_and_to_probe() -> None:
    """The first stew goes to the hay box, the second to the ring; rice comes out to be served."""
    for cooker, clock in (("mirror", "10:20"), ("mirror", "11:40"), ("box", "13:00")):
        assert is_seen("lifted", cooker, clock)
        assert not is_seen("lid-opened", cooker, clock)
    assert is_seen("lid-opened", "mirror", "11:00")
    assert is_seen("lid-opened", "oven", "10:00")


def test_a_pot_is_served_from_where_it_is_until_its_last_plate() -> None:
    """The second stew leaves the mirror for the ring; it is served from half past twelve to one."""
    assert is_seen("served", "ring", "12:30")
    assert is_seen("served", "ring", "12:59")
    assert not is_seen("served", "ring", "13:00")
    assert not is_seen("served", "mirror", "12:30")


# --- levels


@pytest.mark.parametrize(
    ("n", "key", "value"), [(0, "unseen", 0), (1, "end", 720), (2, "waiting", 45)]
)
def test_the_levels_are_counted_again(n: int, key: str, value: int) -> None:
    levels = [*ROTA.levels]
    levels[n] = changed(levels[n], value=value + 1)

    found = said(rota_rules._levels_are_right, changed(ROTA, levels=tuple(levels)))

    assert found == [Breach("wrong-rota-level", (key,), value + 1, value)]


def test_a_visit_sees_nothing_only_where_its_stop_has_something_to_see() -> None:
    blind = other(RED[0], sees=())

    assert said(rota_rules._levels_are_right, blind) == [
        Breach("wrong-rota-level", ("unseen",), 0, 1)
    ]
    later = other(RED[2], at=at("11:40") + minutes(5))
    assert said(rota_rules._levels_are_right, later) == [
        Breach("wrong-rota-level", ("end",), 720, 725),
        Breach("wrong-rota-level", ("waiting",), 45, 50),
    ]


def test_turns_and_loads_of_other_cookers_are_no_sight_of_this_one() -> None:
    """At 11:30 the box is turned and the ring loaded; at 11:05 the mirror alone is turned."""

    def at_focus(moment: str, clock: str, come: str) -> list[Breach]:
        sight = Sight.model_validate({"moment": moment, "cooker_id": "mirror", "at": at(clock)})
        rota = changed(ROTA, visits=(changed(LAST, at=at(come), sees=(sight,)),))
        return said(rota_rules._what_is_seen_is_there, rota)

    assert at_focus("turn", "11:05", "10:55") == []
    assert at_focus("turn", "11:30", "11:20") != []
    assert at_focus("loading", "11:30", "11:20") != []
    assert at_focus("first-steam", "11:40", "11:30") != []  # it is far beyond the first by then


def test_a_box_is_hot_by_any_point_near_and_a_pot_that_is_not_in_it_says_nothing() -> None:
    rice = PLAN.placements[2]
    alone = changed(PLAN, placements=(rice,))

    def seen(clock: str, come: str, old: Plan) -> bool:
        sight = Sight(moment="over-100", cooker_id="box", at=at(clock))
        rota = changed(ROTA, visits=(changed(RED[1], at=at(come), sees=(sight,)),))
        return not said(rota_rules._what_is_seen_is_there, rota, old=old)

    assert not seen("09:25", "09:15", alone)  # it goes in at half past
    once = tuple(changed(q, body_c=110.0 if q.at == at("11:00") else 60.0) for q in rice.curve)
    assert seen("11:05", "10:55", place("rice-1", alone, curve=once))
    untold = tuple(changed(q, body_c=None) for q in rice.curve)
    assert not seen("11:05", "10:55", place("rice-1", alone, curve=untold))


@pytest.mark.parametrize(
    ("moment", "core_c", "there"),
    [
        ("boil", 92.5, True),  # at 1500 m water boils at 95 °C: half a degree, and two of slack
        ("boil", 92.4, False),
        ("first-steam", 82.0, True),  # 80 °C, and two of slack
        ("first-steam", 82.1, False),
        ("first-steam", 78.0, True),
        ("first-steam", 77.9, False),
    ],
)
def test_a_moment_of_heat_has_two_degrees_of_slack(moment: str, core_c: float, there: bool) -> None:
    high = changed(ROUND, site=changed(ROUND.site, altitude_m=1500.0))
    stew = PLAN.placements[1]
    level_c = tuple(changed(q, food_c=core_c, core_c=core_c) for q in stew.curve)
    sight = Sight.model_validate({"moment": moment, "cooker_id": "mirror", "at": at("11:20")})
    rota = changed(ROTA, visits=(changed(LAST, sees=(sight,)),))
    old = place("stew-2", curve=level_c)

    assert (not said(rota_rules._what_is_seen_is_there, rota, high, old)) == there


def test_moves_are_against_another_rota_and_are_not_counted_here() -> None:
    moved = level("moved", 3)

    more = changed(ROTA, levels=(*ROTA.levels, moved))

    assert said(rota_rules._levels_are_right, more) == []
