"""Planning again in the middle of the day: what has begun goes on, and what is new is told."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from events.diary import KeptEntry
from events.model import Event, changed
from solver.live.reconcile import reconcile, stands_in
from solver.live.status import DayStatus, day_status
from solver.plan import Change, Job, Placement, Plan, Walk
from solver.planning.pipeline import plan_day
from solver.policy import SMALL_MIN
from solver.risk.monte_carlo import simulate


def replan(event: Event, plan: Plan, entries: Sequence[KeptEntry], now: datetime) -> Plan:
    """Return the checked plan of the rest of the day, and what it changes for whom.

    Nobody's work changes without need: after dishes, lateness and gas, fewest pots go elsewhere
    than planned, and fewest jobs change hands; no minute of margin is worth a moved pot.
    """
    return replan_from(day_status(event, reconcile(event, plan, now), entries, now))


def replan_from(standing: DayStatus) -> Plan:
    """Return the new plan from where the day stands."""
    new = plan_day(standing.day)
    news = tuple(changes(standing.day.event, standing.plan, new))
    comparable = all(stands_in(standing.day.event, p) for p in standing.plan.placements)
    kept = (
        simulate(standing.day, standing.plan).meals if new.risk is not None and comparable else ()
    )
    return changed(new, changes=news, if_kept=kept)


class _Names:
    def __init__(self, event: Event) -> None:
        self.zone = ZoneInfo(event.site.timezone)
        self.dish = {d.id: d.name for d in event.dishes}
        self.cookers = {c.id: c.name for c in event.cookers}

    def cooker(self, cooker_id: str) -> str:
        return self.cookers.get(cooker_id, cooker_id)  # it may be in the earlier plan only

    def clock(self, at: datetime) -> str:
        return at.astimezone(self.zone).strftime("%H:%M")

    def food(self, p: Placement) -> str:
        part = f" {p.batch} of {p.batches}" if p.batches > 1 else ""
        return self.dish[p.dish_id] + part


def changes(event: Event, old: Plan, new: Plan) -> list[Change]:
    """Return in words what a plan says differently from the one before: first for all."""
    say = _Names(event)
    before = {p.id: p for p in old.placements}
    out: list[Change] = []
    for p in new.placements:
        was = before.get(p.id)
        text = (
            _placed(say, p) if was is None else _moved(say, was, p, begun=p.id in new.started_ids)
        )
        if text:
            out.append(Change(helper_id=None, text=text))
    there = {p.dish_id for p in new.placements}
    refused = {u.dish_id for u in new.unplaced}
    for dish_id in dict.fromkeys(p.dish_id for p in old.placements):
        if dish_id not in there and dish_id in refused:
            out.append(Change(helper_id=None, text=f"{say.dish[dish_id]}: not cooked any more"))
    for helper in event.helpers:
        out += [Change(helper_id=helper.id, text=t) for t in _work(say, old, new, helper.id)]
    return out


def _placed(say: _Names, p: Placement) -> str:
    return f"{say.food(p)}: into {say.cooker(p.cooker_id)} at {say.clock(p.loaded_at)}, new"


def _moved(say: _Names, was: Placement, p: Placement, *, begun: bool) -> str:
    food, cooker = say.food(p), say.cooker(p.cooker_id)
    if not begun and (was.cooker_id, was.loaded_at) != (p.cooker_id, p.loaded_at):
        old = f"was {say.cooker(was.cooker_id)} at {say.clock(was.loaded_at)}"
        return f"{food}: into {cooker} at {say.clock(p.loaded_at)} ({old})"
    if p.then_cooker_id and p.then_cooker_id != was.then_cooker_id:
        return (
            f"{food}: from {cooker} to {say.cooker(p.then_cooker_id)} at {say.clock(p.lifted_at)}"
        )
    if p.served_at > p.promised_at:
        late = round((p.served_at - p.promised_at).total_seconds() / 60)
        return f"{food}: served at {say.clock(p.served_at)}, {late} min late"
    if abs((p.lifted_at - was.lifted_at).total_seconds()) >= SMALL_MIN * 60:
        old = say.clock(was.lifted_at)
        return f"{food}: out of {cooker} at {say.clock(p.lifted_at)} (was {old})"
    return ""


def _work(say: _Names, old: Plan, new: Plan, helper_id: str) -> list[str]:
    """Return one helper's new work, and what is not theirs any more."""
    since = new.replanned_at
    assert since is not None
    was, now = _lines(say, old, helper_id, since), _lines(say, new, helper_id, since)
    fresh = [line for line in now if not _near(line, was)]
    lost = [line for line in was if not _near(line, now)]
    out = [f"New: {say.clock(at)} {text}" for at, text in fresh]
    return out + [f"No more: {say.clock(at)} {text}" for at, text in lost]


def _near(line: tuple[datetime, str], others: list[tuple[datetime, str]]) -> bool:
    """Return whether the same work stands there at almost the same time."""
    return any(
        text == line[1] and abs((at - line[0]).total_seconds()) < SMALL_MIN * 60
        for at, text in others
    )


def _lines(say: _Names, plan: Plan, helper_id: str, since: datetime) -> list[tuple[datetime, str]]:
    foods = {p.id: say.food(p) for p in plan.placements}
    turns = {t.id: t.cooker_id for t in plan.turns}

    def job(j: Job) -> str:
        what = " and ".join(foods[i] for i in j.placement_ids if i in foods)
        where = say.cooker(j.cooker_id or "")
        return f"{j.kind} {what or where}" + (f", {where}" if what else "")

    def walk(w: Walk) -> str:
        return "turn " + " and ".join(sorted(say.cooker(turns[t]) for t in w.turn_ids))

    out = [(j.at, job(j)) for j in plan.jobs if helper_id in j.helper_ids and j.at > since]
    out += [(w.at, walk(w)) for w in plan.walks if w.helper_id == helper_id and w.at > since]
    return sorted(out)
