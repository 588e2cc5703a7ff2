"""From the hand-laid day to the rota's slots and back: hours, walks, talks, sights, what has been.

The young of `red` walk 40 m a minute, `blue` 60; from the mirror to the box are 300 m, from there
to where one builds 301.5 m, told as 302.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import time, timedelta

import pytest

from events.model import Event
from events.rounds import Group
from events.table import changed
from solver.plan import Plan
from solver.programme import RotaPlan
from solver.rounds import model, rota
from solver.rounds.problem import RotaProblem, RotaSolution
from solver.rounds.sights import Sighting
from solver.simulation.day import Day, make_day
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import PLAN
from tests.solver.checking.hand_laid_rota import BLUE, RED, ROTA, ROUND, round_of
from tests.solver.scheduling.test_formulation import replanned

MINUTE = timedelta(minutes=1)
TEN = 10 * 12  # in slots
RED_G, BLUE_G = 0, 1
FOCUS, GLASS, BUILD = 0, 1, 2


def problem(event: Event = ROUND, plan: Plan = PLAN) -> RotaProblem:
    return rota._round(make_day(event), plan).problem


def test_a_group_goes_round_in_whole_slots_of_its_hours_and_the_rotas() -> None:
    hours = [(g.start, g.end) for g in problem().groups]
    late = edited(ROUND, "groups", "red", start=time(10, 32), end=time(11, 58))
    early = edited(ROUND, "groups", "red", start=time(9), end=time(13))

    assert hours == [(TEN, TEN + 24)] * 2
    assert [(g.start, g.end) for g in problem(late).groups] == [(TEN + 7, TEN + 23), hours[1]]
    assert [(g.start, g.end) for g in problem(early).groups] == hours


def test_a_group_is_at_every_stop_that_it_does_not_skip_at_its_own_pace() -> None:
    event = edited(ROUND, "groups", "blue", skips=("glass",))

    assert [g.stops for g in problem(event).groups] == [(0, 1, 2), (0, 2)]
    assert [g.pace for g in problem(event).groups] == [1, 0]


def test_a_visit_has_the_rotas_minutes_or_its_stops_own_and_a_stop_its_minutes_between() -> None:
    event = edited(ROUND, "stops", "build", minutes=35)

    assert [s.slots for s in problem(event).stops] == [4, 4, 7]
    assert [s.ready for s in problem(event).stops] == [0, 1, 0]


@pytest.mark.parametrize(
    ("values", "quick", "slow"),
    [
        ({}, ((1, 1, 1), (1, 1, 2), (1, 2, 1)), ((1, 2, 1), (2, 1, 2), (1, 2, 1))),
        ({"walk_m_min": 30}, *[((1, 2, 1), (2, 1, 3), (1, 3, 1))] * 2),  # nobody young is faster
        ({"walk_min_least": 10}, *[((2, 2, 2),) * 3] * 2),
    ],
)
def test_a_walk_takes_whole_slots_and_the_young_their_time(
    values: dict[str, object], quick: tuple[object, ...], slow: tuple[object, ...]
) -> None:
    """302 m at 60 m a minute are told as six minutes."""
    found = problem(round_of(**values))

    assert found.walks == (quick, slow)
    assert found.walk_least == quick[0][0]  # type: ignore[index]


@pytest.mark.parametrize(
    ("values", "slots", "starts"),
    [
        ({}, 2, (TEN + 6, TEN + 18)),
        ({"pause_from": time(10, 32), "pause_until": time(11, 28)}, 2, (TEN + 7, TEN + 17)),
        ({"pause_from": None, "pause_until": None}, 2, (TEN, TEN + 24)),
        ({"pause_min": 0}, 0, (TEN + 6, TEN + 18)),
    ],
)
def test_a_pause_begins_between_its_two_times(
    values: dict[str, object], slots: int, starts: tuple[int, int]
) -> None:
    found = problem(round_of(**values))

    assert (found.pause, found.pause_starts) == (slots, starts)


def test_the_bell_is_the_rotas() -> None:
    assert not problem().bell
    assert problem(round_of(bell=True)).bell


def test_while_all_are_at_a_talk_or_on_their_way_no_group_is_anywhere_else() -> None:
    """From five past eleven for half an hour, with five minutes' walk before and after."""
    for_all = edited(ROUND, "talks", "talk", groups="all")
    jobs = tuple(changed(j, minutes=26) if j.id == "talk" else j for j in PLAN.jobs)

    assert problem().closed == set()
    assert problem(for_all).closed == set(range(TEN + 12, TEN + 20))
    assert problem(for_all, changed(PLAN, jobs=jobs)).closed == set(range(TEN + 12, TEN + 20))


# --- what there is to see


def seeing(monkeypatch: pytest.MonkeyPatch, *seen: Sighting) -> None:
    monkeypatch.setattr(rota, "sightings", lambda *given: list(seen))


