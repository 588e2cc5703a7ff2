"""The plan that was laid by hand, damaged in one place, and what a rule says of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache

from events.model import Event
from events.table import changed
from solver.checking.breach import Breach
from solver.checking.context import Case
from solver.checking.rules import check
from solver.plan import Job, Plan
from tests.conftest import sample_event, sample_plan
from tests.solver.checking.hand_laid import EVENT, JOBS, PLAN, at


def event(table: str, name: str, **values: object) -> Event:
    """Return the event with one row changed."""
    return edited(EVENT, table, name, **values)


def edited(old: Event, table: str, name: str, **values: object) -> Event:
    assert name in {r.id for r in getattr(old, table)}
    rows = tuple(changed(r, **values) if r.id == name else r for r in getattr(old, table))
    return changed(old, **{table: rows})


def plan(table: str, name: str, old: Plan = PLAN, **values: object) -> Plan:
    """Return the plan with one row changed."""
    assert name in {r.id for r in getattr(old, table)}
    rows = tuple(changed(r, **values) if r.id == name else r for r in getattr(old, table))
    return changed(old, **{table: rows})


def without(table: str, *names: str, old: Plan = PLAN) -> Plan:
    rows = tuple(r for r in getattr(old, table) if r.id not in names)
    assert len(rows) == len(getattr(old, table)) - len(names)
    return changed(old, **{table: rows})


def case(plan: Plan = PLAN, event: Event = EVENT) -> Case:
    return Case(
        event,
        plan,
        {c.id: c for c in event.cookers},
        {d.id: d for d in event.dishes},
        {p.id: p for p in event.pots},
        {h.id: h for h in event.helpers},
        {m.id: m for m in event.meals},
    )


Rule = Callable[[Case], Iterator[Breach]]


def named(rule: Rule, plan: Plan = PLAN, event: Event = EVENT) -> list[Breach]:
    """Return what one rule says of a plan."""
    return list(rule(case(plan, event)))


def again(clock: str, *started: str, old: Plan = PLAN) -> Plan:
    """Return the plan as one made again at a clock time."""
    return changed(old, replanned_at=at(clock), started_ids=started)


def place(name: str, old: Plan = PLAN, **values: object) -> Plan:
    return plan("placements", name, old, **values)


def job(name: str, **values: object) -> Plan:
    return plan("jobs", name, **values)


def more(old: Plan = PLAN, **rows: tuple[object, ...]) -> Plan:
    """Return the plan with more rows in some of its tables."""
    return changed(old, **{k: (*getattr(old, k), *v) for k, v in rows.items()})


def of_a_load(kind: str) -> list[Job]:
    return [j for j in JOBS if j.placement_ids and (j.kind == "stir") == (kind == "stir")]


def turn(name: str, **values: object) -> Plan:
    return plan("turns", name, **values)


def walk(name: str, **values: object) -> Plan:
    return plan("walks", name, **values)


def untrained(*abilities: str) -> Event:
    """Return the event where no cooker needs training, and Ben may do what is given."""
    old = EVENT
    for cooker in ("mirror", "ring"):
        old = edited(old, "cookers", cooker, trained=False)
    for helper in ("ada", "ben", "cam"):
        old = edited(old, "helpers", helper, may=abilities)
    return old


@cache
def is_sound(sample: str) -> bool:
    """Return whether the check finds nothing in a sample's plan before it is damaged."""
    return not check(sample_event(sample), sample_plan(sample))
