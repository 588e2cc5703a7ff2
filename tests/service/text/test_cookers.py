"""Every kind of cooker has its words, its cautions and a drawing."""

from __future__ import annotations

from importlib.resources import files

import pytest

from events.kinds import COOKER_KINDS, Kind
from events.model import Event
from events.provenance import Provenance
from events.reading.catalogue import entries, kind_of
from events.table import changed
from service.charts.side_view import OUTLINES
from service.paper.card_mounts import card_mount
from service.text.cookers import COOKER_WORDS, strength_source
from tests.published.runs import cooker_like


@pytest.mark.parametrize("kind", COOKER_KINDS)
def test_a_kind_has_words_and_cautions_for_every_work_at_it(kind: Kind) -> None:
    of, words = COOKER_KINDS[kind], COOKER_WORDS[kind]

    assert words.name
    assert "lift" in words.cautions
    assert ("load" in words.cautions) == (of.heat != "none")
    assert ("turn" in words.cautions) == (of.heat == "sun")


@pytest.mark.parametrize("kind", COOKER_KINDS)
def test_a_kind_has_a_drawing(kind: Kind) -> None:
    page = (files("service") / "web" / "templates" / "symbols.html").read_text(encoding="utf-8")

    assert f'<symbol id="i-{COOKER_KINDS[kind].symbol}"' in page


@pytest.mark.parametrize("kind", [k for k in COOKER_KINDS if COOKER_KINDS[k].heat == "sun"])
def test_a_kind_that_is_turned_is_drawn_from_the_side_and_with_its_card(kind: Kind) -> None:
    like = next(name for name in entries("cooker") if kind_of(name) == kind)
    mount = card_mount(cooker_like(like))

    assert kind in OUTLINES
    assert mount is not None
    assert mount.drawing.startswith("<svg")


@pytest.mark.parametrize(
    ("source", "said"),
    [
        (None, "given"),
        (Provenance(kind="given"), "given"),
        (Provenance(kind="measured", note="in the field"), "measured in the field"),
        (Provenance(kind="learnt", note="3 readings: X"), "measured on the day, 3 readings: X"),
        (Provenance(kind="typical"), "typical, unmeasured"),
        (Provenance(kind="practice", note="about half"), "typical, unmeasured"),
    ],
)
def test_where_a_strength_comes_from(harvest: Event, source: Provenance | None, said: str) -> None:
    provenance = {"optical_efficiency": source} if source else {}

    assert strength_source(changed(harvest.cookers[0], provenance=provenance)) == said
