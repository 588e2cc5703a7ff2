"""Presses and undoings of one job by several phones: the last by the clock holds."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from events.diary import Entry, StoredEntry, effective_entries, happened_at
from service.application.last_word import as_meant

TEN = datetime(2026, 11, 28, 10, tzinfo=UTC)
EVENING = TEN + timedelta(hours=10)


def at(minute: float) -> datetime:
    return TEN + timedelta(minutes=minute)


def press(minute: float, number: int = 0) -> Entry:
    return Entry(id=f"lentils-{number}", kind="loaded", at=at(minute), job_id="load lentils")


def undoing(minute: float, number: int = 0) -> Entry:
    ident = f"lentils-{number}"
    return Entry(id=f"{ident}-u", kind="undo", at=at(minute), undoes=ident)


def received(*sent: Entry, now: datetime = EVENING) -> list[StoredEntry]:
    """Return the diary after presses came in, in this order, as the store keeps them."""
    diary: list[StoredEntry] = []
    for entry in sent:
        for meant in as_meant(diary, entry, now):
            if meant.id not in {stored.entry.id for stored in diary}:
                happened = happened_at(meant, now)
                number = len(diary) + 1
                diary.append(
                    StoredEntry(entry=meant, received_at=now, happened_at=happened, number=number)
                )
    return diary


def standing(*sent: Entry) -> list[datetime]:
    return [stored.happened_at for stored in effective_entries(received(*sent))]


def test_a_press_made_after_an_undoing_it_had_not_heard_of_stands() -> None:
    assert standing(press(0), undoing(3), press(5)) == [at(5)]


def test_a_press_made_before_the_undoing_that_was_heard_of_first_does_not() -> None:
    assert standing(press(2), undoing(3), press(0)) == []


def test_an_undoing_that_comes_in_before_any_press_takes_back_only_earlier_ones() -> None:
    """The later press was taken back as well, and the pot was called not loaded."""
    assert standing(undoing(3), press(0)) == []
    assert standing(undoing(3), press(5)) == [at(5)]
    assert standing(undoing(3), press(0), press(5)) == [at(5)]


def test_an_undoing_does_not_take_back_what_another_pressed_after_it() -> None:
    """The other's press was heard of first: both are one, and the undoing took it back."""
    assert standing(press(5), press(0), undoing(2)) == [at(5)]


def test_who_undoes_a_press_that_was_given_another_number_undoes_it() -> None:
    """It was taken for the undoing that was there, and the job stayed done."""
    assert standing(press(0), undoing(2), press(5), undoing(6)) == []


def test_clocks_that_differ_by_two_minutes_do_not_make_an_undoing_nothing() -> None:
    assert standing(press(2), undoing(0)) == []
    assert standing(press(2.1), undoing(0)) == [at(2.1)]


def test_who_knew_of_the_undoing_presses_after_it_whatever_the_clocks_say() -> None:
    assert standing(press(0), undoing(3), press(3, number=1)) == [at(3)]
    assert standing(press(0), undoing(3), press(0.9, number=1)) == []


def test_an_undoing_of_anything_else_is_kept_as_it_is() -> None:
    cloud = Entry(id="a-cloud-07", kind="cloud", at=at(0))
    undo = Entry(id="its-undoing", kind="undo", at=at(1), undoes="a-cloud-07")

    assert [s.entry for s in received(cloud, undo)] == [cloud, undo]
    assert [s.entry for s in received(undo)] == [undo]


def test_ids_without_a_number_and_long_ones_are_numbered_too() -> None:
    for ident in ("x" * 64, "k3Jd82hQ"):
        first = Entry(id=ident, kind="loaded", at=at(0), job_id="j")
        undo = Entry(id="its-undoing", kind="undo", at=at(1), undoes=ident)
        again = Entry(id=ident, kind="loaded", at=at(2), job_id="j")
        assert standing(first, undo, again) == [at(2)], ident
        assert standing(first, undo, again, again, undo, first) == [at(2)], ident


@st.composite
def two_phones(draw: st.DrawFn) -> list[list[Entry]]:
    """Draw what two phones did that heard nothing of each other, minutes apart."""
    minutes, phones = count(0, 5), list[list[Entry]]([[], []])
    for phone in draw(st.lists(st.sampled_from(phones), max_size=7)):
        number = sum(entry.kind == "undo" for entry in phone)
        done = bool(phone) and phone[-1].kind != "undo"
        phone.append((undoing if done else press)(next(minutes), number))
    return phones


@given(two_phones(), st.randoms(use_true_random=False))
def test_whatever_comes_in_when_the_last_word_holds(
    phones: list[list[Entry]], luck: Random
) -> None:
    """Each phone sends in order, and some of it twice.

    Where an undoing comes in after a press that was made later, the job may be asked for again.
    """
    words = sorted((e for phone in phones for e in phone), key=lambda e: e.at)
    ways, sent = [list(phone) for phone in phones], list[Entry]()
    while any(ways):
        way = luck.choice([way for way in ways if way])
        sent += [way[0]] * luck.choice((1, 1, 2))
        way.pop(0)
    done = bool(words) and words[-1].kind != "undo"

    late = any(
        undo.kind == "undo" and press.kind != "undo" and press.at > undo.at
        for n, undo in enumerate(sent)
        for press in sent[:n]
    )
    assert len(standing(*sent)) in ({0, done} if late else {done})
