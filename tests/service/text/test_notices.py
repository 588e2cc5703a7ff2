"""Warnings in words: each names the dish it is about."""

from __future__ import annotations

from datetime import time
from string import Formatter
from typing import get_args

import pytest

from events.food_rules import rules_of
from events.table import changed
from service.text.notices import (
    BOILS_QUITE_DRY,
    REFUSAL,
    STANDS_WARM,
    TOPIC,
    TRADEOFF,
    WARNING,
    can_be_told,
    tradeoff,
    warning,
)
from solver.notices import CARRIES, PlanWarning, Tradeoff, WarningKind
from tests.conftest import sample_event, sample_plan


@pytest.mark.parametrize(("batch", "batches", "who"), [(1, 1, "Rice: "), (2, 2, "Rice 2 of 2: ")])
def test_a_warning_names_its_dish_and_which_part(batch: int, batches: int, who: str) -> None:
    notice = PlanWarning(
        kind="late-on-a-poor-day",
        dish_ids=("rice",),
        figures={"batch": batch, "batches": batches},
    )

    assert warning(sample_event("harvest-lunch"), notice).startswith(who)


def test_no_danger_is_folded_away_on_a_phone() -> None:
    dangers = {"fire-rules-unread", "do-not-serve", "late-on-a-poor-day", "boils-dry"}
    dangers |= {"warmed-again", "strong-wind", "late-on-gas", "late-beyond-gas", "warm-long"}
    dangers |= {"nobody-to-call", "set-up-early"}

    assert dangers <= set(get_args(WarningKind))
    assert dangers.isdisjoint(TOPIC)
    assert set(TOPIC) <= set(get_args(WarningKind))


# What is said of the dishes, cookers, pots and rules that a notice is about, and its cost.
NAMES = {"dishes", "cookers", "pots", "batch", "danger_zone", "edition", "one_more"}
NAMES |= {"paid", "rivals", "has", "cool_at_once", "crew", "quicker", "beside_60", "binds"}
FIGURES = {"other": "other_figure", "spared": "spared_figure"}  # said as shares or minutes
VARIANTS = {"too-late-rest": "too-late", "too-few-pots-1": "too-few-pots"}


def test_the_figures_of_a_sentence_are_those_that_its_kind_carries() -> None:
    said: dict[str, set[str]] = {}
    instead = [("warm-long", STANDS_WARM), ("boils-dry", BOILS_QUITE_DRY)]
    for kind, words in [*(REFUSAL | WARNING | TRADEOFF).items(), *instead]:
        names = {name.split(":")[0] for _, name, _, _ in Formatter().parse(words) if name} - NAMES
        said.setdefault(VARIANTS.get(kind, kind), set()).update(FIGURES.get(n, n) for n in names)

    assert {kind: names for kind, names in said.items() if names} == {
        kind: set(names) for kind, names in CARRIES.items()
    }


def test_a_notice_without_a_figure_of_its_kind_is_refused() -> None:
    figures = {"batch": 1, "batches": 1, "warm_min": 90, "limit_min": 60}

    assert PlanWarning(kind="warm-long", figures={**figures, "away_min": 120})
    with pytest.raises(ValueError, match="“warm-long” without away_min"):
        PlanWarning(kind="warm-long", figures=figures)


def test_setting_up_before_the_crews_hours_is_said_by_whom_and_when() -> None:
    event = sample_event("harvest-lunch")
    event = changed(
        event, helpers=tuple(changed(h, start=max(h.start, time(9))) for h in event.helpers)
    )
    clocks = {"begins_at": time(8, 30), "crew_at": time(9), "cooking_at": time(9)}
    at = {name: event.instant(clock) for name, clock in clocks.items()}
    names = [h.name for h in event.helpers if h.adult and h.start <= time(9)]

    said = warning(event, PlanWarning(kind="set-up-early", instants=at))

    assert said.startswith("Cooking begins at 09:00, the crew comes at 09:00: no time to set up.")
    assert f"{', '.join(names[:-1])} and {names[-1]} would set up before that, from 08:30" in said


