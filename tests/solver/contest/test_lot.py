"""The lot: by known keys, fair, the same for everybody, changed by one sign of the seed."""

from __future__ import annotations

from collections import Counter

from events.model import Event
from events.table import changed
from solver.contest.lot import draw, key, lists_of, order
from tests.conftest import sample_event
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid_contest import COOK_OFF

SEED = "417 263 558"


def event() -> Event:
    return sample_event("twelve-pots")


def test_a_key_is_what_any_computer_counts() -> None:
    """printf '417 263 558\\nentries\\nanna' | sha256sum"""
    assert key(SEED, "entries", "anna").startswith("f7d4fe0ddceb63c9")
    assert order(SEED, "entries", ["anna", "bert", "cleo", "dora"]) == [
        *("dora", "cleo", "bert", "anna")
    ]


def test_the_sample_is_drawn_as_its_seed_says() -> None:
    places = {p.entry_id: p.station_id for p in draw(event(), SEED, ("p13",)).places}

    assert places["e04"] == "p11", "the first of the lot takes the first place of the lot"
    assert places["e06"] == "p01", "its place is fixed"
    assert "p13" not in places.values(), "a place that is left out"
    assert len(set(places.values())) == len(places)


def test_no_place_is_dealt_more_often_than_another() -> None:
    small = changed(event(), entries=event().entries[6:9])
    stations = ("p01", "p02", "p03", "p04")
    small = changed(small, contest=changed(small.contest, stations=stations))  # type: ignore[type-var]  # it has one
    dealt = Counter(
        (p.entry_id, p.station_id)
        for n in range(2000)
        for p in draw(small, f"seed {n:05d}", ()).places
    )

    assert len(dealt) == 12
    # 500 are expected of each; 5 standard deviations are 97.
    assert all(abs(count - 500) < 97 for count in dealt.values()), dealt


def test_one_sign_of_the_seed_changes_the_draw() -> None:
    assert draw(event(), SEED, ("p13",)) != draw(event(), "417 263 559", ("p13",))


def test_the_lists_name_what_is_drawn_and_nothing_else() -> None:
    text = lists_of(event(), ("p13",))

    entries, places, cookers = (part.split() for part in text.split("\n\n"))
    assert "e06" not in entries
    assert "p01" not in places
    assert "p13" not in places
    assert cookers == [f"house-{n}" for n in range(1, 7)]


def test_an_entry_that_was_withdrawn_draws_nothing_and_frees_its_place() -> None:
    """On the hand-laid day, one of two entries, and then one with a place of its own."""
    gone = edited(COOK_OFF, "entries", "two", withdrawn=True)
    assert lists_of(gone, ()) == "one\n\nnorth\nsouth\n\nlent-1\nlent-2\n"
    (only,) = draw(gone, SEED, ()).places
    assert (only.turn, only.cooker_turn) == (1, 1)

    kept = edited(COOK_OFF, "entries", "two", station="north")
    assert lists_of(kept, ()).split("\n\n")[1] == "south"
    assert lists_of(edited(kept, "entries", "two", withdrawn=True), ()).split("\n\n")[1] == (
        "north\nsouth"
    )
    taken = edited(COOK_OFF, "entries", "one", cooker="own", withdrawn=True)
    assert draw(taken, SEED, ()).places[0].cooker_turn == 1
