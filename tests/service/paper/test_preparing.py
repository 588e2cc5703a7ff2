"""Who prepares what when: free in the rota's hours, there by then, and soaking is not at night.

Who is free is read off the day laid by hand. What soaks and boils how long: US FDA (at least five
hours in water, half an hour at the boil), from memory. Where a night is borne: our own judgement.
"""

from __future__ import annotations

from datetime import time

import pytest

from events.kitchen import Before, Break
from events.model import Event
from events.reading.catalogue import entries
from events.table import changed
from service.paper.duties import NOBODY
from service.paper.lists import lists
from solver.plan import Plan
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import EVENT, PLAN
from tests.solver.checking.hand_laid_rota import ROTA, ROUND

ROUND_PLAN = changed(PLAN, rota=ROTA)


def prepared(event: Event = EVENT, plan: Plan = PLAN) -> dict[str, tuple[str, str]]:
    """Return when each dish's last preparing begins, and who does it."""
    rows = lists(event, plan)["prepare"]
    assert isinstance(rows, list)
    return {r["food"]: (r["at"], r["who"]) for r in rows}


def tasks(event: Event) -> list[tuple[str, str, str]]:
    rows = lists(event, PLAN)["prepare"]
    assert isinstance(rows, list)
    return [(r["at"], r["what"], r["who"]) for r in rows if r["food"] == "rice"][:-1]


def with_only(event: Event, *names: str) -> Event:
    return changed(event, helpers=tuple(h for h in event.helpers if h.id in {*names, "kid"}))


def test_who_loads_a_dish_prepares_it_where_they_are_free() -> None:
    assert prepared()["tea"] == ("11:05", "Ben")  # Ada, who loads it, turns the mirror at 11:05
    assert prepared()["stew"] == ("08:35", "Ada")


@pytest.mark.parametrize(
    ("leads", "at", "who"),
    [(None, "11:05", "Ben"), ("ben", "10:40", "Cam")],
)
def test_who_guides_a_stop_prepares_nothing_while_the_groups_are_there(
    leads: str | None, at: str, who: str
) -> None:
    """Groups are at Building from 10:00 to 12:00; Cam speaks from 11:05, Ada turns at 11:05."""
    event = edited(with_only(ROUND, "ada", "ben", "cam", "eve"), "stops", "build", guide=leads)

    assert prepared(event, ROUND_PLAN)["tea"] == (at, who)


def test_a_rota_that_has_everybody_leaves_nobody_to_prepare() -> None:
    alone = with_only(ROUND, "dan")

    assert prepared(alone, ROUND_PLAN)["tea"] == ("11:05", NOBODY)
    assert prepared(edited(alone, "stops", "build", guide=None), ROUND_PLAN)["tea"][1] == "Dan"


@pytest.mark.parametrize(
    ("rests_from", "begins"),
    [
        (time(11, 30), ("11:05", "Dan")),
        (time(11, 25), ("11:00", "Dan")),
        (time(10, 30), ("10:05", "Dan")),
        (time(10, 25), ("11:05", NOBODY)),
    ],
)
def test_where_nobody_is_free_it_is_done_earlier_by_an_hour_at_most(
    rests_from: time, begins: tuple[str, str]
) -> None:
    alone = edited(with_only(ROUND, "dan"), "stops", "build", guide=None)
    event = edited(alone, "helpers", "dan", breaks=(Break(at=rests_from, minutes=90),))

    assert prepared(event, ROUND_PLAN)["tea"] == begins


def test_what_is_to_be_done_before_anybody_is_there_has_no_name() -> None:
    at, who = prepared(edited(EVENT, "dishes", "stew", load_min=45))["stew"]
    assert (at, who) == ("07:55", "before the crew’s hours")
    assert prepared(edited(EVENT, "dishes", "stew", load_min=40))["stew"] == ("08:00", "Ada")


@pytest.mark.parametrize(
    ("waits_min", "says"),
    [
        (85, ("08:00", "Wait", "Ben")),
        (90, ("07:55", "Wait", "before the crew’s hours")),
        (235, ("05:30", "Wait", "before the crew’s hours")),
        (240, ("the evening before", "Wait", "")),
        (15 * 60 + 20, ("the evening before", "Wait", "")),
        (15 * 60 + 30, ("the day before, 17:55 at the latest", "Wait", "")),
        (48 * 60, ("2 days before, 09:25 at the latest", "Wait", "")),
    ],
)
def test_what_waits_long_begins_the_evening_before(
    waits_min: int, says: tuple[str, str, str]
) -> None:
    before = (Before(what="Wait", minutes=waits_min),)

    assert tasks(edited(EVENT, "dishes", "rice", before=before, load_min=5)) == [says]


def test_who_comes_first_says_when_the_crew_begins() -> None:
    before = (Before(what="Wait", minutes=90),)
    event = edited(EVENT, "dishes", "rice", before=before, load_min=5)
    early = edited(event, "helpers", "ben", start=time(7, 30))
    child = edited(event, "helpers", "kid", start=time(7, 30))

    assert tasks(early)[0] == ("07:55", "Wait", "Ben")
    assert tasks(child)[0][2] == "before the crew’s hours"


def test_beans_soak_the_evening_before_and_boil_in_the_morning() -> None:
    soak, boil = entries("dish")["bean-stew"]["before"]
    event = edited(EVENT, "dishes", "rice", before=(Before(**soak), Before(**boil)), load_min=5)

    (evening, soaked, who), (morning, boiled, cook) = tasks(event)

    assert (evening, who) == ("the evening before", "")
    assert "oak the beans" in soaked
    assert soak["minutes"] >= 5 * 60
    assert "for 30 minutes" in boiled
    assert boil["minutes"] >= 30
    assert (morning, cook) == ("08:40", "Cam")  # Ben, who loads it, has his oven then
