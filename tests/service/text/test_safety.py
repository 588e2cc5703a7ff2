"""What is said of dangers: of those on the site, and of none that is not there."""

from __future__ import annotations

import pytest

from events.model import Event
from events.table import changed
from service.text.safety import brief
from service.text.trouble import TROUBLES, troubles_of
from tests.conftest import sample_event

EVENT = sample_event("harvest-lunch")


def with_only(*kinds: str) -> Event:
    return changed(EVENT, cookers=tuple(c for c in EVENT.cookers if c.kind in kinds))


def words(event: Event) -> str:
    steps = [f"{t.title} {t.hint} {s.order} {s.how}" for t in troubles_of(event) for s in t.steps]
    return " ".join([*steps, *brief(event)]).lower()


@pytest.mark.parametrize(
    ("kinds", "said", "unsaid"),
    [
        (("box", "panel"), ["what shines blinds", "20 minutes"], ["mirror:", "bowl", "gas"]),
        (("parabolic", "box"), ["turn it away", "bowl", "fire blanket"], ["gas"]),
        (("box", "burner"), ["gas off", "bottle", "fire blanket"], ["bowl", "mirrors"]),
        (("parabolic", "box", "burner"), ["gas off", "bowl", "onto the gas ring"], []),
    ],
)
def test_only_what_is_on_the_site_is_spoken_of(
    kinds: tuple[str, ...], said: list[str], unsaid: list[str]
) -> None:
    text = words(with_only(*kinds))

    assert [s for s in said if s not in text] == []
    assert [s for s in unsaid if s in text] == []


def test_where_all_is_there_every_trouble_is_asked_for() -> None:
    full = with_only("parabolic", "box", "panel", "burner")

    assert [t.kind for t in troubles_of(full)] == [t.kind for t in TROUBLES]
    assert "to-burner" not in [t.kind for t in troubles_of(with_only("box"))]


@pytest.mark.parametrize("kinds", [("box",), ("parabolic",), ("burner",)])
def test_every_trouble_says_what_to_do_and_nobody_is_left_without_first_aid(
    kinds: tuple[str, ...],
) -> None:
    event = with_only(*kinds)

    assert all(t.steps for t in troubles_of(event))
    assert "20 minutes" in words(event)
    assert "cool running water" in " ".join(brief(event)).lower()
