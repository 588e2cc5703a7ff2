"""The store: nothing accepted is lost, an event is one entry, changes don't run over others."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from events.errors import FaultyEvent, NotFound, StaleVersion
from events.model import Event
from events.storage.store import Store
from events.table import changed
from tests.conftest import database_url, sample_event

NOW = datetime(2026, 11, 20, 8, tzinfo=UTC)


@pytest.fixture
def url(tmp_path: Path) -> str:
    return database_url(tmp_path, f"sqlite:///{tmp_path / 'n.db'}")


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    opened = Store(url)
    yield opened
    opened.close()


def test_what_was_put_in_is_there_after_opening_again(
    store: Store, url: str, harvest: Event
) -> None:
    kept = store.events.add(harvest, now=NOW)
    store.close()

    again = Store(url)

    assert again.events.get(kept.id).event == harvest
    assert again.plans.asked() == [(kept.id, 1)]
    again.close()


def test_the_same_event_twice_is_one_entry_and_another_gets_its_own_name(
    store: Store, harvest: Event
) -> None:
    first, second = store.events.add(harvest, now=NOW), store.events.add(harvest, now=NOW)
    other = store.events.add(changed(harvest, wanted_margin_min=25), now=NOW)

    assert first == second
    assert other.id == first.id + "-2"
    assert len(store.events.all()) == 2


def test_a_change_to_an_old_version_is_refused_and_changes_nothing(
    store: Store, harvest: Event
) -> None:
    kept = store.events.add(harvest, now=NOW)
    mine = changed(harvest, wanted_margin_min=25)
    theirs = changed(harvest, wanted_margin_min=30)
    store.events.change(kept.id, theirs, fingerprint=kept.fingerprint, now=NOW)

    with pytest.raises(StaleVersion):
        store.events.change(kept.id, mine, fingerprint=kept.fingerprint, now=NOW)

    assert store.events.get(kept.id).event == theirs
    assert store.events.get(kept.id).version == 2


def test_a_finished_plan_is_never_written_over(store: Store, harvest: Event) -> None:
    kept = store.events.add(harvest, now=NOW)
    store.plans.save(kept.id, 1, state="done", body="{}", now=NOW)

    store.plans.save(kept.id, 1, state="broken", body="no", now=NOW)

    assert store.plans.get(kept.id, 1).state == "done"
    assert store.plans.get(kept.id, 1).made_at == NOW
    assert store.plans.asked() == []


def test_what_is_not_there_is_said_by_name(store: Store) -> None:
    with pytest.raises(NotFound, match="nothing-here"):
        store.events.get("nothing-here")


def test_what_could_not_be_read_again_is_not_kept(store: Store) -> None:
    event = sample_event("harvest-lunch")
    kept = store.events.add(event, now=NOW)
    twice = changed(event, helpers=(*event.helpers, event.helpers[0]))

    with pytest.raises(FaultyEvent, match="is taken"):
        store.events.change(kept.id, twice, fingerprint=kept.fingerprint, now=NOW)

    assert store.events.get(kept.id).event == event
