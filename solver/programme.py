"""The part of a plan that is for visitors: which group is at which stop when."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from events.rounds import Moment
from solver.part import Part

RotaLevelKey = Literal["moved", "unseen", "end", "waiting"]
RotaHelp = Literal["longer-hours", "shorter-visits", "no-pause", "no-bell"]


class Sight(Part):
    """Something to be seen during a visit: work by the plan, or a heat by the expected curve."""

    moment: Moment
    cooker_id: str
    at: datetime


class Visit(Part):
    """One group at one stop, and how far it comes from the stop before."""

    group_id: str
    stop_id: str
    at: datetime
    minutes: int
    walk_m: int = 0  # 0 at a group's first visit
    sees: tuple[Sight, ...] = ()


class GroupPause(Part):
    """A group's rest."""

    group_id: str
    at: datetime
    minutes: int


class RotaLevel(Part):
    """One level of the rota's goal: visits changed or with nothing to see, minutes otherwise."""

    key: RotaLevelKey
    value: int
    bound: int
    proven: bool


class RotaPlan(Part):
    """Who is where when; without visits there is no rota in these hours, and `helps` would."""

    visits: tuple[Visit, ...]  # in time order
    pauses: tuple[GroupPause, ...]
    levels: tuple[RotaLevel, ...]
    helps: tuple[RotaHelp, ...] = ()
