"""Visits with nothing to see are named: on the day laid by hand red sees nothing at Building."""

from __future__ import annotations

from datetime import time

from events.model import Event
from events.table import changed
from service.forms.part_start import SEEN_FIRST, rota_begun
from service.text.rota import sights, unseen
from solver.plan import Plan
from solver.programme import Sight, Visit
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import EVENT, PLAN
from tests.solver.checking.hand_laid_rota import BLUE, RED, ROTA, ROUND, other

REMEDY = "Tick more for these stops to see, or go round later."


def planned(*blind: Visit) -> Plan:
    rota = ROTA
    for visit in blind:
        seen = other(visit, sees=()).visits
        rota = changed(
            rota,
            visits=tuple(n if o == visit else o for o, n in zip(rota.visits, seen, strict=True)),
        )
    return changed(PLAN, rota=rota)


def test_a_visit_that_sees_nothing_where_it_should_is_named() -> None:
    red, blue = RED[0], BLUE[1]

    assert unseen(ROUND, planned()) == ""  # at Building there is always something to do
    assert (
        unseen(ROUND, planned(red))
        == f"1 visit has nothing to see. At the mirror: Red 10:25. {REMEDY}"
    )
    assert unseen(ROUND, planned(red, blue)) == (
        "2 visits have nothing to see. At the mirror: Red 10:25; At the box: Blue 10:30. " + REMEDY
    )


def test_a_stop_where_there_is_always_something_to_do_is_not_named() -> None:
    event: Event = edited(ROUND, "stops", "focus", sees=())

    assert unseen(event, planned(RED[0])) == ""
    assert unseen(EVENT, PLAN) == ""


def test_the_first_stops_are_there_for_what_happens_at_their_cooker() -> None:
    form = {"groups": "2", "people": "5", "from": "10:00", "until": "12:00", "visit_min": "20"}

    stops = rota_begun(EVENT, form | {"adults": ""})["stop"]

    assert isinstance(stops, list)
    assert stops
    assert [s["sees"] for s in stops] == [list(SEEN_FIRST)] * len(stops)


def test_what_is_turned_at_one_time_is_said_together_and_what_is_loaded_is_no_turn() -> None:
    at = [EVENT.instant(time(10, minute)) for minute in (0, 20)]
    seen = [
        Sight(moment="loading", cooker_id="box", at=at[0]),
        Sight(moment="turn", cooker_id="box", at=at[0]),
        Sight(moment="turn", cooker_id="mirror", at=at[0]),
        Sight(moment="turn", cooker_id="box", at=at[1]),
        Sight(moment="turn", cooker_id="mirror", at=at[1]),
    ]
    box, mirror = (EVENT.cooker(c).name for c in ("box", "mirror"))

    assert sights(EVENT, seen) == (
        f"10:00 {box} is loaded",
        f"10:00 {mirror} is turned",
        f"10:20 {box}, {mirror} are turned",
    )


def test_a_first_stop_at_several_cookers_is_named_after_all_of_them() -> None:
    second = changed(EVENT.cooker("mirror"), id="mirror-2", name="Mirror 2")
    first = changed(EVENT.cooker("mirror"), name="Mirror 1")
    others = tuple(c for c in EVENT.cookers if c.id != "mirror")
    event = changed(EVENT, cookers=(first, second, *others))
    form = {"groups": "2", "people": "5", "from": "10:00", "until": "12:00", "visit_min": "20"}

    stops = rota_begun(event, form | {"adults": ""})["stop"]

    assert isinstance(stops, list)
    assert stops[0]["name"] == "Mirrors 1–2"
    assert stops[0]["cookers"] == ["mirror", "mirror-2"]
