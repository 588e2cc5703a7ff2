"""The part of a plan that is for visitors: which group is at which stop when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from events.model import Event
from events.rounds import StopMoment
from solver.part import Part

RotaLevelKey = Literal["moved", "unseen", "end", "waiting"]
RotaHelp = Literal["longer-hours", "shorter-visits", "no-pause", "no-bell"]


TalkReason = Literal[
    "not-shown",  # best_of_100, wanted_of_100: its moment is never to be seen surely enough
    "no-speaker",  # shown, but none of its speakers is free then
    "no-room",  # shown and a speaker free, but other talks take the time
    # A load of its own would show it: but no cooker or pot is free, or nobody to work it.
    "no-cooker",
    "no-hands",
    "cooker-out",  # the only cooker that could show it is out of action
]


class ShowingLoad(Part):
    """A pot of water, or an empty box, on the sun for the sake of a talk: it is never eaten."""

    cooker_id: str
    pot_id: str | None  # None: an empty box
    water_kg: float
    loaded_at: datetime
    lifted_at: datetime


class Giving(Part):
    """A talk that floats, given at a time that the plan chose; by whom, and how sure its moment is.

    The time was chosen by 200 drawn days and the chance is told from 200 others: told from those
    that chose it, it would flatter.
    """

    talk_id: str
    giving: int  # from 1
    at: datetime
    minutes: int
    speaker_id: str | None
    cooker_id: str | None = None  # where its moment is seen
    moment_at: datetime | None = None  # as expected
    of_100: int | None = None  # steps of five
    load: ShowingLoad | None = None  # put on for it alone; None: what cooks anyhow shows it


class NotGiven(Part):
    """Givings of a talk that have no time, and why."""

    talk_id: str
    givings: int
    reason: TalkReason
    best_of_100: int = 0
    wanted_of_100: int = 0


class TalkPlan(Part):
    """The talks that float: when each is given, and which are not."""

    given: tuple[Giving, ...]
    not_given: tuple[NotGiven, ...]


class Sight(Part):
    """Something to be seen during a visit: work by the plan, or a heat by the expected curve."""

    moment: StopMoment
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

    @property
    def id(self) -> str:
        """What a press for it is known by: the same in every plan."""
        return f"round-{self.group_id}-{self.stop_id}"


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


@dataclass(frozen=True)
class Posts:
    """What a helper leads on the round: groups that they go with, stops that they guide."""

    group_ids: frozenset[str] = frozenset()
    stop_ids: frozenset[str] = frozenset()

    def visits(self, rota: RotaPlan | None) -> list[Visit]:
        """Return the visits that they lead, in time order."""
        return [
            v
            for v in (rota.visits if rota else ())
            if v.group_id in self.group_ids or v.stop_id in self.stop_ids
        ]


def posts_of(event: Event, helper_id: str) -> Posts:
    """Return what a helper leads; no posts where no groups go round."""
    return Posts(
        frozenset(g.id for g in event.groups if g.adult == helper_id),
        frozenset(s.id for s in event.stops if s.guide == helper_id),
    )
