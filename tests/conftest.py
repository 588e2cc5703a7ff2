"""Fixtures that every room of the tests shares: ready events, plans made once, a browser."""

from __future__ import annotations

import os
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from events.model import Event
from events.reading.event_file import read_event, sample_names, sample_text
from solver.plan import Plan
from solver.planning.pipeline import make_plan

settings.register_profile("noonfare", deadline=None, max_examples=40, derandomize=True)
settings.load_profile("noonfare")

SAMPLES = sample_names()
CHROMIUM = Path("/usr/bin/chromium")


_databases: dict[Path, str] = {}


def database_url(folder: Path, usual: str, *, like: Path | None = None) -> str:
    """Return the database for a test's folder: the usual one, or a fresh one on a server.

    NOONFARE_TEST_DATABASE names a PostgreSQL server (`python -m tests.long postgres` starts one);
    the same folder has the same database, so that restarts find what was kept; a folder that is
    copied (`like`) has a copy.
    """
    server = os.environ.get("NOONFARE_TEST_DATABASE")
    if not server:
        return usual
    if folder not in _databases:
        import sqlalchemy as sa

        name = f"test_{len(_databases)}_{os.getpid()}"
        engine = sa.create_engine(f"{server}/postgres", isolation_level="AUTOCOMMIT")
        with engine.connect() as db:
            copied = f" TEMPLATE {_databases[like].rsplit('/', 1)[1]}" if like else ""
            db.execute(sa.text(f"CREATE DATABASE {name}{copied}"))
        engine.dispose()
        _databases[folder] = f"{server}/{name}"
    return _databases[folder]


@cache
def sample_event(name: str) -> Event:
    return read_event(sample_text(name), source=name)


@cache
def sample_plan(name: str) -> Plan:
    return make_plan(sample_event(name))


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


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    if not CHROMIUM.exists():
        if os.environ.get("CI"):
            pytest.fail("CI needs Debian's chromium: apt-get install chromium")
        pytest.skip("no browser here: apt-get install chromium, then run these again")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as tool:
        browser = tool.chromium.launch(
            executable_path=str(CHROMIUM),
            args=["--no-sandbox", "--host-resolver-rules=MAP farm.test 127.0.0.1"],
        )
        yield browser
        browser.close()
