"""Work in the database: begun by one worker, again where that one is gone, no more than twice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from events.storage.store import Store
from events.storage.tables import Work
from tests.conftest import database_url

NOW = datetime(2027, 6, 12, 9, tzinfo=UTC)
WORK = Work("key", "plan_job", "", 1, "an-event", "somebody", "asked", 0, NOW, None, "")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = Store(database_url(tmp_path, f"sqlite:///{tmp_path / 'n.db'}"))
    assert opened.work.ask(WORK)
    yield opened
    opened.close()


def begun(store: Store, after_s: float) -> bool:
    return store.work.begin("key", now=NOW + timedelta(seconds=after_s), died="died 0") is not None


def test_two_workers_that_miss_a_third_do_not_both_begin_its_work(store: Store) -> None:
    assert begun(store, 0)
    assert not begun(store, 4.9)
    assert store.work.ended(["key"]) == []  # nobody says that it killed its solvers

    assert begun(store, 5)


def test_work_that_killed_two_solvers_is_not_begun_a_third_time(store: Store) -> None:
    assert [begun(store, after_s) for after_s in (0, 30, 60)] == [True, True, False]

    (ended,) = store.work.ended(["key"])

    assert (ended.state, ended.result) == ("stopped", "died 0")


def test_what_gives_way_is_begun_at_once_when_its_turn_comes(store: Store) -> None:
    assert begun(store, 0)
    store.work.put_back("key")

    assert [begun(store, 1), begun(store, 30), begun(store, 60)] == [True, True, False]
