"""Adults who go round and also cook: who is left at the cookers is said, by the day laid by hand.

On that day Ada may work the mirror and the ring, Cam the mirror; Ben, Dan and Eve may only lift.
"""

from __future__ import annotations

from datetime import time

import pytest

from events.model import Event
from events.table import changed
from service.text.round_crew import who_also_cooks
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import EVENT
from tests.solver.checking.hand_laid_rota import ROUND


def led(adult: str, guide: str | None, *there: str, **hours: object) -> Event:
    """Return the round led by one with red and one at Building, with so many helpers there."""
    event = edited(edited(ROUND, "groups", "red", adult=adult), "stops", "build", guide=guide)
    helpers = tuple(h for h in event.helpers if h.id in (*there, "kid"))
    return changed(event, helpers=helpers, rota=changed(event.rota, **hours))


@pytest.mark.parametrize(
    ("event", "says"),
    [
        (EVENT, ""),
        (led("Mrs Achieng", None, "ada"), ""),
        (
            led("ada", "cam", "ada", "cam"),
            "Ada and Cam also cook. From 10:00 to 12:00 nobody is at the cookers.",
        ),
        (
            led("ada", None, "ada", "ben"),
            "Ada also cooks. From 10:00 to 12:00 only Ben is at the cookers,"
            " and nobody who may work mirrors or gas.",
        ),
        (
            led("ada", None, "ada", "ben", "cam", end=time(11, 30)),
            "Ada also cooks. From 10:00 to 11:30 only Ben and Cam are at the cookers,"
            " and nobody who may work gas.",
        ),
        (
            led("ben", None, "ada", "ben"),
            "Ben also cooks. From 10:00 to 12:00 only Ada is at the cookers.",
        ),
        (led("ben", None, "ada", "ben", "cam"), ""),
    ],
)
def test_who_goes_round_is_not_at_the_cookers(event: Event, says: str) -> None:
    assert who_also_cooks(event) == says


@pytest.mark.parametrize(("comes", "is_left"), [(time(11, 55), True), (time(12), False)])
def test_who_is_there_in_a_part_of_the_rotas_hours_is_left(comes: time, is_left: bool) -> None:
    event = edited(led("ada", None, "ada", "ben"), "helpers", "ben", start=comes)

    assert ("only Ben" in who_also_cooks(event)) == is_left


@pytest.mark.parametrize(("goes", "is_left"), [(time(10, 5), True), (time(10), False)])
def test_who_goes_before_the_rota_is_not_left(goes: time, is_left: bool) -> None:
    event = edited(led("ada", None, "ada", "ben"), "helpers", "ben", end=goes)

    assert ("only Ben" in who_also_cooks(event)) == is_left
