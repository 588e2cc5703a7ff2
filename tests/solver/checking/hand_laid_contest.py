"""Two entries that are tasted on the hand-laid day, by hand: the contest keeps every rule."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from datetime import time, timedelta

from events.contest import Contest, ContestCooker, Entry, Judge, Team
from events.model import Event, Helper
from events.site import Station
from events.table import changed
from solver.checking import contest_rules
from solver.checking.breach import Breach
from solver.checking.contest_rules import _Held
from solver.contest_plan import (
    ContestLevel,
    ContestPlan,
    Draw,
    DrawnPlace,
    EntrySun,
    JudgeAt,
    Tasting,
)
from solver.plan import Plan, SunStep
from tests.solver.checking.damage import case
from tests.solver.checking.hand_laid import EVENT, PLAN, at, minutes

SEED = "417 263 558"


def cooker(name: str, team: str | None = None) -> ContestCooker:
    return ContestCooker(id=name, name=name, kind="panel", aperture_m2=0.5, litres=5.0, team=team)


def entry(name: str, team: str, **values: object) -> Entry:
    dish = changed(EVENT.dish("soup"), id=name, name="Soup", allergens_checked=True)
    return Entry.model_validate({"id": name, "name": name, "team": team, "dish": dish, **values})


COOK_OFF = changed(
    EVENT,
    helpers=(*EVENT.helpers, Helper(id="dan", name="Dan", start=time(8), end=time(16))),
    stations=(
        *EVENT.stations,
        Station(id="north", name="North", x_m=0.0, y_m=10.0),
        Station(id="south", name="South", x_m=0.0, y_m=-10.0),
    ),
    contest=Contest(
        minutes=10,
        start=time(14),
        end=time(15),
        stations=("north", "south"),
        seed=SEED,
        runner="dan",
    ),
    teams=(Team(id="larks", name="Larks", people=3), Team(id="wrens", name="Wrens", people=3)),
    entries=(entry("one", "larks"), entry("two", "wrens")),
    contest_cookers=(cooker("lent-1"), cooker("lent-2"), cooker("own", "larks")),
    judges=(
        Judge(id="ivo", name="Ivo", start=time(14), end=time(14, 20)),
        Judge(id="una", name="Una", start=time(13), end=time(16)),
    ),
)


def lot(table: str, *ids: str) -> list[str]:
    """Return ids in the order of the lot, as `printf 'seed\\ntable\\nid' | sha256sum` has it."""
    return sorted(ids, key=lambda i: hashlib.sha256(f"{SEED}\n{table}\n{i}".encode()).hexdigest())


ORDER = lot("entries", "one", "two")
PLACES = dict(zip(ORDER, lot("places", "north", "south"), strict=True))
LENT = dict(zip(ORDER, lot("cookers", "lent-1", "lent-2"), strict=True))


def drawn(name: str, **values: object) -> DrawnPlace:
    row = {"station_id": PLACES[name], "cooker_id": LENT[name], "turn": 1, "cooker_turn": 1}
    return DrawnPlace.model_validate({"entry_id": name, **row, **values})


def middles(clock: str, dips: dict[str, float] | None = None) -> tuple[float, ...]:
    """Return a middle loaded at 11:30 at 20 °C, at 75 °C by 13:20, to a tasting of ten minutes."""
    until = int((at(clock) - at("11:30")).total_seconds()) // 600 + 1
    warm = [min(20.0 + 5 * n, 80.0) for n in range(until + 1)]
    for moment, degrees in (dips or {}).items():
        warm[int((at(moment) - at("11:30")).total_seconds()) // 600] = degrees
    return tuple(warm)


def tasting(name: str, clock: str, **values: object) -> Tasting:
    row: dict[str, object] = {
        "entry_id": name,
        "cooker_id": LENT[name],
        "pot_id": "pot",
        "lane": 0,
        "cook_from": at(clock) - timedelta(hours=3),
        "loaded_at": at("11:30"),
        "ready_at": at("13:30"),
        "cautious_at": at("13:50"),
        "at": at(clock),
        "minutes": 10,
        "judges": (JudgeAt(judge_id="ivo", at=at(clock)), JudgeAt(judge_id="una", at=at(clock))),
        "of_100": 90,
        "chosen_of_100": 80,
        "held_min": 40,
        "coolest_c": 70.0,
        "middle_c": middles(clock),
        "between_5_and_60_min": 60,
    }
    return Tasting.model_validate(row | values)


ONE = tasting("one", "14:00")
TWO = tasting("two", "14:10", held_min=50, chosen_of_100=75)
LISTS = "one\ntwo\n\nnorth\nsouth\n\nlent-1\nlent-2\n"


def level(key: str, value: int) -> ContestLevel:
    return ContestLevel.model_validate({"key": key, "value": value, "bound": value, "proven": True})


SHOW = ContestPlan(
    left_out=(),
    lists_sha256=hashlib.sha256(LISTS.encode()).hexdigest(),
    draw=Draw(seed=SEED, places=(drawn("one"), drawn("two"))),
    tastings=(ONE, TWO),
    sun=(
        EntrySun(entry_id="one", sun_min=180, water_min=None),
        EntrySun(entry_id="two", sun_min=180, water_min=None),
    ),
    not_tasted=(),
    levels=(
        level("left-out", 0),
        level("unsure", 1),  # 75 of 100, where 80 are wanted
        level("difference", 0),
        level("longest-held", 50),
        level("held", 90),
    ),
)
SUN = tuple(
    SunStep(
        at=at("10:00") + minutes(10 * n),
        beam_w_m2=700.0,
        clear_w_m2=700.0,
        elevation_deg=40.0,
        azimuth_deg=180.0,
        blocked=False,
    )
    for n in range(30)
)
DAY = changed(PLAN, sun=SUN)
Rule = Callable[[_Held, Draw], Iterator[Breach]]


def said(
    rule: Rule, show: ContestPlan = SHOW, event: Event = COOK_OFF, old: Plan = DAY
) -> list[Breach]:
    assert event.contest is not None
    assert show.draw is not None
    held = _Held(case(changed(old, contest=show), event), event.contest, show)
    return list(rule(held, show.draw))


def whole(show: ContestPlan | None, event: Event = COOK_OFF) -> list[Breach]:
    return list(contest_rules.the_contest_is_kept(case(changed(DAY, contest=show), event)))


def first(**values: object) -> ContestPlan:
    return changed(SHOW, tastings=(changed(ONE, **values), TWO))


def second(**values: object) -> ContestPlan:
    return changed(SHOW, tastings=(ONE, changed(TWO, **values)))


def rules(**values: object) -> Event:
    assert COOK_OFF.contest is not None
    return changed(COOK_OFF, contest=changed(COOK_OFF.contest, **values))


def places(*some: DrawnPlace, **values: object) -> ContestPlan:
    return changed(SHOW, draw=Draw(seed=SEED, places=some), **values)


BEGUN = changed(DAY, replanned_at=at("14:00"))  # the first tasting has begun
