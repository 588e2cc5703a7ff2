"""The store: nothing accepted is lost, an event is one entry, changes don't run over others."""

from __future__ import annotations

import contextlib
import itertools
import json
import tomllib
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from threading import Barrier, BrokenBarrierError

import pytest
import sqlalchemy as sa
from sqlalchemy.engine import Engine

from events.errors import FaultyEvent, NotFound, StaleVersion
from events.model import Event
from events.provenance import Provenance
from events.quantities import RANGES
from events.reading.event_file import read_event
from events.reading.write import write_event
from events.storage.database import Database
from events.storage.migrations.versions.s0006_food_rules import kept_to_the_rules
from events.storage.store import Store
from events.storage.tables import HOUSE, AskedPlan
from events.table import changed
from tests.conftest import database_url, replaced, sample_event

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
    assert again.plans.asked() == [AskedPlan(kept.id, 1)]
    again.close()


def test_what_is_acknowledged_waits_for_the_disk(tmp_path: Path) -> None:
    """A power cut can't be tried here: SQLite's documentation promises it for FULL, 2, alone."""
    opened = Database(f"sqlite:///{tmp_path / 'file.db'}")
    with opened.connect() as db:
        assert db.execute(sa.text("PRAGMA synchronous")).scalar() == 2
        assert db.execute(sa.text("PRAGMA journal_mode")).scalar() == "wal"
    opened.close()


class Killed(Exception):
    """The program ends here."""


@pytest.mark.parametrize("statements", range(2, 40, 3))
def test_a_start_that_is_killed_on_its_steps_is_made_up_for_by_the_next(
    url: str, harvest: Event, statements: int
) -> None:
    """On 0.2 half the tables were there, and no start could open the database again."""
    count = itertools.count(1)

    def kill(*_statement: object) -> None:
        if next(count) == statements:
            raise Killed

    sa.event.listen(Engine, "before_cursor_execute", kill)
    with contextlib.suppress(Killed):
        Database(url).close()
    sa.event.remove(Engine, "before_cursor_execute", kill)

    again = Store(url)

    assert again.events.add(harvest, now=NOW).event == harvest
    again.close()


def test_an_equal_event_of_somebody_else_is_an_entry_of_its_own(
    store: Store, harvest: Event
) -> None:
    first, second = store.events.add(harvest, now=NOW), store.events.add(harvest, now=NOW)

    assert second.id == first.id + "-2"
    store.events.change(
        second.id, changed(harvest, title="Mine"), fingerprint=second.fingerprint, now=NOW
    )
    assert store.events.get(first.id).title == harvest.title


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

    with pytest.raises(FaultyEvent, match="id-taken"):
        store.events.change(kept.id, twice, fingerprint=kept.fingerprint, now=NOW)

    assert store.events.get(kept.id).event == event


def stored_before(url: str, name: str, *pairs: tuple[str, str]) -> None:
    """Put other words into a stored file, as a database of the step before had them."""
    engine = sa.create_engine(url)
    with engine.begin() as db:
        file = str(
            db.execute(sa.text("SELECT file FROM event WHERE id = :n"), {"n": name}).scalar()
        )
        db.execute(
            sa.text("UPDATE event SET file = :f WHERE id = :n"),
            {"f": replaced(file, *pairs), "n": name},
        )
        db.execute(sa.text("UPDATE alembic_version SET version_num = '0004'"))
    engine.dispose()


def test_files_of_before_are_put_right_by_the_food_rules(
    store: Store, url: str, harvest: Event
) -> None:
    declared = tuple(
        changed(d, allergens=("milk",)) if d.id == "beetroot" else d for d in harvest.dishes
    )
    kept = store.events.add(changed(harvest, dishes=declared), now=NOW)
    store.close()
    stored_before(url, kept.id, ('"milk",', '"milk", "kiwi",'))

    again = Store(url)
    dish = again.events.get(kept.id).event.dish("beetroot")
    again.close()

    assert dish.hazardous
    assert dish.allergens == ("milk",)
    assert dish.also_contains == ("kiwi",)


def test_cooked_plants_of_before_are_hazardous() -> None:
    old = '[[dish]]\nid = "p"\nlike = "potatoes"\nhazardous = false\n'
    cake = '[[dish]]\nid = "c"\nlike = "apple-cake"\nhazardous = false\n'

    kept = tomllib.loads(kept_to_the_rules(old))
    assert kept == tomllib.loads(old.replace("false", "true"))
    assert kept_to_the_rules(cake) == cake


def test_what_was_stored_under_laxer_rules_can_still_be_looked_at(
    store: Store, url: str, harvest: Event
) -> None:
    kept = store.events.add(harvest, now=NOW)
    store.close()
    stored_before(url, kept.id, ('kidney_beans = "boiled"', 'kidney_beans = "raw"'))

    again = Store(url)
    event = again.events.get(kept.id).event
    again.close()

    assert event.dish("bean-stew").kidney_beans == "raw"
    with pytest.raises(FaultyEvent, match="kidney_beans"):
        read_event(write_event(event))


