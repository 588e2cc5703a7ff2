"""Two entries tasted on the hand-laid day: each rule of the contest from both sides."""

from __future__ import annotations

import hashlib
import inspect
from datetime import time

import pytest

from events.kitchen import Break
from events.table import changed
from solver.checking import contest_rules
from solver.checking.breach import Breach
from solver.contest_plan import ContestPlan, Draw, JudgeAt, NotTasted
from tests.solver.checking.damage import again, edited
from tests.solver.checking.hand_laid import at
from tests.solver.checking.hand_laid_contest import (
    BEGUN,
    COOK_OFF,
    LENT,
    ONE,
    PLACES,
    SEED,
    SHOW,
    TWO,
    drawn,
    entry,
    first,
    places,
    rules,
    said,
    second,
    whole,
)


def test_the_hand_laid_contest_keeps_every_rule() -> None:
    assert whole(SHOW) == []


def test_a_contest_has_a_plan_and_is_drawn_from_its_seed_before_it_is_tasted() -> None:
    undrawn = changed(SHOW, draw=None, tastings=())

    assert whole(None) == [Breach("no-contest", ())]
    assert whole(None, changed(COOK_OFF, contest=None)) == []
    assert whole(undrawn, rules(seed=None)) == []
    for show, event in (
        (undrawn, COOK_OFF),
        (changed(SHOW, draw=None), rules(seed=None)),
        (changed(SHOW, tastings=()), rules(seed=None)),
    ):
        assert whole(show, event) == [Breach("tasted-without-a-draw", ())]


def test_what_nobody_entered_or_nobody_judges_is_named() -> None:
    gone = edited(COOK_OFF, "entries", "one", withdrawn=True)
    stranger = (JudgeAt(judge_id="max", at=at("14:00")),)

    assert whole(SHOW, gone) == [Breach("unknown-entry-or-judge", ("one",))]
    assert whole(first(judges=stranger)) == [Breach("unknown-entry-or-judge", ("one",))]


def test_each_entry_is_tasted_once_or_refused_with_why() -> None:
    rule = contest_rules._each_entry_is_tasted_or_refused
    why = NotTasted(entry_id="two", kind="never-ready", figures={})

    alone = changed(SHOW, tastings=(ONE,))
    assert said(rule, alone) == [Breach("not-tasted-once", ("two",), 0, 1)]
    assert said(rule, changed(alone, not_tasted=(why,))) == []
    assert said(rule, changed(SHOW, not_tasted=(why,))) == [
        Breach("not-tasted-once", ("two",), 1, 1)
    ]
    twice = changed(SHOW, tastings=(ONE, TWO, TWO))
    assert said(rule, twice) == [Breach("not-tasted-once", ("two",), 2, 1)]


# --- the lot


def test_places_and_cookers_are_those_that_the_seed_deals() -> None:
    rule = contest_rules._places_are_the_lots
    swapped = [drawn(a, station_id=PLACES[b]) for a, b in (("one", "two"), ("two", "one"))]

    assert said(rule, places(*swapped)) == [
        Breach("not-what-the-lot-deals", (a, PLACES[b], LENT[a]), str((PLACES[a], LENT[a])))
        for a, b in (("one", "two"), ("two", "one"))
    ]
    other = changed(SHOW, draw=Draw(seed="999 999", places=()))
    assert said(rule, other) == [Breach("another-seed", (), "999 999", SEED)]
    assert said(rule, places(drawn("one"))) == [
        Breach("not-what-the-lot-deals", ("two", "None", "None"), str((PLACES["two"], LENT["two"])))
    ]
    assert said(rule, changed(SHOW, lists_sha256="0")) == [Breach("wrong-fingerprint-of-lists", ())]