def test_a_trade_off_is_said_as_people_say_it() -> None:
    event = sample_event("harvest-lunch")
    at = {"loaded_at": event.instant(time(11))}

    def said(kind: str, cost: str, figure: int, **more: object) -> str:
        given = {"dish_ids": ("rice",), "cost": cost, "cost_figure": figure} | more
        return tradeoff(event, Tradeoff.model_validate({"kind": kind} | given))

    half = said("nothing-better", "missed", 35, dish_ids=("rice", "tea"))  # 105 of 100, of two
    elsewhere = said(
        "cooker-taken",
        "stale",
        45,
        cooker_ids=("mirror-2",),
        rival_dish_ids=("tea",),
        figures={"spared_figure": 35},
        instants=at,
    )

    assert half == (
        "Rice or Tea water comes late or stands too long on about half the days; nothing else is "
        "better."
    )
    assert elsewhere == (
        "Rice would stand 35 min less in Mirror 2 at 11:00, but Tea water has it then."
    )
    dearer = {"other": "missed", "figures": {"other_figure": 1}}
    assert said("dearer-elsewhere", "gas", 60, **dearer) == (
        "Rice takes 60 min on gas; else it would be late or stand too long more often."
    )
    assert said("nothing-better", "short", 10) == (
        "Rice has 10 min less to spare than you asked for; nothing else is better."
    )
    taken = {"cooker_ids": ("mirror-2",), "figures": {"spared_figure": 3}, "instants": at}
    assert said("hands-or-pots-taken", "missed", 10, **taken) == (
        "Rice would be surer in Mirror 2 at 11:00, but pots or hands are taken then."
    )


@pytest.mark.parametrize(
    ("of_100", "words"), [(3, "one day in twenty"), (9, "one day in ten"), (99, "all days")]
)
def test_a_share_of_days_is_said_in_words(of_100: int, words: str) -> None:
    figure = of_100 // 3
    paid = Tradeoff(kind="nothing-better", dish_ids=("rice",), cost="missed", cost_figure=figure)

    assert words in tradeoff(sample_event("harvest-lunch"), paid)


def test_without_a_forecast_no_share_of_days_is_told() -> None:
    plan = sample_plan("harvest-lunch")
    missed = Tradeoff(kind="nothing-better", dish_ids=("rice",), cost="missed", cost_figure=10)
    gas = Tradeoff(kind="nothing-better", dish_ids=("rice",), cost="gas", cost_figure=10)

    assert can_be_told(plan, missed)
    assert not can_be_told(changed(plan, risk=None), missed)
    assert can_be_told(changed(plan, risk=None), gas)


@pytest.mark.parametrize(
    ("rules", "says"),
    [("UK", "63 °C (germs are counted up to 60 °C; this has some to spare)"), ("AU", "60 °C.")],
)
def test_two_limits_for_hot_food_say_why_they_differ(rules: str, says: str) -> None:
    """UK 63 °C (regulation, 1995), AU 60 °C (Food Standards Code 3.2.2); germs up to 60 °C."""
    event = sample_event("harvest-lunch")
    event = changed(event, site=changed(event.site, food_rules=rules))
    hot_c = rules_of(event).hot_holding_c

    text = warning(event, PlanWarning(kind="food-rules", figures={"hot_c": hot_c}))

    assert f"hot food over {says}" in text


def test_only_what_is_too_late_says_why_it_is_not_loaded_sooner() -> None:
    """A warning of the crew's first hour has an instant of the same name."""
    event = sample_event("harvest-lunch")
    at = event.instant(time(7, 30))
    for kind in get_args(WarningKind):
        figures = {n: 1.0 for n in CARRIES.get(kind, ()) if not n.endswith("_at")}
        instants = {n: at for n in CARRIES.get(kind, ()) if n.endswith("_at")} | {"first_at": at}
        text = warning(event, PlanWarning(kind=kind, figures=figures, instants=instants))
        assert "It can’t go in sooner" not in text
