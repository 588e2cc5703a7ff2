"""What happened to each pot, beside the plan with which the day began."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from events.diary import EntryKind, StoredEntry
from events.model import Event
from service.application.plans import DayPlans
from service.text import formatting
from service.text import pots as pot_text
from solver.live.pots import PotStatus
from solver.plan import Placement


@dataclass(frozen=True)
class PlannedAndReal:
    """A time as it was planned in the morning, and as it was pressed."""

    planned: datetime | None
    real: datetime | None


@dataclass(frozen=True)
class BatchRecord:
    """One batch: when it was to be loaded, lifted and served, when it was, what became of it."""

    dish: str
    load: PlannedAndReal
    lift: PlannedAndReal
    serve: PlannedAndReal
    notes: str


@dataclass(frozen=True)
class _Pressed:
    """When each batch was pressed to be what, and where it was loaded last."""

    at: dict[tuple[str, EntryKind], datetime]
    cooker_id: dict[str, str]


def planned_and_real(
    event: Event, plans: DayPlans, entries: Sequence[StoredEntry], pots: Sequence[PotStatus]
) -> list[BatchRecord]:
    """Return every batch of the morning's plan, then those that only the plan in force has."""
    pressed = _pressed(plans, entries)
    off = {h.placement.id: (h.off_at, h.off_c) for plan in plans.all for h in plan.in_hand}
    for pot in pots:
        if pot.off_heat_at is not None and pot.off_heat_c is not None:
            off[pot.placement_id] = (pot.off_heat_at, pot.off_heat_c)
    morning = {p.id: p for p in plans.morning.placements}
    now = {p.id: p for p in plans.all[-1].placements}
    dishes = {d.id for d in event.dishes}
    later = {batch: p for batch, p in now.items() if batch not in morning}
    records = []
    for batch, p in (morning | later).items():
        if p.dish_id in dishes:
            was = morning.get(batch)
            notes = [pot_text.came_off(event, *off[batch])] if batch in off else []
            notes += _became(event, was, now.get(batch), pressed, batch)
            records.append(_record(event, p, was, pressed, notes))
    return records


def _record(
    event: Event, p: Placement, was: Placement | None, pressed: _Pressed, notes: Sequence[str]
) -> BatchRecord:
    def times(planned: datetime | None, kind: EntryKind) -> PlannedAndReal:
        return PlannedAndReal(planned, pressed.at.get((p.id, kind)))

    return BatchRecord(
        dish=event.dish(p.dish_id).name + formatting.part(p),
        load=times(was.loaded_at if was else None, "loaded"),
        lift=times(was.lifted_at if was else None, "lifted"),
        serve=times(p.promised_at, "served"),
        notes=formatting.sentences(notes).removeprefix(". "),
    )


def _pressed(plans: DayPlans, entries: Sequence[StoredEntry]) -> _Pressed:
    batches = {j.id: j.placement_ids for plan in plans.all for j in plan.jobs}
    pressed = _Pressed({}, {})
    for stored in entries:
        entry = stored.entry
        for batch in {*batches.get(entry.job_id or "", ()), entry.placement_id}:
            if batch is None:
                continue
            pressed.at.setdefault((batch, entry.kind), stored.happened_at)
            if entry.kind == "loaded" and entry.cooker_id:
                pressed.cooker_id[batch] = entry.cooker_id
    return pressed


def _became(
    event: Event, was: Placement | None, now: Placement | None, pressed: _Pressed, batch: str
) -> Iterator[str]:
    """Yield how a batch went other than planned in the morning."""
    names = {c.id: c.name for c in event.cookers}
    loaded_in = pressed.cooker_id.get(batch)
    if was is None:
        yield "new in a later plan"
    elif loaded_in and loaded_in != was.cooker_id:
        yield f"went into {names.get(loaded_in, loaded_in)}"
    elif now is None:
        yield "not in the plan any more"
    elif now.cooker_id != was.cooker_id:
        yield f"planned again: {names.get(now.cooker_id, now.cooker_id)}"
    if (batch, "discarded") in pressed.at:
        yield "thrown away"
