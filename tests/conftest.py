"""Fixtures that every room of the tests shares: ready events, plans made once, a browser."""

from __future__ import annotations

import hashlib
import os
import pickle
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any, TypeVar, cast

import pytest
from hypothesis import settings
from xdist.scheduler.worksteal import WorkStealingScheduling

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_names, sample_text
from solver.feasibility.duration_table import estimates
from solver.feasibility.improvements import improvements
from solver.feasibility.season import season
from solver.plan import Plan
from solver.planning.pipeline import make_plan

# Dozens of processes of a run read the same files: each is compiled once, whatever a machine says.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

settings.register_profile("noonfare", deadline=None, max_examples=40, derandomize=True)
settings.load_profile("noonfare")

SAMPLES = sample_names()
# The same where a test asks for the plan: the cook-off's takes as long as all others together.
PLANNED_SAMPLES = [
    pytest.param(name, marks=pytest.mark.slow) if name == "cook-off" else name for name in SAMPLES
]
T = TypeVar("T")


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


_made: dict[str, Any] = {}


def _made_by_run(process: int) -> Path:
    return Path(tempfile.gettempdir()) / f"noonfare-tests-{process}"


# Where the workers of one run (pytest-xdist), started by one process, leave each other what they
# made of events.
SHARED = _made_by_run(os.getppid()) if "PYTEST_XDIST_WORKER" in os.environ else None


def once(work: Callable[..., T], event: Event, *more: object) -> T:
    """Return what comes of an event, made once in a run of tests, by whichever of its processes.

    What more the work is given follows from the event.
    """
    key = hashlib.sha256(f"{work.__name__} {event.model_dump_json()}".encode()).hexdigest()
    if key not in _made:
        _made[key] = _shared(SHARED / key, work, event, *more) if SHARED else work(event, *more)
    return cast(T, _made[key])


def _shared(file: Path, work: Callable[..., T], *given: object) -> T:
    if file.exists():
        return cast(T, pickle.loads(file.read_bytes()))
    made = work(*given)
    file.parent.mkdir(exist_ok=True)
    half = file.with_suffix(f".{os.getpid()}")
    half.write_bytes(pickle.dumps(made))
    half.replace(file)
    return made


def plan_of(event: Event) -> Plan:
    """Return an event's plan, made once in a run of tests."""
    return once(make_plan, event)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> WorkStealingScheduling:
    """Let a worker have whole files, as far as may be: what a file's tests share is made once."""
    return WorkStealingScheduling(config, log)


def pytest_sessionstart() -> None:
    """Take away what a run that was killed may have left under the same number."""
    shutil.rmtree(_made_by_run(os.getpid()), ignore_errors=True)


def pytest_sessionfinish() -> None:
    """Take away what the workers of this run shared."""
    shutil.rmtree(_made_by_run(os.getpid()), ignore_errors=True)


@pytest.fixture(scope="session", autouse=True)
def worked_out_once() -> Iterator[None]:
    """Let the service work out the same once: that answers repeat, the solver's tests try."""
    with pytest.MonkeyPatch.context() as patch:
        for work in (make_plan, improvements, season, estimates):
            patch.setattr(f"service.application.solver_jobs.{work.__name__}", partial(once, work))
        yield


@cache
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
