"""Backup, damage, restore; and all of an event as one document."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime
from pathlib import Path

from events.diary import Entry
from events.reading.event_file import read_event
from events.storage.store import Store
from service.application.holding import Holding
from tests.conftest import sample_event
from tests.service.cli.conftest import Command

NOW = datetime(2026, 11, 28, 8, tzinfo=UTC)


def filled(data: Path) -> str:
    data.mkdir(exist_ok=True)
    store = Store(f"sqlite:///{data / 'noonfare.db'}")
    name = store.events.add(sample_event("harvest-lunch"), now=NOW).id
    store.diary.append(name, Entry(id="press-0001", kind="note", at=NOW, note="hello"), now=NOW)
    store.close()
    return name


def test_what_was_backed_up_comes_back_after_damage(tmp_path: Path, noonfare: Command) -> None:
    data, copy = tmp_path / "data", tmp_path / "copy.db"
    name = filled(data)

    assert noonfare("backup", str(copy), "--data", str(data)).returncode == 0
    (data / "noonfare.db").write_bytes(b"broken" * 100)
    done = noonfare("restore", str(copy), "--data", str(data))

    assert done.returncode == 0, done.stderr
    store = Store(f"sqlite:///{data / 'noonfare.db'}")
    assert store.events.get(name).event == sample_event("harvest-lunch")
    assert store.diary.entries(name)[0].entry.note == "hello"
    store.close()
    assert list(data.glob("noonfare.before-*")), "what was there is kept"


def test_a_damaged_backup_changes_nothing(tmp_path: Path, noonfare: Command) -> None:
    data, bad = tmp_path / "data", tmp_path / "bad.db"
    name = filled(data)
    bad.write_bytes(b"not a database at all" * 50)

    done = noonfare("restore", str(bad), "--data", str(data))

    assert done.returncode == 1
    assert "Nothing was changed" in done.stderr
    store = Store(f"sqlite:///{data / 'noonfare.db'}")
    assert store.events.get(name)
    store.close()


def test_an_export_holds_file_plan_and_diary(tmp_path: Path, noonfare: Command) -> None:
    name = filled(tmp_path / "data")

    done = noonfare("export", name, "--data", str(tmp_path / "data"))

    whole = json.loads(done.stdout)
    assert read_event(whole["file"]) == sample_event("harvest-lunch")
    assert whole["diary"][0]["entry"]["note"] == "hello"
    assert whole["plan"] is None, "none was made yet"


def test_a_backup_is_not_put_under_a_service_that_runs(tmp_path: Path, noonfare: Command) -> None:
    """On 0.2 the next press landed in the database that had been put aside."""
    data, copy = tmp_path / "data", tmp_path / "copy.db"
    filled(data)
    noonfare("backup", str(copy), "--data", str(data))
    first, second = Holding(data / "noonfare.db"), Holding(data / "noonfare.db")

    refused = noonfare("restore", str(copy), "--data", str(data))
    first.close()
    still = noonfare("restore", str(copy), "--data", str(data))
    second.close()

    assert (refused.returncode, still.returncode) == (1, 1)
    assert "Stop it first" in refused.stderr
    assert not list(data.glob("noonfare.before-*"))
    assert noonfare("restore", str(copy), "--data", str(data)).returncode == 0


def test_whoever_sits_at_the_machine_makes_an_organisers_link(
    tmp_path: Path, noonfare: Command
) -> None:
    name = filled(tmp_path)

    made = noonfare("link", name, "--data", str(tmp_path), "--base", "https://noon.example/")
    unknown = noonfare("link", "no-such-event", "--data", str(tmp_path))

    base, _, token = made.stdout.strip().rpartition("/")
    assert base == "https://noon.example/l"
    store = Store(f"sqlite:///{tmp_path / 'noonfare.db'}")
    (link,) = store.links.of_event(name)
    store.close()
    assert link.role == "organiser"
    assert link.digest == hashlib.sha256(token.encode()).hexdigest()
    assert unknown.returncode == 1


def test_old_events_are_written_out_and_taken_out(tmp_path: Path, noonfare: Command) -> None:
    data, folder = tmp_path / "data", tmp_path / "old"
    name = filled(data)
    old, new = ("2026-11-28", "2026-11-29")

    kept = noonfare("archive", "--before", old, "--to", str(folder), "--data", str(data))
    done = noonfare("archive", "--before", new, "--to", str(folder), "--data", str(data))

    assert (kept.stdout, done.returncode) == ("", 0)
    document = json.loads((folder / f"{name}.json").read_text())
    assert read_event(document["file"]) == sample_event("harvest-lunch")
    assert document["diary"][0]["entry"]["note"] == "hello"
    store = Store(f"sqlite:///{data / 'noonfare.db'}")
    assert store.events.count() == 0
    assert store.events.add(sample_event("harvest-lunch"), now=NOW).id == name
    assert store.diary.entries(name) == []
    store.close()