def test_a_cooker_that_could_not_be_read_again_is_not_stored(store: Store, harvest: Event) -> None:
    strong = harvest.cookers[0].model_construct(
        **{**dict(harvest.cookers[0]), "optical_efficiency": 0.97}
    )

    with pytest.raises(FaultyEvent, match="optical_efficiency"):
        store.own_cookers.save(strong, owner=HOUSE, source="a test", now=NOW)

    assert store.own_cookers.of([HOUSE]) == []


def test_own_cookers_stored_before_are_readable_after_the_step(store: Store, url: str) -> None:
    old = {
        "id": "m",
        "name": "Mirror",
        "kind": "parabolic",
        "litres": 5.0,
        "aperture_m2": 1.1,
        "optical_efficiency": 0.97,
        "marks": {"optical_efficiency": "measured on the day, 3 readings: Lunch"},
    }
    store.close()
    engine = sa.create_engine(url)
    with engine.begin() as db:
        for before in (
            "DROP TABLE own_cooker",
            "CREATE TABLE own_cooker (id TEXT, kept_at TIMESTAMP, source TEXT, body TEXT)",
        ):
            db.execute(sa.text(before))
        row = {"id": "m", "at": NOW, "source": "Lunch", "body": json.dumps(old)}
        db.execute(sa.text("INSERT INTO own_cooker VALUES (:id, :at, :source, :body)"), row)
        db.execute(sa.text("UPDATE alembic_version SET version_num = '0004'"))
    engine.dispose()

    again = Store(url)
    (own,) = again.own_cookers.of([HOUSE])

    learnt = Provenance(kind="learnt", note="3 readings: Lunch")
    assert own.cooker.optical_efficiency == RANGES["optical_efficiency"][1]
    assert own.cooker.provenance == {"optical_efficiency": learnt}
    again.close()


def test_own_cookers_are_seen_by_their_owners_alone(store: Store, harvest: Event) -> None:
    first = harvest.cookers[0]
    for owner, name in ((HOUSE, "The house's"), ("lunch", "Mine"), ("other", "Another's")):
        cooker = changed(first, name=name)
        store.own_cookers.save(cooker, owner=owner, source="a test", now=NOW)

    assert [own.cooker.name for own in store.own_cookers.of([HOUSE])] == ["The house's"]
    assert [own.cooker.name for own in store.own_cookers.of(["lunch", HOUSE])] == [
        "The house's",
        "Mine",
    ]


def both_at_once(store: Store, *works: Callable[[], object]) -> list[object]:
    """Have several write in the same moment: each has read before any of them writes."""
    ready = Barrier(len(works))

    def meet(_db: object, _cursor: object, statement: str, *_more: object) -> None:
        if statement.startswith(("UPDATE", "INSERT")) and not ready.broken:
            with suppress(BrokenBarrierError):  # on a server, the others wait for the first
                ready.wait(0.5)

    def outcome(work: Callable[[], object]) -> object:
        try:
            return work()
        except StaleVersion as stale:
            return stale

    engine = store.events._database._engine
    sa.event.listen(engine, "before_cursor_execute", meet)
    with ThreadPoolExecutor(len(works)) as threads:
        done = list(threads.map(outcome, works))
    sa.event.remove(engine, "before_cursor_execute", meet)
    return done


def test_of_two_offers_that_are_taken_at_once_one_is_in_force(store: Store, harvest: Event) -> None:
    """On SQLite both were: who took the first saw another plan than they had taken."""
    kept = store.events.add(harvest, now=NOW)
    offers = [
        store.plans.save_offer(kept.id, version=1, after=0, body="{}", now=NOW) for _ in range(2)
    ]

    first, second = both_at_once(
        store, *(partial(store.plans.take, kept.id, o.number, now=NOW) for o in offers)
    )

    assert isinstance(first, StaleVersion) != isinstance(second, StaleVersion)
    (taken,) = [o for o in (first, second) if not isinstance(o, StaleVersion)]
    assert store.plans.replan_in_force(kept.id, 1) == taken


def test_of_two_changes_that_are_made_at_once_one_is_made(store: Store, harvest: Event) -> None:
    kept = store.events.add(harvest, now=NOW)
    wished = [changed(harvest, wanted_margin_min=minutes) for minutes in (25, 30)]

    outcomes = both_at_once(
        store,
        *(
            partial(store.events.change, kept.id, e, fingerprint=kept.fingerprint, now=NOW)
            for e in wished
        ),
    )

    assert sum(isinstance(o, StaleVersion) for o in outcomes) == 1
    assert store.events.get(kept.id).version == 2
