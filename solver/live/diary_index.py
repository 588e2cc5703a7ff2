"""The diary indexed by batch, cooker and helper, in minutes of the day."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from events.diary import Entry, EntryKind, StoredEntry, clouds
from events.model import Event
from solver.plan import Placement, Plan
from solver.simulation.day_state import Absence
from solver.solar.irradiance import Sky, minute_of

LATE_MIN = 10  # "late" without minutes
DAY_MIN = 24 * 60


@dataclass(frozen=True)
class ProbeReading:
    """A probe in a batch."""

    placement: Placement
    minute: int
    core_c: float


@dataclass(frozen=True)
class Shade:
    """A cloud that somebody reported, in minutes of the day."""

    start: int
    end: int


@dataclass(frozen=True)
class Press:
    """A diary entry, its minute of the day, and the batches of the plan that it is about."""

    entry: Entry
    minute: int
    placements: tuple[Placement, ...]


@dataclass(frozen=True)
class DiaryIndex:
    """What the diary says by batch, cooker and helper; minutes of the day."""

    loaded: Mapping[str, int]  # by batch
    lifted: Mapping[str, int]
    to_ring: Mapping[str, int]
    finished_ids: frozenset[str]  # batches served or thrown away
    out_of_action: Mapping[str, int]  # by cooker
    parked: Mapping[str, int]
    aimed: Mapping[str, int]
    shades: tuple[Shade, ...]
    absences: tuple[Absence, ...]
    readings: tuple[ProbeReading, ...]


def index_diary(event: Event, plan: Plan, sky: Sky, entries: Sequence[StoredEntry]) -> DiaryIndex:
    """Return what the entries that count say of a plan's batches, cookers and people."""
    presses = [
        Press(k.entry, minute_of(sky, k.happened_at), _placements(plan, k.entry)) for k in entries
    ]
    # Without a ring of the event's own, a pot that went to a ring is out of our hands.
    has_ring = any(c.on_gas for c in event.cookers)
    return DiaryIndex(
        loaded=_first_minute(presses, {"loaded"}),
        lifted=_first_minute(presses, {"lifted"} if has_ring else {"lifted", "to-burner"}),
        to_ring=_first_minute(presses, {"to-burner"}) if has_ring else {},
        finished_ids=_finished(event, plan, presses),
        out_of_action=_out_of_action(presses),
        parked=_parked(event, plan, presses),
        aimed={c: p.minute for p in presses for c in _aimed_cookers(plan, p.entry)},
        shades=tuple(
            Shade(minute_of(sky, c.starts_at), minute_of(sky, c.ends_at)) for c in clouds(entries)
        ),
        absences=_absences(presses),
        readings=tuple(
            ProbeReading(placement, p.minute, p.entry.core_c)
            for p in presses
            if p.entry.core_c is not None
            for placement in p.placements
        ),
    )


def _placements(plan: Plan, entry: Entry) -> tuple[Placement, ...]:
    """Return the batches that an entry is about; what is loaded or lifted is the whole load."""
    ids: Collection[str | None] = (entry.placement_id,)
    job = next((j for j in plan.jobs if j.id == entry.job_id), None)
    if job is not None and job.placement_ids:
        ids = job.placement_ids
    by_id = {h.placement.id: h.placement for h in plan.in_hand}
    by_id |= {p.id: p for p in plan.placements}
    named = tuple(by_id[i] for i in ids if i in by_id)
    if named and entry.kind in ("loaded", "lifted"):
        return tuple(p for p in plan.placements if p.fill == named[0].fill)
    return named


def _first_minute(presses: Sequence[Press], kinds: Collection[EntryKind]) -> dict[str, int]:
    """Return, by batch, when it was first pressed to be so."""
    minutes: dict[str, int] = {}
    for press in presses:
        if press.entry.kind in kinds:
            for placement in press.placements:
                minutes.setdefault(placement.id, press.minute)
    return minutes


def _finished(event: Event, plan: Plan, presses: Sequence[Press]) -> frozenset[str]:
    """Return the batches served or thrown away; a meal that is served has all its batches."""
    meal_of_job = {j.id: j.meal_id for j in plan.jobs}
    ids = {
        placement.id
        for p in presses
        if p.entry.kind in ("served", "discarded")
        for placement in p.placements
    }
    meals = {meal_of_job.get(p.entry.job_id or "") for p in presses if p.entry.kind == "served"}
    dishes = {d.id for d in event.dishes if d.meal in meals}
    batches = (*plan.placements, *(h.placement for h in plan.in_hand))
    return frozenset(ids | {p.id for p in batches if p.dish_id in dishes})


def _out_of_action(presses: Sequence[Press]) -> dict[str, int]:
    """Return, by cooker, since when it is out of action."""
    minutes: dict[str, int] = {}
    for press in presses:
        if press.entry.kind == "out-of-action" and press.entry.cooker_id:
            minutes.setdefault(press.entry.cooker_id, press.minute)
    return minutes


def _parked(event: Event, plan: Plan, presses: Sequence[Press]) -> dict[str, int]:
    """Return, by cooker, since when it is turned away, until it is aimed or the sun is back."""
    mirrors = [c.id for c in event.cookers if c.nature.concentrates]
    parked: dict[str, int] = {}
    for press in presses:
        if press.entry.kind == "parked":
            cookers = [press.entry.cooker_id] if press.entry.cooker_id else mirrors
            parked |= dict.fromkeys(cookers, press.minute)
        elif press.entry.kind == "sun":
            parked = {}
        else:
            aimed = _aimed_cookers(plan, press.entry)
            parked = {c: minute for c, minute in parked.items() if c not in aimed}
    return parked


def _aimed_cookers(plan: Plan, entry: Entry) -> set[str]:
    """Return the cookers that an entry says were brought to the sun."""
    if entry.kind != "aimed":
        return set()
    walk = next((w for w in plan.walks if w.id == entry.job_id), None)
    if walk is not None:
        return {t.cooker_id for t in plan.turns if t.id in walk.turn_ids}
    job = next((j for j in plan.jobs if j.id == entry.job_id), None)
    cooker_id = entry.cooker_id or (job.cooker_id if job else None)
    return {cooker_id} if cooker_id else set()


def _absences(presses: Sequence[Press]) -> tuple[Absence, ...]:
    """Return when a helper who is late or has gone can't be asked."""
    return tuple(
        Absence(
            p.entry.helper_id,
            p.minute,
            p.minute + (p.entry.minutes or LATE_MIN) if p.entry.kind == "late" else DAY_MIN,
        )
        for p in presses
        if p.entry.kind in ("late", "gone") and p.entry.helper_id
    )
