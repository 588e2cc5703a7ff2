"""Turns in words: the larger movement first, the edge that moves, the ring and the hour."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from events.model import Event
from events.table import changed
from service.charts.turn import turn_picture
from service.text.turn_orders import turn_order
from solver.plan import Turn
from tests.conftest import sample_event

AT = datetime(2026, 11, 28, 8, 30, tzinfo=UTC)


@pytest.fixture
def event() -> Event:
    return sample_event("harvest-lunch")


def turn(cooker_id: str = "mirror-1", **more: object) -> Turn:
    usual: dict[str, object] = {
        "kind": "turn",
        "ring_min": 10,
        "ring_deg": 2.3,
        "clock_hour": 8.0,
        "was_ring_deg": 2.3,
        "was_clock_hour": 2.0,
        "turn_deg": 5.0,
        "tilt_deg": -2.0,
        "rim_cm": 6.1,
        "tip_cm": 2.4,
        "from_azimuth_deg": 40.0,
        "to_azimuth_deg": 45.0,
        "to_elevation_deg": 50.0,
        "first": False,
    }
    return Turn.model_validate(
        {
            "id": "t",
            "cooker_id": cooker_id,
            "at": AT,
            "holds_until": AT + timedelta(minutes=20),
            **usual,
            **more,
        }
    )


@pytest.mark.parametrize(
    ("given", "title", "main", "second", "arrow"),
    [
        (
            {},
            "Turn Mirror 1",
            "right 6 cm at the rim",
            "then raise the upper edge by 2 cm",
            "right",
        ),
        (
            {"turn_deg": -5.0, "tip_cm": 0.4},
            "Turn Mirror 1",
            "left 6 cm at the rim",
            "leave its tilt",
            "left",
        ),
        (
            {"kind": "tilt", "tilt_deg": 6.0, "tip_cm": 8.0, "rim_cm": 2.0},
            "Tilt Mirror 1",
            "lower the upper edge by 8 cm",
            "then right 2 cm at the rim",
            "down",
        ),
        (
            {"kind": "tilt", "tilt_deg": -6.0, "tip_cm": 8.0, "rim_cm": 0.3},
            "Tilt Mirror 1",
            "raise the upper edge by 8 cm",
            "don’t turn it",
            "up",
        ),
        (  # over, and the sun low by now: the upper edge is the one with 6, and it goes up
            {"kind": "tilt", "tilt_deg": 6.0, "tip_cm": 8.0, "rim_cm": 0.0, "over": True},
            "Tilt Mirror 1",
            "raise the upper edge by 8 cm",
            "don’t turn it",
            "up",
        ),
        (  # almost level nobody sees an upper edge
            {"kind": "tilt", "tilt_deg": 6.0, "tip_cm": 8.0, "rim_cm": 0.0, "to_elevation_deg": 84},
            "Tilt Mirror 1",
            "lower the edge with 12 by 8 cm",
            "don’t turn it",
            "down",
        ),
        (
            {"kind": "tip-over", "tilt_deg": 9.0, "tip_cm": 11, "rim_cm": 0.0, "over": True},
            "Tip Mirror 1 over",
            "lower the edge with 12 by 11 cm, past level",
            "don’t swing it round",
            "over",
        ),
        (
            {"kind": "turn-round", "turn_deg": -176.0, "rim_cm": 215.0},
            "Turn Mirror 1 round",
            "turn it right round",
            "then raise the upper edge by 2 cm",
            "round",
        ),
        (
            {"kind": "turn-round", "turn_deg": -100.0, "rim_cm": 122.0, "tip_cm": 0.0},
            "Turn Mirror 1 round",
            "left by a quarter of a full turn",
            "leave its tilt",
            "round",
        ),
        ({"kind": "hold"}, "Look at Mirror 1", "move nothing", "its aim still holds", ""),
        (
            {"kind": "aim", "first": True},
            "Aim Mirror 1",
            "aim it by the card",
            "12 at its upper edge",
            "",
        ),
        (  # facing the north-west almost level: where the upper edge is must be said
            {"kind": "aim", "first": True, "to_elevation_deg": 82.0, "to_azimuth_deg": 300.0},
            "Aim Mirror 1",
            "aim it by the card",
            "its edge with 12 towards the south-east",
            "",
        ),
    ],
)
def test_an_order_says_the_larger_movement_first(
    event: Event, given: dict[str, object], title: str, main: str, second: str, arrow: str
) -> None:
    order = turn_order(event, turn(**given))

    assert (order.title, order.main, order.second, order.arrow) == (title, main, second, arrow)
    assert order.short
    assert "Aiming card" in turn_picture(event, turn(**given))


@pytest.mark.parametrize(
    ("ring_min", "hour", "said", "short"),
    [
        (10, 8.0, "ring 10, at 8 o’clock", "ring 10 at 8"),
        (15, 10.5, "between rings 10 and 20, at 10½ o’clock", "10 to 20 at 10½"),
        (5, 0.5, "halfway to ring 10, at 12½ o’clock", "halfway to 10 at 12½"),
        (30, 12.0, "ring 30, at 12 o’clock", "ring 30 at 12"),
        (0, 3.0, "no shadow left", "none left"),
    ],
)
def test_the_shadows_place_is_a_ring_and_an_hour(
    event: Event, ring_min: float, hour: float, said: str, short: str
) -> None:
    order = turn_order(event, turn(ring_min=ring_min, clock_hour=hour))

    assert (order.shadow, order.shadow_short) == (said, short)


DIAL = {"ring_min": None, "ring_deg": None, "was_ring_deg": None, "tilt_deg": 0.0, "tip_cm": 0.0}


@pytest.mark.parametrize(
    ("given", "main", "second", "shadow", "short"),
    [
        (
            {"clock_hour": 11.75},
            "right 6 cm at the rim",
            "leave its tilt",
            "towards 11¾ o’clock",
            "towards 11¾",
        ),
        (
            {"clock_hour": 0.25, "turn_deg": -5.0},
            "left 6 cm at the rim",
            "leave its tilt",
            "towards 12¼ o’clock",
            "towards 12¼",
        ),
        (
            {"clock_hour": 12.0, "kind": "aim", "first": True, "was_clock_hour": None},
            "aim it by the card",
            "12 at its back",
            "towards 12 o’clock",
            "towards 12",
        ),
    ],
)
def test_what_cant_be_tilted_is_turned_to_an_hour_of_its_dial(
    event: Event, given: dict[str, object], main: str, second: str, shadow: str, short: str
) -> None:
    it = turn("box-1", **DIAL, **{"to_elevation_deg": 90.0, **given})
    order = turn_order(event, it)

    assert (order.main, order.second) == (main, second)
    assert (order.shadow, order.shadow_short) == (shadow, short)
    assert "slide" not in order.caution  # nothing is tilted
    drawn = turn_picture(event, it)
    assert f"shadow tip, {shadow}" in drawn
    assert drawn.count("<circle") < turn_picture(event, turn("box-1")).count("<circle")  # no rings


def test_us_events_say_inches(event: Event) -> None:
    order = turn_order(changed(event, units="us"), turn())

    assert order.main == "right 2.4 in at the rim"
    assert order.second == "then raise the upper edge by 0.9 in"


def test_a_tilted_box_and_a_mirror_lying_level_have_cautions_of_their_own(event: Event) -> None:
    tilted = turn_order(event, turn("box-1", kind="tilt", tip_cm=9.0)).caution
    level = turn_order(event, turn(to_elevation_deg=85.0)).caution

    assert "Don’t open the lid" in tilted
    assert "pots slide" in tilted
    assert "stand beside it" in level
    assert "never lean over" in level


def test_a_turn_of_an_earlier_release_is_read_and_names_no_hour(event: Event) -> None:
    later = {"kind", "ring_deg", "clock_hour", "was_ring_deg", "was_clock_hour"}
    later |= {"to_elevation_deg", "over"}
    kept = turn(ring_min=12.5).model_dump_json(exclude=later)

    old = Turn.model_validate_json(kept)
    order = turn_order(event, old)

    assert order.main == "right 6 cm at the rim"
    assert order.shadow == "between rings 10 and 20"
    assert "between rings 10 and 20" in turn_picture(event, old)
