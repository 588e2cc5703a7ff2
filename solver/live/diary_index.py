"""The diary, laid out for counting: what was loaded, lifted, read, shaded, broken, and when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from events.diary import Entry, StoredEntry
from events.model import Event
from solver.plan import Placement, Plan
from solver.simulation.day_state import Absence
from solver.solar.irradiance import Sky, minute_of

CLOUD_LASTS_MIN = 30  # a cloud after which nobody wrote "sun again"
LATE_MIN = 10  # "late" without minutes
DAY_MIN = 24 * 60


@dataclass(frozen=True)
class ProbeReading:
    """A probe in a batch."""

    placement: Placement
    minute: int
    core_c: float


@dataclass
class DiaryIndex:
    """What the diary says by batch, cooker and helper; minutes of the day."""

    loaded: dict[str, int] = field(default_factory=dict)
    lifted: dict[str, int] = field(default_factory=dict)
    ringed: dict[str, int] = field(default_factory=dict)
    gone: set[str] = field(default_factory=set)  # batches served or thrown away
    out: dict[str, int] = field(default_factory=dict)
    parked: dict[str, int] = field(default_factory=dict)
    aimed: dict[str, int] = field(default_factory=dict)
    shade: list[tuple[int, int]] = field(default_factory=list)
    away: list[Absence] = field(default_factory=list)
    readings: list[ProbeReading] = field(default_factory=list)
    cloud: int | None = None  # a cloud that has not passed yet


def index_diary(event: Event, plan: Plan, sky: Sky, entries: Sequence[StoredEntry]) -> DiaryIndex:
    """Return what a diary's standing entries say of a plan's batches, cookers and people."""
    out = DiaryIndex()
    jobs = {j.id: j for j in plan.jobs}
    placed = {p.id: p for p in plan.placements}
    fills: dict[str, list[str]] = defaultdict(list)
    for p in plan.placements:
        fills[p.fill].append(p.id)
    ring = any(c.on_gas for c in event.cookers)
    for k in entries:
        e, at = k.entry, minute_of(sky, k.happened_at)
        mine = [e.placement_id] if e.placement_id in placed else []
        if e.job_id in jobs:
            mine = list(jobs[e.job_id].placement_ids) or mine
        known = [name for name in mine if name in placed]
        if e.kind in ("loaded", "lifted") and known:
            known = fills[placed[known[0]].fill]
        for name in known:
            _of_batch(out, e, placed[name], at, ring=ring)
        if e.kind == "served" and e.job_id in jobs:
            meal = {d.id for d in event.dishes if d.meal == jobs[e.job_id].meal_id}
            out.gone |= {p.id for p in plan.placements if p.dish_id in meal}
        _of_cooker(out, e, event, plan, at)
    if out.cloud is not None:
        out.shade.append((out.cloud, out.cloud + CLOUD_LASTS_MIN))
    return out


def _of_batch(out: DiaryIndex, e: Entry, p: Placement, at: int, *, ring: bool) -> None:
    if e.kind == "loaded":
        out.loaded.setdefault(p.id, at)
    elif e.kind == "lifted":
        out.lifted.setdefault(p.id, at)
    elif e.kind == "to-burner" and not ring:
        out.lifted.setdefault(p.id, at)  # somebody's own ring: it is out of our hands
    elif e.kind == "to-burner":
        out.ringed.setdefault(p.id, at)
    elif e.kind in ("served", "discarded"):
        out.gone.add(p.id)
    if e.core_c is not None:
        out.readings.append(ProbeReading(p, at, e.core_c))


def _of_cooker(out: DiaryIndex, e: Entry, event: Event, plan: Plan, at: int) -> None:
    if e.kind == "aimed":
        for name in _turned(e, plan):
            out.aimed[name] = at
            out.parked.pop(name, None)
    elif e.kind == "out-of-action" and e.cooker_id:
        out.out.setdefault(e.cooker_id, at)
    elif e.kind == "parked":
        mirrors = [c.id for c in event.cookers if c.nature.concentrates]
        out.parked |= dict.fromkeys([e.cooker_id] if e.cooker_id else mirrors, at)
    elif e.kind == "cloud" and out.cloud is None:
        out.cloud = at
    elif e.kind == "sun":
        out.parked.clear()
        if out.cloud is not None:
            out.shade.append((out.cloud, at))
        out.cloud = None
    elif e.kind in ("late", "gone") and e.helper_id:
        until = at + (e.minutes or LATE_MIN) if e.kind == "late" else DAY_MIN
        out.away.append(Absence(e.helper_id, at, until))


def _turned(e: Entry, plan: Plan) -> set[str]:
    """Return the cookers that a press says were brought to the sun."""
    walk = next((w for w in plan.walks if w.id == e.job_id), None)
    if walk is not None:
        return {t.cooker_id for t in plan.turns if t.id in walk.turn_ids}
    job = next((j for j in plan.jobs if j.id == e.job_id), None)
    return {name for name in (e.cooker_id or (job and job.cooker_id),) if name}