def test_what_is_fixed_or_left_out_is_not_drawn() -> None:
    """With one place and one cooker fixed, the other entry is dealt what is left."""
    rule = contest_rules._places_are_the_lots
    event = edited(COOK_OFF, "entries", "one", station="north", cooker="own")
    event = changed(event, contest_cookers=event.contest_cookers[1:])
    lists = hashlib.sha256(b"two\n\nsouth\n\nlent-2\n").hexdigest()
    mine = drawn("one", station_id="north", cooker_id="own")
    theirs = drawn("two", station_id="south", cooker_id="lent-2")

    assert said(rule, places(mine, theirs, lists_sha256=lists), event) == []
    three = rules(stations=("north", "south", "yard"))
    spare = changed(SHOW, left_out=("yard",))
    assert said(rule, spare, three) == []
    assert said(rule, SHOW, three) != []
    for held in (None, "north"):  # what is withdrawn holds no place
        gone = entry("gone", "larks", withdrawn=True, station=held)
        assert said(rule, SHOW, changed(COOK_OFF, entries=(*COOK_OFF.entries, gone))) == []


def test_a_place_and_a_cooker_hold_one_entry_and_a_teams_own_only_its_own() -> None:
    rule = contest_rules._one_entry_at_a_place
    both = [Breach("two-entries-at-one-place", ("one", "two"))]

    assert said(rule, places(drawn("one"), drawn("two", station_id=PLACES["one"]))) == both
    same = places(drawn("one"), drawn("two", cooker_id=LENT["one"]))
    assert said(rule, same)[:1] == both
    assert said(rule, same)[1:] == [Breach("not-its-cooker", ("two", LENT["two"]))]
    own = places(drawn("one", cooker_id="own"), drawn("two"), tastings=(TWO,))
    assert said(rule, own) == []
    taken = places(drawn("one"), drawn("two", cooker_id="own"), tastings=(ONE,))
    assert said(rule, taken) == [Breach("cooker-of-another-team", ("two", "own"), "larks")]
    assert said(rule, first(cooker_id="own")) == [Breach("not-its-cooker", ("one", "own"))]


# --- the grid


GRID = contest_rules._tastings_are_on_the_grid


def test_a_tasting_has_its_minutes_on_the_grid_in_its_hours() -> None:
    assert said(GRID, first(minutes=9)) == [Breach("wrong-tasting-minutes", ("one",), 9, 10)]
    assert said(GRID, second(at=at("14:15"))) == [
        Breach("tasting-off-the-grid", ("two",), at("14:15"))
    ]
    outside = Breach("tasting-outside-hours", ("one",), at("13:50"))
    assert said(GRID, first(at=at("13:50"))) == [outside]
    assert said(GRID, second(at=at("14:50"))) == []
    assert said(GRID, second(at=at("15:00"))) == [
        Breach("tasting-outside-hours", ("two",), at("15:00"))
    ]
    assert said(GRID, first(lane=1)) == [Breach("no-such-lane", ("one",), 1, 1)]
    assert said(GRID, first(lane=-1)) == [Breach("no-such-lane", ("one",), -1, 1)]
    assert said(GRID, first(at=at("13:50"), lane=2), old=BEGUN) == []


@pytest.mark.parametrize(
    ("clock", "long", "named"),
    [("14:20", 30, []), ("14:15", 30, ["two"]), ("13:50", 10, []), ("13:50", 15, ["one"])],
)
def test_a_tasting_is_in_no_break(clock: str, long: int, named: list[str]) -> None:
    event = rules(closed=(Break(at=time.fromisoformat(clock), minutes=long),))

    starts = {"one": at("14:00"), "two": at("14:10")}
    assert said(GRID, SHOW, event) == [Breach("tasting-in-a-break", (n,), starts[n]) for n in named]


def test_a_lane_has_one_tasting_at_once() -> None:
    assert said(GRID, second(at=at("14:00"))) == [Breach("two-in-a-lane", ("one", "two"))]
    walking = rules(how="walk", minutes=5)  # two judges, two parties: ten minutes, two lanes
    both = changed(SHOW, tastings=(changed(ONE, at=at("14:05")), changed(TWO, at=at("14:00"))))
    assert said(GRID, both, walking) == [Breach("two-in-a-lane", ("one", "two"))]
    assert (
        said(
            GRID,
            changed(both, tastings=(changed(both.tastings[0], lane=1), both.tastings[1])),
            walking,
        )
        == []
    )