def test_a_visit_sees_what_its_stop_is_there_for_at_its_own_cookers(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A turn at half past ten: seen by who came two minutes before and stays for three."""
    seeing(
        monkeypatch,
        Sighting("turn", "mirror", 630, 630),
        Sighting("turn", "oven", 660, 660),  # no stop's
        Sighting("loading", "box", 660, 665),  # not what this stop is there for
    )
    everything = set(range(TEN, TEN + 24))

    stops = problem().stops
    assert everything - stops[FOCUS].unseen == {TEN + 3, TEN + 4, TEN + 5}
    assert stops[GLASS].unseen == everything
    assert stops[BUILD].unseen == set()  # there is always something to do
    longer = problem(edited(ROUND, "stops", "focus", minutes=25)).stops[FOCUS]
    assert everything - longer.unseen == {TEN + 2, TEN + 3, TEN + 4, TEN + 5}


# --- and back


def slots(visits: dict[tuple[int, int], str], pauses: dict[int, str]) -> RotaSolution:
    def slot(clock: str) -> int:
        at = time.fromisoformat(clock)
        return at.hour * 12 + at.minute // 5

    return RotaSolution(
        {k: slot(t) for k, t in visits.items()}, {g: slot(t) for g, t in pauses.items()}, ()
    )


SOLVED = slots(
    {
        (RED_G, BUILD): "11:40",
        (RED_G, GLASS): "10:55",
        (RED_G, FOCUS): "10:25",
        (BLUE_G, BUILD): "10:00",
        (BLUE_G, GLASS): "10:30",
        (BLUE_G, FOCUS): "11:10",
    },
    {RED_G: "11:15", BLUE_G: "10:50"},
)


def test_what_was_found_is_told_as_the_hand_laid_rota(monkeypatch: pytest.MonkeyPatch) -> None:
    """With every walk's metres from the stop before, and each sight at its minute."""
    seeing(
        monkeypatch,
        Sighting("loading", "mirror", 630, 635),
        Sighting("over-100", "box", 635, 665, lasts=True),
        Sighting("first-steam", "mirror", 682, 682),
        Sighting("turn", "mirror", 709, 709),  # nobody is there
    )
    day = make_day(ROUND)

    told = rota._told(day, rota._round(day, PLAN), SOLVED)

    red = changed(RED[1], sees=(changed(RED[1].sees[0], at=RED[1].at + 2 * MINUTE),))
    blue = changed(BLUE[1], sees=(changed(BLUE[1].sees[0], at=BLUE[1].at + 5 * MINUTE),))
    visits = (RED[0], red, RED[2], BLUE[0], blue, BLUE[2])
    assert told == RotaPlan(
        visits=tuple(sorted(visits, key=lambda v: v.at)), pauses=ROTA.pauses, levels=()
    )


# --- planned again


def again(minute: int, event: Event = ROUND) -> Day:
    day = replanned(event, minute)
    assert day.replan is not None
    return replace(day, replan=replace(day.replan, plan=changed(PLAN, rota=ROTA)))


def test_what_has_begun_stays_and_the_rest_is_known_as_it_was() -> None:
    """Red came to the mirror at 10:25, blue to the box at 10:30."""
    now = rota._round(again(630), PLAN).problem
    before = rota._round(again(629), PLAN).problem

    assert now.fixed == {
        (RED_G, FOCUS): TEN + 5,
        (BLUE_G, BUILD): TEN,
        (BLUE_G, GLASS): TEN + 6,
    }
    assert now.before == {
        (RED_G, GLASS): TEN + 11,
        (RED_G, BUILD): TEN + 20,
        (BLUE_G, FOCUS): TEN + 14,
    }
    assert (BLUE_G, GLASS) in before.before
    assert not {**problem().fixed, **problem().before}


def test_what_is_no_longer_asked_for_is_forgotten() -> None:
    skips = edited(ROUND, "groups", "blue", skips=("glass",))
    gone = changed(ROUND, groups=(Group(id="new", name="New", people=3), ROUND.groups[1]))

    for event, left in ((skips, {(0, 0), (1, 2)}), (gone, {(1, 1), (1, 2)})):
        found = rota._round(again(630, event), PLAN).problem
        assert set(found.fixed) == left


# --- where there is none


def test_where_there_is_no_rota_what_would_help_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[RotaProblem] = []

    def can_be(other: RotaProblem) -> bool:
        asked.append(other)
        return other.pause == 0 or other.groups[0].end > TEN + 24

    monkeypatch.setattr(model, "solve_rota", lambda given: None)
    monkeypatch.setattr(model, "can_be", can_be)
    day = make_day(round_of(bell=True))

    found = rota.rota_of(day, PLAN)

    assert found == RotaPlan(visits=(), pauses=(), levels=(), helps=("longer-hours", "no-pause"))
    given = rota._round(day, PLAN).problem
    longer, shorter, no_pause, no_bell = asked
    assert [g.end for g in longer.groups] == [TEN + 24 + 6] * 2  # half an hour
    assert [s.slots for s in shorter.stops] == [3, 3, 3]
    assert replace(longer, groups=given.groups) == replace(shorter, stops=given.stops) == given
    assert no_pause == replace(given, pause=0)
    assert no_bell == replace(given, bell=False)


def test_no_visit_is_made_shorter_than_a_slot_and_only_what_is_asked_is_left_out() -> None:
    plain = problem(edited(round_of(pause_min=0), "stops", "build", minutes=5))

    helps = dict(rota._relaxed(plain))

    assert set(helps) == {"longer-hours", "shorter-visits"}
    assert [s.slots for s in helps["shorter-visits"].stops] == [3, 3, 1]


def test_without_groups_there_is_no_rota() -> None:
    assert rota.rota_of(make_day(changed(ROUND, groups=())), PLAN) is None
