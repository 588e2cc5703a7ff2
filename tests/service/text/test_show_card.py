"""A cooker's card: each kind has all its words, its cautions, and figures that add up."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from events.kinds import COOKER_KINDS, Kind
from service.application.analyses import heat_of
from service.application.occasions import occasions, solar_noon
from service.text import messages
from service.text.cookers import cautions
from service.text.show_card import budget, heat_sentence, show_card
from service.text.teaching import PRICES, TEACHING
from tests.conftest import PLANNED_SAMPLES, sample_event, sample_plan

MONEY = re.compile(r"[€$£¥]|\b(euro|dollar|pound|shilling|cents?)s?\b", re.IGNORECASE)


@pytest.mark.parametrize("kind", COOKER_KINDS)
def test_every_kind_can_be_taught(kind: Kind) -> None:
    teaching = TEACHING[kind]

    assert 2 <= len(teaching.happens) <= 4
    assert len(teaching.asks) == 3
    assert len(teaching.why) >= 3
    assert teaching.materials
    assert teaching.sources
    assert teaching.built_safely
    for question in (*teaching.asks, *teaching.why):
        assert question.ask.endswith("?")
        assert len(question.answer) < 140, "short enough to say"


@pytest.mark.parametrize("kind", COOKER_KINDS)
def test_no_price_is_made_up(kind: Kind) -> None:
    teaching = TEACHING[kind]

    said = [*teaching.happens, *teaching.materials, teaching.built_safely, *teaching.sources]
    said += [text for q in (*teaching.asks, *teaching.why) for text in (q.ask, q.answer)]
    assert not [text for text in said if MONEY.search(text)]
    assert "local" in PRICES


@pytest.mark.parametrize("name", PLANNED_SAMPLES)
def test_each_cookers_card_has_its_cautions_and_watts_that_add_up(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)

    for cooker in event.cookers:
        for shown in occasions(event, plan, cooker):
            flow = heat_of(event, plan, cooker, shown.at)
            card = show_card(event, plan, cooker, flow, talk="")
            assert set(cautions(cooker)) <= set(card.cautions)
            assert messages.CHILDREN in card.cautions
            assert (messages.TOO_NEAR in card.cautions) == cooker.nature.concentrates
            signs = [-1 if line.key in ("cools", "gives") else 1 for line in card.budget.goes]
            goes = sum(s * w.watts for s, w in zip(signs, card.budget.goes, strict=True))
            assert goes == card.budget.gathered.watts
            assert card.budget.gathered.watts == pytest.approx(flow.gathered_w, abs=20)
            assert f"{100 * cooker.strength_band_fraction:.0f} %" in card.band
            assert bool(card.suns) == (flow.suns_on_pot >= 1)


def test_a_card_is_for_the_talk_about_its_cooker_else_for_any_talk_else_for_noon() -> None:
    school, plan = sample_event("school-day"), sample_plan("school-day")
    soup = next(p for p in plan.placements if p.dish_id == "soup")
    rounds, rota = sample_event("school-rounds"), sample_plan("school-rounds")
    harvest, lunch = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    quiet, day = sample_event("winter-refusal"), sample_plan("winter-refusal")

    of_soup = occasions(school, plan, school.cooker(soup.cooker_id))
    floating = occasions(rounds, rota, rounds.cooker("mirror"))
    general = occasions(harvest, lunch, harvest.cookers[0])
    noon = occasions(quiet, day, quiet.cookers[0])

    assert "how-a-mirror-boils" in [o.talk.id for o in of_soup if o.talk]
    assert [o.talk.id for o in floating if o.talk] == ["why-it-boils"]
    assert [o.talk.id for o in general if o.talk] == ["a-mirror-boils"]
    assert not quiet.talks
    assert [(o.at, o.talk) for o in noon] == [(solar_noon(day), None)]


def test_the_sentence_says_the_cards_figures_and_that_there_is_no_sun_at_night() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    cooker, noon = event.cookers[0], solar_noon(plan)
    flow = heat_of(event, plan, cooker, noon)
    night = heat_of(event, plan, cooker, noon - timedelta(hours=11))

    said = heat_sentence(event, cooker, flow)

    assert f"{budget(cooker, flow).arrives.watts} watts of sun" in said
    assert f"{budget(cooker, flow).gathered.watts} become heat" in said
    assert heat_sentence(event, cooker, night) == f"No sun on {cooker.name} at this moment."
    ring = next(c for c in event.cookers if c.on_gas)
    assert "2500 watts" in heat_sentence(event, ring, heat_of(event, plan, ring, noon))
