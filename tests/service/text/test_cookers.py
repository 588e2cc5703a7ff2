"""Every kind of cooker has its words, its cautions and a drawing."""

from __future__ import annotations

from importlib.resources import files

import pytest

from events.kinds import COOKER_KINDS, Kind
from service.text.cookers import COOKER_WORDS


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
