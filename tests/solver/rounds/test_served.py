"""A stop where food is tasted: there is something from when a dish is served.

By the day laid by hand stew and rice are served at noon, the second stew at half
past twelve; the last plate is at one.
"""

from __future__ import annotations

import pytest

from events.model import Event
from events.reading.rota_faults import rota_faults
from service.text.rota import sight
from solver.checking.rota_rules import _what_is_seen_is_there
from solver.programme import Sight
from solver.rounds.rota import _sights
from solver.rounds.sights import servings
from solver.simulation.day import make_day
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import PLACEMENTS, PLAN, at, minutes
from tests.solver.checking.hand_laid_rota import RED, ROUND, other, said
from tests.solver.scheduling.test_timed_load import day

NOON, ONE = 12 * 60, 13 * 60


def tasting(*cookers: str, sees: tuple[str, ...] = ("served",)) -> Event:
    return edited(ROUND, "stops", "build", cookers=cookers, sees=sees)


def test_food_is_there_from_when_it_is_served_to_its_last_plate() -> None:
    found = {(s.cooker_id, s.start, s.end) for s in servings(day(), PLACEMENTS)}

    assert ("box", NOON, ONE) in found
    assert ("hay", NOON, NOON + 30) in found  # the first stew is served out of its hay box
    assert ("ring", NOON + 30, ONE) in found  # the second out of the ring's pot
    assert {s.moment for s in servings(day(), PLACEMENTS)} == {"served"}


def test_a_table_without_cookers_is_for_food_out_of_any() -> None:
    table, at_the_box = tasting().stop("build"), tasting("box").stop("build")

    assert table.is_for("served", "box")
    assert table.is_for("served", "ring")
    assert at_the_box.is_for("served", "box")
    assert not at_the_box.is_for("served", "ring")
    assert not table.is_for("turn", "box")
    assert not tasting(sees=("served", "turn")).stop("build").is_for("turn", "box")


def test_the_rota_knows_what_is_served_at_a_table_and_what_is_seen_elsewhere() -> None:
    seen = _sights(make_day(tasting()), PLAN)

    assert {s.moment for s in seen["build"]} == {"served"}
    assert {(s.cooker_id, s.start) for s in seen["build"]} >= {("box", NOON), ("ring", NOON + 30)}
    others = [s for name, sights in seen.items() if name != "build" for s in sights]
    assert "served" not in {s.moment for s in others}


def test_only_food_to_taste_needs_no_cooker() -> None:
    assert [f.kind for f in rota_faults(tasting())] == []
    assert [f.kind for f in rota_faults(tasting(sees=("served", "turn")))] == ["sees-no-cooker"]


@pytest.mark.parametrize(
    ("clock", "rules"),
    [
        ("12:00", []),
        ("11:59", ["sight-not-in-the-plan"]),
        ("12:59", []),
        ("13:00", ["sight-not-in-the-plan"]),
    ],
)
def test_the_check_looks_for_what_is_served(clock: str, rules: list[str]) -> None:
    seen = Sight(moment="served", cooker_id="box", at=at(clock))
    rota = other(RED[2], at=at(clock) - minutes(10), sees=(seen,))

    found = said(_what_is_seen_is_there, rota, tasting())

    assert [b.rule for b in found] == rules
    not_for_it = said(_what_is_seen_is_there, rota, tasting("ring"))
    assert [b.rule for b in not_for_it] == ["sight-of-another-stop"]


def test_what_is_served_is_said() -> None:
    seen = Sight(moment="served", cooker_id="box", at=at("12:00"))

    assert sight(ROUND, seen) == "from 12:00 food out of box is served: taste it"
