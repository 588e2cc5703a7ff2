"""How a pot stands is said in the event's own clock."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

from events.table import changed
from service.text import pots as text
from solver.live.pots import pot_statuses
from solver.live.status import day_status
from tests.conftest import sample_event, sample_plan
from tests.diaries import local

HARVEST = sample_event("harvest-lunch")


def test_a_pot_is_ready_or_says_when() -> None:
    status = day_status(HARVEST, sample_plan("harvest-lunch"), [], local(HARVEST, "11:20"))
    pots = {p.placement_id: p for p in pot_statuses(status)}
    cooking = pots["plum-compote-1"]
    assert cooking.ready_at is not None

    said = text.state(HARVEST, cooking)

    assert said.startswith("ready 1")
    assert "am" in text.state(changed(HARVEST, clock_h=12), cooking)
    assert text.state(HARVEST, changed(cooking, ready_now=True)) == "ready"
    assert text.state(HARVEST, changed(cooking, cautious_at=None)).endswith(", or later")
    assert text.state(HARVEST, changed(cooking, ready_at=None)).startswith("not on this day")


def test_a_pot_that_was_lifted_is_out() -> None:
    plan = sample_plan("harvest-lunch")
    first = min(plan.placements, key=lambda p: p.lifted_at)
    status = day_status(HARVEST, plan, [], first.lifted_at + timedelta(minutes=5))

    pot = next(p for p in pot_statuses(status) if p.placement_id == first.id)

    assert text.state(HARVEST, pot) == "done, kept warm"


def test_a_gust_is_ordered_before_a_cloud() -> None:
    status = day_status(HARVEST, sample_plan("harvest-lunch"), [], local(HARVEST, "11:40"))
    cloudy = dataclasses.replace(status, cloudy=True)

    assert text.order(status) == ""
    assert text.order(cloudy).startswith("Cloud")
    assert text.order(dataclasses.replace(cloudy, parked=frozenset({"mirror-1"}))).startswith(
        "Gust"
    )
