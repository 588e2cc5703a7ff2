"""What is refused whole: each kind has its sentence, made of the figures that it carries."""

from __future__ import annotations

import pickle
from typing import get_args

import pytest

from events.errors import (
    Busy,
    ErrorKind,
    NoonfareError,
    NotFound,
    OutOfRange,
    StaleVersion,
    Stopped,
)
from events.reading.samples import sample_text
from service.text.error_words import ERRORS, error_text, why_stopped
from tests.conftest import sample_event


def kinds(of: object) -> set[str]:
    inside = get_args(of)
    return {k for part in inside for k in ([part] if isinstance(part, str) else kinds(part))}


def test_every_kind_has_its_words_and_every_word_its_kind() -> None:
    assert kinds(ErrorKind) == set(ERRORS)


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (NotFound("There are no results yet."), "There are no results yet."),
        (NotFound(kind="no-event", name="a"), "No event “a” here."),
        (Busy(kind="many-events"), "Many put in events at once. Send it again."),
        (StaleVersion("a", "f"), "a was changed in between. Read it again, then change that."),
        (OutOfRange("altitude_m", 9e3, -430, 5500), "altitude_m is 9000; it must be -430 to 5500."),
        (Stopped("memory", 300), ERRORS["memory"].format(limit=300.0)),
    ],
)
def test_an_error_in_words_also_after_it_travelled(error: NoonfareError, text: str) -> None:
    assert error_text(error) == text
    assert error_text(pickle.loads(pickle.dumps(error))) == text


def test_what_is_not_there_is_named() -> None:
    with pytest.raises(NotFound) as no_sample:
        sample_text("brunch")
    with pytest.raises(NotFound) as no_dish:
        sample_event("harvest-lunch").dish("mirror-1")

    assert error_text(no_sample.value).startswith('No sample "brunch". There are: cook-off, ')
    assert error_text(no_dish.value).endswith(" has no dish “mirror-1”.")


def test_a_stored_stop_says_why_and_a_stored_sentence_stays() -> None:
    assert why_stopped(Stopped("stopped").written) == "It was stopped."
    assert why_stopped(Stopped("time", 0.5).written).startswith("It takes more than 0.5 s")
    assert why_stopped("A newer version took its place.") == "A newer version took its place."
    assert why_stopped("") == ""
