"""Pots are guessed by cookers and dishes: common practice, no published source."""

from __future__ import annotations

import pytest

from events.reading.catalogue import entries
from events.table import changed
from service.forms.pot_guess import Places, guessed_pots, is_as_guessed, places_of
from tests.conftest import sample_event

COOK_OFF = {"mirror-140cm": 3, "box-large": 4, "panel-deep": 1, "hay-box": 1, "gas-ring": 1}


def places(counted: dict[str, int]) -> list[Places]:
    return [places_of({"like": like}) for like, n in counted.items() for _ in range(n)]


def test_a_cook_off_is_guessed_one_or_two_pots_a_place() -> None:
    standing = [p for p in places(COOK_OFF) if p.kind != "insulated"]
    spots = sum(p.pots for p in standing)

    guess = guessed_pots(places(COOK_OFF), baked_litres=0)

    assert spots <= sum(guess.values()) <= 2 * spots


@pytest.mark.parametrize("like", [k for k in entries("cooker") if k != "hay-box"])
def test_what_is_guessed_for_a_cooker_stands_in_it(like: str) -> None:
    cooker = places_of({"like": like})

    guess = {pot: n for pot, n in guessed_pots([cooker], baked_litres=0).items() if n}

    assert guess
    for pot, count in guess.items():
        assert float(str(entries("pot")[pot]["litres"])) <= cooker.litres
        assert count == cooker.pots


def test_tins_come_with_what_is_baked_as_many_as_it_fills_and_never_more_than_places() -> None:
    tin_litres = float(str(entries("pot")["loaf-tin"]["litres"]))

    for baked_litres, tins in ((0.0, 0), (tin_litres, 1), (tin_litres + 0.1, 2), (100.0, 12)):
        assert guessed_pots(places(COOK_OFF), baked_litres)["loaf-tin"] == tins

    assert guessed_pots(places({"mirror-140cm": 2}), 10.0)["loaf-tin"] == 0


def test_what_only_keeps_heat_takes_the_pots_of_others() -> None:
    assert not any(guessed_pots(places({"hay-box": 3}), 0).values())


def test_pots_that_somebody_counted_are_no_guess() -> None:
    event = sample_event("harvest-lunch")
    guess = guessed_pots([places_of(c.model_dump()) for c in event.cookers], 0)
    tinless = changed(event, dishes=tuple(d for d in event.dishes if d.shape != "baked"))
    pots = tuple(
        changed(event.pots[0], id=pot, count=n, litres=float(str(entries("pot")[pot]["litres"])))
        for pot, n in guess.items()
        if n
    )

    assert is_as_guessed(changed(tinless, pots=pots))
    assert is_as_guessed(changed(event, pots=pots))  # a cake came later, and no tin yet
    assert not is_as_guessed(changed(tinless, pots=(changed(pots[0], count=9), *pots[1:])))
    assert not is_as_guessed(event)
