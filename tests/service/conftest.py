"""Doors to the app on fresh databases."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.app import Door, with_sample


@pytest.fixture
def door(tmp_path: Path) -> Door:
    """Return a door to an empty database."""
    return Door(tmp_path)


@pytest.fixture
def ready(door: Door) -> Door:
    """Return a door to a database in which the harvest lunch is, planned."""
    return with_sample(door)
