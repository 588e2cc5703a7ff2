"""The rota as slots: groups with their hours, stops with their visits, walks, what can be seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from solver.programme import RotaLevel


@dataclass(frozen=True)
class GroupRound:
    """A group: the slots it is there, its stops by index, and the class of how fast it walks."""

    id: str
    start: int
    end: int
    stops: tuple[int, ...]
    pace: int  # into the problem's walks


@dataclass(frozen=True)
class StopVisits:
    """A stop: slots of a visit, slots between two, and from which starts nothing is to be seen."""

    id: str
    slots: int
    ready: int
    unseen: frozenset[int]


@dataclass(frozen=True)
class RotaProblem:
    """All that a rota has to know. A pause of no slots is none."""

    groups: tuple[GroupRound, ...]
    stops: tuple[StopVisits, ...]
    walks: tuple[tuple[tuple[int, ...], ...], ...]  # by pace, from a stop to a stop
    walk_least: int
    closed: frozenset[int]  # slots in which all are somewhere else
    pause: int
    pause_starts: tuple[int, int]  # first and last slot in which it may begin
    bell: bool
    fixed: Mapping[tuple[int, int], int]  # (group, stop): begun before the day was planned again
    before: Mapping[tuple[int, int], int]  # where an earlier rota has the visits still to come


@dataclass(frozen=True)
class RotaSolution:
    """The start slot of each (group, stop), of each group's pause, and the goal's levels."""

    visits: Mapping[tuple[int, int], int]
    pauses: Mapping[int, int]
    levels: tuple[RotaLevel, ...]
