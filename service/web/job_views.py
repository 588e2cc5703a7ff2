"""A helper's jobs as their page shows them: each with its presses, pictures and cautions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import quote

from markupsafe import Markup

from events.diary import EntryKind
from events.model import Event
from service.application.diary import DiaryEntry
from service.charts.turn import turn_picture
from service.text import formatting, messages, turn_orders
from service.text.run_sheet import RunSheetItem
from service.text.turn_orders import TurnOrder
from service.web.press import press_id
from solver.plan import Plan, Turn

MISSED_AFTER = timedelta(minutes=15)  # a job not pressed by then makes room for the next
# What leaves a job open.
NOT_DONE: tuple[EntryKind, ...] = (
    *("late", "note", "cloud", "sun", "seen", "read-changes", "out-of-action", "undo"),
    *("parked", "hurt", "fire", "need-help"),
)


@dataclass(frozen=True)
class Pressed:
    """That a job was pressed: the entry's id, and when."""

    entry_id: str
    at: str


@dataclass(frozen=True)
class DoneWork:
    """What the diary says of jobs: which are pressed, and how often presses were undone."""

    pressed: Mapping[str, Pressed]
    undone: Mapping[tuple[str, EntryKind], int]


@dataclass(frozen=True)
class Press:
    """A press that is offered. Its id is the same on every phone."""

    id: str
    label: str
    says: str  # what stands in the list of presses that wait: "Loaded, Mirror 1"
    kind: EntryKind
    job_id: str
    cooker_id: str
    placement_id: str
    done: Pressed | None


@dataclass(frozen=True)
class TurnView:
    """One cooker of a walk."""

    turn: Turn
    order: TurnOrder
    picture: Markup
    place: str
    press: Press


@dataclass(frozen=True)
class JobView:
    """A job or walk on its helper's page."""

    item: RunSheetItem
    number: int  # in the order of the day
    anchor: str
    press: Press | None  # of the whole; a walk of several cookers has one for each of them
    turns: tuple[TurnView, ...]

    @property
    def presses(self) -> tuple[Press, ...]:
        """Every press that it takes."""
        return (self.press,) if self.press else tuple(t.press for t in self.turns)

    @property
    def done(self) -> bool:
        """Whether all of it is pressed."""
        return bool(self.presses) and all(p.done for p in self.presses)

    @property
    def next_stop(self) -> TurnView | None:
        """The cooker of a walk that is next."""
        return next((t for t in self.turns if not t.press.done), None)

    def is_missed(self, at: datetime) -> bool:
        """Return whether its time is long over."""
        return self.item.ends_at + MISSED_AFTER <= at


def done_work(event: Event, entries: Sequence[DiaryEntry]) -> DoneWork:
    """Return what the diary says of jobs."""
    pressed: dict[str, Pressed] = {}
    undone: Counter[tuple[str, EntryKind]] = Counter()
    for e in entries:
        entry = e.stored.entry
        if entry.job_id is None or entry.kind in NOT_DONE:
            continue
        if e.undone:
            undone[entry.job_id, entry.kind] += 1
        else:
            at = formatting.clock(event, e.stored.happened_at)
            pressed.setdefault(entry.job_id, Pressed(entry.id, at))
    return DoneWork(pressed, undone)


def job_view(
    event: Event, event_id: str, plan: Plan, item: RunSheetItem, number: int, done: DoneWork
) -> JobView:
    """Return a job or walk as its helper's page shows it."""
    job = next((j for j in plan.jobs if j.id == item.id), None)
    placement_id = job.placement_ids[0] if job and job.placement_ids else ""

    def press(label: str, kind: EntryKind, job_id: str, cooker_id: str, where: str) -> Press:
        ident = press_id(event_id, job_id, kind, undone=done.undone.get((job_id, kind), 0))
        says = ", ".join(part for part in (label, item.food, where) if part)
        pressed = done.pressed.get(job_id) or done.pressed.get(item.id)
        return Press(ident, label, says, kind, job_id, cooker_id, placement_id, pressed)

    turns = tuple(
        TurnView(
            turn=turn,
            order=(order := turn_orders.turn_order(event, turn)),
            picture=turn_picture(event, turn),
            place=_place(event, turn.cooker_id),
            press=press(order.press, "aimed", turn.id, turn.cooker_id, order.name),
        )
        for turn in item.turns
    )
    whole = messages.PRESS.get(item.kind)
    cooker = item.cookers[0] if item.cookers else None
    single: Press | None = None
    if item.kind == "walk":
        single = turns[0].press if len(turns) == 1 else None
    elif item.kind == "rescue":
        single = _look(event_id, plan, item, done)
    elif whole is not None:
        where = (cooker.id, cooker.name) if cooker else ("", "")
        single = press(*whole, item.id, *where)
    return JobView(item, number, f"job-{quote(item.id, safe='')}", single, turns)


def look_press(event_id: str, placement_id: str, food: str, done: DoneWork) -> Press:
    """Return the press of a look at a pot: whatever is decided, it is decided once."""
    job_id = f"rescue-{placement_id}"
    undone = max((n for (job, _), n in done.undone.items() if job == job_id), default=0)
    return Press(
        id=press_id(event_id, job_id, "to-burner", undone=undone),
        label="To the ring",
        says=f"Looked at {food}",
        kind="to-burner",
        job_id=job_id,
        cooker_id="",
        placement_id=placement_id,
        done=done.pressed.get(job_id),
    )


def _look(event_id: str, plan: Plan, item: RunSheetItem, done: DoneWork) -> Press:
    rescue = next(r for r in plan.rescues if item.id == f"rescue-{r.placement_id}")
    return look_press(event_id, rescue.placement_id, item.food, done)


def _place(event: Event, cooker_id: str) -> str:
    """Return the name of the spot where a cooker stands, if it has one."""
    station = event.cooker(cooker_id).station
    return event.station(station).name if station else ""