# --- judges


JUDGES = contest_rules._judges_taste_each_once


def tasted_by(*some: tuple[str, str]) -> ContestPlan:
    return first(judges=tuple(JudgeAt(judge_id=j, at=at(t)) for j, t in some))


def test_each_judge_who_may_is_asked_once_and_tastes_within_the_tasting() -> None:
    assert said(JUDGES, tasted_by(("una", "14:00"))) == [Breach("judge-not-asked", ("one", "ivo"))]
    twice = tasted_by(("ivo", "14:00"), ("una", "14:00"), ("una", "14:00"))
    assert said(JUDGES, twice) == [
        Breach("judge-tastes-twice", ("one",)),
        Breach("judge-in-two-places", ("one", "una", "one"), at("14:00")),
    ]
    for clock in ("13:59", "14:01"):
        assert said(JUDGES, tasted_by(("ivo", "14:00"), ("una", clock))) == [
            Breach("judge-outside-the-tasting", ("one", "una"), at(clock), at("14:00"))
        ]
    assert said(JUDGES, tasted_by(("una", "14:00")), old=BEGUN) == []


@pytest.mark.parametrize(
    ("values", "asked"),
    [
        ({"start": time(14, 1)}, False),
        ({"end": time(14, 9)}, False),
        ({"end": time(14, 10)}, True),
        ({"kin": ("larks",)}, False),
        ({"kin": ("wrens",)}, True),
        ({"avoids": ("milk",)}, True),  # somebody read every label
    ],
)
def test_a_judge_who_is_away_or_close_to_the_team_is_not_asked(
    values: dict[str, object], asked: bool
) -> None:
    event = edited(COOK_OFF, "judges", "ivo", **values)
    why = "judge-is-kin" if "kin" in values else "judge-not-there"
    figures = () if "kin" in values else (at("14:00"),)

    there = [b for b in said(JUDGES, SHOW, event) if "one" in b.ids]
    away = [b for b in said(JUDGES, tasted_by(("una", "14:00")), event) if "one" in b.ids]

    assert there == ([] if asked else [Breach(why, ("one", "ivo"), *figures)])
    assert away == ([Breach("judge-not-asked", ("one", "ivo"))] if asked else [])


@pytest.mark.parametrize(
    "values", [{"allergens": ("milk",)}, {"allergens_checked": False}], ids=["in it", "unknown"]
)
def test_a_judge_passes_by_what_has_or_may_have_what_they_avoid(values: dict[str, object]) -> None:
    dish = changed(COOK_OFF.entry("one").dish, **values)
    event = edited(COOK_OFF, "entries", "one", dish=dish)
    event = edited(event, "judges", "ivo", avoids=("milk",))

    assert said(JUDGES, SHOW, event) == [Breach("judge-avoids-it", ("one", "ivo"))]
    assert said(JUDGES, tasted_by(("una", "14:00")), event) == []


def test_a_judge_is_at_one_pot_at_a_time() -> None:
    busy = second(
        at=at("14:00"),
        judges=(JudgeAt(judge_id="ivo", at=at("14:00")), JudgeAt(judge_id="una", at=at("14:00"))),
    )

    assert said(JUDGES, busy) == [
        Breach("judge-in-two-places", ("two", j, "one"), at("14:00")) for j in ("ivo", "una")
    ]


def test_every_rule_of_the_contest_is_asked_of_what_is_to_come() -> None:
    written = {
        f
        for f in vars(contest_rules).values()
        if inspect.isgeneratorfunction(f)
        and next(iter(inspect.signature(f).parameters), "") == "held"
    }

    assert set(contest_rules._RULES) == written
    assert whole(first(minutes=9)) != []
    early = again("13:59")
    assert said(GRID, first(minutes=9), old=early) == [
        Breach("wrong-tasting-minutes", ("one",), 9, 10)
    ]
