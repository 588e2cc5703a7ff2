"""What the solver says in °C, kilograms and 24 hours, as a US event says it."""

from __future__ import annotations

import re
from typing import get_args

import pytest

from events.table import changed
from service.text import messages, notices
from solver.notices import RefusalKind, TradeoffKind, WarningKind
from solver.plan import LevelKey
from solver.planning.pipeline import make_plan
from tests.conftest import sample_event, sample_plan

US = {"units": "us", "clock_h": 12}


@pytest.mark.parametrize(
    ("name", "value", "ours", "theirs"),
    [
        # 0, 100 and 74 °C are 32, 212 and 165 °F; a pound is 0.45359237 kg, a mile 1609.344 m,
        # a US liquid quart 0.946352946 l (NIST Handbook 44, appendix C).
        ("reached_c", 100, "100 °C", "212 °F"),
        ("needed_c", 74, "74 °C", "165 °F"),
        ("batch_litres", 9.5, "9.5 litres", "10.0 qt"),
        ("water_kg", 4.54, "4.5 kg", "10.0 lb"),
        ("limit_m_s", 8.9, "8.9 m/s", "20 mph"),
        ("warm_min", 300, "300 min", "300 min"),
    ],
)
def test_a_figure_is_said_in_the_units_of_the_event(
    name: str, value: float, ours: str, theirs: str
) -> None:
    event = sample_event("harvest-lunch")

    assert notices.figure(event, name, value) == ours
    assert notices.figure(changed(event, **US), name, value) == theirs


def test_every_kind_of_notice_has_its_sentence() -> None:
    assert set(get_args(RefusalKind)) <= set(notices.REFUSAL)
    assert set(get_args(WarningKind)) == set(notices.WARNING)
    assert set(get_args(TradeoffKind)) == set(notices.TRADEOFF)
    assert set(get_args(LevelKey)) == set(notices.LEVEL)


@pytest.mark.parametrize(
    "name", ["winter-refusal", pytest.param("cook-off", marks=pytest.mark.slow)]
)
def test_no_sentence_of_a_us_plan_says_celsius_or_kilograms(name: str) -> None:
    event = changed(sample_event(name), **US)

    plan = make_plan(event)

    texts = [notices.warning(event, w) for w in plan.warnings]
    texts += [notices.tradeoff(event, t) for t in plan.tradeoffs]
    texts += [notices.refusal(event, r) for u in plan.unplaced for r in u.reasons]
    assert texts
    assert not [
        t for t in texts if re.search(r"°C|\bkg\b|\blitres\b|m/s|\b\d\d:\d\d\b(?! [ap]m)", t)
    ]


def test_what_is_served_cold_is_probed_and_not_told_to_be_kept_hot() -> None:
    event = sample_event("harvest-lunch")
    hot = changed(event.dish("rice"), serve_hot=True)

    assert messages.probe_order(event, hot).endswith("in the middle, then keep over 63 °C")
    cold = messages.probe_order(event, changed(hot, serve_hot=False))
    assert cold == "Probe: 75 °C or more in the middle"


def test_no_pot_loses_more_steam_than_it_holds_water() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    stew = next(p for p in plan.placements if p.dish_id == "bean-stew")

    def said(kg: float, left_min: int | None) -> str:
        return messages.steam(event, changed(stew, water_lost_kg=kg, boil_dry_min=left_min))

    assert said(1.0, None) == ""
    assert said(0.5, 181) == "500 g of water is lost as steam."
    assert said(0.5, 180).endswith("Left on, it would boil dry 180 min after lifting time.")
    dry = said(3 * stew.mass_kg, 0)
    assert dry.startswith("All its water boils away before it is lifted. Look every half hour")
    assert "after lifting time" not in dry
