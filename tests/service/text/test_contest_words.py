"""How a contest's results are said."""

from __future__ import annotations

import pytest

from service.text.contest import place_words


@pytest.mark.parametrize(
    ("place", "shared", "said"),
    [
        (1, False, "1st place"),
        (2, True, "2nd place, shared"),
        (3, False, "3rd place"),
        (11, False, "11th place"),
        (21, False, "21st place"),
        (112, False, "112th place"),
    ],
)
def test_a_place_is_said_as_people_say_it(place: int, shared: bool, said: str) -> None:
    assert place_words(place, shared=shared) == said
