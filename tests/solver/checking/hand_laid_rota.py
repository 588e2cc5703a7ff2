"""Two groups that go round on the hand-laid day, by hand: the rota keeps every rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import time

from events.model import Event, Group, Helper, Rota, Stop
from events.table import changed
from solver.checking import rota_rules
from solver.checking.breach import Breach
from solver.checking.context import Case
from solver.plan import Plan
from solver.programme import GroupPause, RotaLevel, RotaPlan, Sight, Visit
from tests.solver.checking.damage import case
from tests.solver.checking.hand_laid import EVENT, PLAN, at

ROUND = changed(
    EVENT,
    helpers=(
        *EVENT.helpers,
        Helper(id="dan", name="Dan", start=time(8), end=time(16)),
        Helper(id="eve", name="Eve", start=time(8), end=time(16)),
    ),
    rota=Rota(
        start=time(10),
        end=time(12),
        visit_min=20,
        walk_m_min=60,
        walk_min_least=5,
        pause_min=10,
        pause_from=time(10, 30),
        pause_until=time(11, 30),
    ),
    groups=(
        Group(id="red", name="Red", people=12, young=True, adult="eve"),
        Group(id="blue", name="Blue", people=10),
    ),
    stops=(
        Stop(
            id="focus",
            name="At the mirror",
            x_m=0.0,
            y_m=0.0,
            cookers=("mirror",),
            sees=("loading", "turn", "first-steam", "lifted", "lid-opened", "boil"),
            people_max=12,
        ),
        Stop(
            id="glass",
            name="At the box",
            x_m=300.0,
            y_m=0.0,
            cookers=("box",),
            sees=("over-100", "turn"),
            ready_min=5,
        ),
        Stop(id="build", name="Building", x_m=0.0, y_m=30.0, guide="dan"),
    ),
)


def visit(group: str, stop: str, clock: str, walk_m: int, *sees: tuple[str, str, str]) -> Visit:
    sights = [Sight.model_validate({"moment": m, "cooker_id": c, "at": at(t)}) for m, c, t in sees]
    return Visit(
        group_id=group, stop_id=stop, at=at(clock), minutes=20, walk_m=walk_m, sees=tuple(sights)
    )


RED = (
    visit("red", "focus", "10:25", 0, ("loading", "mirror", "10:30")),
    visit("red", "glass", "10:55", 300, ("over-100", "box", "11:00")),
    visit("red", "build", "11:40", 302),  # 301.5 m, straight
)
BLUE = (
    visit("blue", "build", "10:00", 0),
    visit("blue", "glass", "10:30", 302, ("over-100", "box", "10:40")),
    visit("blue", "focus", "11:10", 300, ("first-steam", "mirror", "11:22")),
)
PAUSES = (
    GroupPause(group_id="blue", at=at("10:50"), minutes=10),
    GroupPause(group_id="red", at=at("11:15"), minutes=10),
)


def level(key: str, value: int) -> RotaLevel:
    return RotaLevel.model_validate({"key": key, "value": value, "bound": value, "proven": True})


ROTA = RotaPlan(
    visits=tuple(sorted((*RED, *BLUE), key=lambda v: v.at)),
    pauses=PAUSES,
    levels=(level("unseen", 0), level("end", 12 * 60), level("waiting", 25 + 20)),
)
Rule = Callable[[Case, RotaPlan], Iterator[Breach]]


def said(rule: Rule, rota: RotaPlan = ROTA, event: Event = ROUND, old: Plan = PLAN) -> list[Breach]:
    return list(rule(case(changed(old, rota=rota), event), rota))


def other(old: Visit, **values: object) -> RotaPlan:
    return changed(ROTA, visits=tuple(changed(v, **values) if v == old else v for v in ROTA.visits))


def without(*gone: Visit) -> RotaPlan:
    return changed(ROTA, visits=tuple(v for v in ROTA.visits if v not in gone))


def rests(old: GroupPause, **values: object) -> RotaPlan:
    return changed(ROTA, pauses=tuple(changed(p, **values) if p == old else p for p in PAUSES))


def round_of(**values: object) -> Event:
    return changed(ROUND, rota=changed(ROUND.rota, **values))


def whole(rota: RotaPlan | None, event: Event = ROUND) -> list[Breach]:
    return list(rota_rules.the_rota_is_kept(case(changed(PLAN, rota=rota), event)))
