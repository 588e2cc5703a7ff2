"""Warnings of one kind are said together, the heaviest first."""

from __future__ import annotations

from typing import get_args

from events.model import Event
from service.text.notices import WARNING
from service.text.warnings import HEAVIEST_FIRST, said_warnings, warning_lines
from solver.notices import PlanWarning, WarningKind
from tests.conftest import sample_event


def harvest() -> Event:
    return sample_event("harvest-lunch")


def warned(
    kind: WarningKind, dish_id: str, batch: int = 1, batches: int = 1, **figures: float
) -> PlanWarning:
    return PlanWarning(
        kind=kind,
        placement_id=f"{dish_id}-{batch}",
        dish_ids=(dish_id,),
        figures={"batch": batch, "batches": batches, **figures},
    )


def test_every_kind_has_its_weight() -> None:
    assert sorted(HEAVIEST_FIRST) == sorted(get_args(WarningKind))


def test_dishes_that_are_late_alike_are_named_in_one_line() -> None:
    late = [warned("late-on-a-poor-day", d) for d in ("rice", "bean-stew")]

    assert warning_lines(harvest(), late) == [
        "Rice, Bean stew: late under a poor sky. Keep a gas ring ready."
    ]


def test_batches_of_one_dish_are_one_with_the_worst_figure() -> None:
    """Both cakes go into ovens that are too cool: the cooler one is said."""
    pale = [
        warned("pale", "apple-cake", n, 2, oven_c=oven_c, needed_c=115.0)
        for n, oven_c in ((1, 111.0), (2, 104.0))
    ]

    (said,) = said_warnings(harvest(), pale)

    assert said.text.startswith("Apple cake: its oven is at 104 °C when it goes in, not 115 °C")
    assert said.text.endswith("and probe its middle, before you lift it.")
    assert [w.placement_id for w in said.about] == ["apple-cake-2"]


def test_some_batches_of_a_dish_keep_their_numbers() -> None:
    some = [warned("late-beyond-gas", "apple-cake", n, 3) for n in (1, 3)]

    assert warning_lines(harvest(), some) == [
        "Apple cake 1 of 3 and 3 of 3: late under a poor sky, and no ring can cook it."
    ]


def test_dishes_with_figures_of_their_own_share_what_is_to_be_done() -> None:
    figures = {"limit_min": 120.0, "away_min": 240.0}
    warm = [
        warned("warm-long", "bean-stew", warm_min=130.0, **figures),
        warned("warm-long", "rice", warm_min=150.0, **figures),
    ]

    (line,) = warning_lines(harvest(), warm)

    assert line == (
        "Bean stew: 130 min between 5 and 60 °C, over a wise 120 min; it is thrown away at "
        "240 min; "
        "Rice: 150 min between 5 and 60 °C, over a wise 120 min; it is thrown away at 240 min. "
        "Start it in a mirror, or put less into each pot."
    )
    cold = warned("warm-long", "beetroot", warm_min=141.0, **figures)
    assert len(warning_lines(harvest(), [*warm, cold])) == 2  # ice water is for that one alone


def test_what_can_make_people_ill_comes_before_what_is_only_wide() -> None:
    food_first = [
        PlanWarning(kind="unmeasured", cooker_ids=("box-1",)),
        warned("late-on-a-poor-day", "rice"),
        warned("do-not-serve", "rice", warm_min=250.0, limit_min=240.0),
    ]

    kinds = [said.kind for said in said_warnings(harvest(), food_first)]

    assert kinds == ["do-not-serve", "late-on-a-poor-day", "unmeasured"]


def test_a_batch_alone_is_said_as_its_sentence_has_it() -> None:
    """Merged or not, the words are those of the kind: none is lost where a line is put together."""
    for kind, words in WARNING.items():
        if words.startswith("{batch}: "):
            one = warned(kind, "rice", **dict.fromkeys(FIGURES, 100.0))
            (line,) = warning_lines(harvest(), [one])
            assert line.startswith("Rice: ")
            assert line.count(". ") == words.count(". ")
            assert line.endswith(words.split()[-1])


FIGURES = (
    *("warm_min", "limit_min", "away_min", "standing_min", "hot_c", "start_c"),
    *("water_kg", "in_pot_kg", "oven_c", "needed_c", "reached_c", "limit_c"),
)


def test_more_water_than_a_pot_holds_is_not_said_to_boil_out_of_it() -> None:
    """It is dry when what is in it is gone; the rest is what it takes to stay wet."""
    (some,) = warning_lines(harvest(), [warned("boils-dry", "rice", water_kg=1.5, in_pot_kg=2.0)])
    (dry,) = warning_lines(harvest(), [warned("boils-dry", "rice", water_kg=6.1, in_pot_kg=1.7)])

    assert some.startswith("Rice: of 2.0 kg of water in it, 1.5 kg would boil away before")
    assert dry.startswith(
        "Rice: all 1.7 kg of water in it would boil away long before it is lifted"
    )
    assert "it takes 6.1 kg in all. Left alone it boils dry" in dry
