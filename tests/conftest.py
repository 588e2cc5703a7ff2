"""Fixtures that every room of the tests shares: ready events, plans made once, a browser."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from hypothesis import settings

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_names, sample_text
from solver.plan import Plan
from solver.planning.pipeline import make_plan

settings.register_profile("noonfare", deadline=None, max_examples=40, derandomize=True)
settings.load_profile("noonfare")

SAMPLES = sample_names()


_databases: dict[Path, str] = {}


def database_url(folder: Path, usual: str) -> str:
    """Return the database for a test's folder: the usual one, or a fresh one on a server.

    NOONFARE_TEST_DATABASE names a PostgreSQL server (`python -m tests.long postgres` starts one);
    the same folder has the same database, so that restarts find what was kept.
    """
    server = os.environ.get("NOONFARE_TEST_DATABASE")
    if not server:
        return usual
    if folder not in _databases:
        import sqlalchemy as sa

        name = f"test_{len(_databases)}_{os.getpid()}"
        engine = sa.create_engine(f"{server}/postgres", isolation_level="AUTOCOMMIT")
        with engine.connect() as db:
            db.execute(sa.text(f"CREATE DATABASE {name}"))
        engine.dispose()
        _databases[folder] = f"{server}/{name}"
    return _databases[folder]


@cache
def sample_event(name: str) -> Event:
    return read_event(sample_text(name), source=name)


_plans: dict[str, Plan] = {}


def _plans_of_run(process: int) -> Path:
    return Path(tempfile.gettempdir()) / f"noonfare-plans-{process}"


# Where the workers of one run (pytest-xdist), started by one process, leave each other their plans.
SHARED = _plans_of_run(os.getppid()) if "PYTEST_XDIST_WORKER" in os.environ else None


def plan_of(event: Event) -> Plan:
    """Return an event's plan, made once in a run of tests, by whichever of its processes."""
    key = event.model_dump_json()
    if key not in _plans:
        _plans[key] = _made_once(event, key, SHARED) if SHARED else make_plan(event)
    return _plans[key]


def _made_once(event: Event, key: str, folder: Path) -> Plan:
    file = folder / f"{hashlib.sha256(key.encode()).hexdigest()}.json"
    if file.exists():
        return Plan.model_validate_json(file.read_text())
    plan = make_plan(event)
    folder.mkdir(exist_ok=True)
    half = file.with_suffix(f".{os.getpid()}")
    half.write_text(plan.model_dump_json())
    half.replace(file)
    return plan


def pytest_sessionstart() -> None:
    """Take away what a run that was killed may have left under the same number."""
    shutil.rmtree(_plans_of_run(os.getpid()), ignore_errors=True)


def pytest_sessionfinish() -> None:
    """Take away what the workers of this run shared."""
    shutil.rmtree(_plans_of_run(os.getpid()), ignore_errors=True)


@pytest.fixture(scope="session", autouse=True)
def planned_once() -> Iterator[None]:
    """Let the service plan the same event once: that plans repeat, the solver's tests try."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("service.application.solver_jobs.make_plan", plan_of)
        yield


def sample_plan(name: str) -> Plan:
    return plan_of(sample_event(name))


def replaced(text: str, *pairs: tuple[str, str]) -> str:
    """Return a sample's text with parts replaced; a part that is not there is a test's mistake."""
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


@pytest.fixture
def harvest() -> Event:
    return sample_event("harvest-lunch")


@pytest.fixture
def harvest_plan() -> Plan:
    return sample_plan("harvest-lunch")
