"""Planning again: what has begun goes on, nothing changes without need, every plan is checked."""

from __future__ import annotations

import itertools
from datetime import timedelta

import numpy as np
import pytest

from events.diary import Entry, StoredEntry
from events.errors import FaultyEvent
from events.model import Event
from events.reading.event_file import read_table
from events.table import changed
from solver.live.pots import pot_statuses
from solver.live.replan import replan
from solver.live.status import day_status
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

pytestmark = pytest.mark.slow

NAME = "harvest-lunch"


def again(clock: str, *presses: tuple[str, str, dict[str, object]]) -> Plan:
    event = sample_event(NAME)
    return replan(event, sample_plan(NAME), pressed(event, *presses), local(event, clock))


def test_a_day_that_goes_as_planned_changes_nothing() -> None:
    old = sample_plan(NAME)

    new = again("10:00")

    assert new.pot_changes == ()
    # Its oven is followed from the loading on: a loaf may be probed a slot sooner.
    assert {c.job for c in new.work_changes} <= {"probe"}
    assert new.replanned_at == local(sample_event(NAME), "10:00")
    assert {p.id: (p.cooker_id, p.loaded_at) for p in new.placements} == {
        p.id: (p.cooker_id, p.loaded_at) for p in old.placements
    }
    assert {j.id for j in old.jobs if j.at <= new.replanned_at} <= {j.id for j in new.jobs}


def test_the_same_day_gives_the_same_new_plan() -> None:
    presses = [("cloud", "10:05", {}), ("out-of-action", "10:10", {"cooker_id": "mirror-2"})]

    assert again("10:20", *presses) == again("10:20", *presses)


def test_a_broken_mirror_loses_no_dish_and_its_pot_goes_on_elsewhere() -> None:
    new = again("10:00", ("out-of-action", "09:50", {"cooker_id": "mirror-1"}))

    at = local(sample_event(NAME), "10:00")
    assert not new.unplaced
    assert not [p for p in new.placements if p.cooker_id == "mirror-1" and p.lifted_at > at]
    assert "bean-stew" in {c.food.dish_id for c in new.pot_changes}


def test_a_helper_who_has_gone_is_asked_for_nothing_more() -> None:
    new = again("10:00", ("gone", "09:50", {"helper_id": "bo"}))

    at = local(sample_event(NAME), "10:00")
    assert not new.unplaced
    assert not [j for j in new.jobs if "bo" in j.helper_ids and j.at > at and j.kind != "talk"]
    assert not [w for w in new.walks if w.helper_id == "bo" and w.at > at]
    assert {c.kind for c in new.work_changes if c.helper_id == "bo"} == {"dropped"}


def test_a_gust_parks_the_mirrors_and_gas_takes_over_where_it_is_cheap() -> None:
    event = changed(sample_event(NAME), gas_price_dishes_h=0.0)

    entries = pressed(event, ("parked", "10:20", {}))
    new = replan(event, make_plan(event), entries, local(event, "10:30"))

    assert "gas-ring" in {p.then_cooker_id or p.cooker_id for p in new.placements}


def test_what_is_served_or_thrown_away_is_planned_no_more() -> None:
    new = again("11:00", ("discarded", "10:40", {"placement_id": "plum-compote-1"}))

    assert "plum-compote" not in {p.dish_id for p in new.placements}
    assert "plum-compote" not in {u.dish_id for u in new.unplaced}


def test_a_cold_pot_goes_to_the_ring_before_it_is_late() -> None:
    event = less(sample_event(NAME), "dishes", "rice")  # the ring is free
    cold: dict[str, object] = {"placement_id": "bean-stew-1", "core_c": 60.0}

    new = replan(
        event, make_plan(event), pressed(event, ("probed", "10:55", cold)), local(event, "11:00")
    )

    stew = next(p for p in new.placements if p.id == "bean-stew-1")
    assert stew.route == "sun+burner"
    assert stew.then_cooker_id == "gas-ring"
    assert stew.done_at <= stew.promised_at


def test_planning_again_and_again_keeps_what_has_begun() -> None:
    event = sample_event(NAME)
    first = again("10:00", ("out-of-action", "09:50", {"cooker_id": "mirror-1"}))
    entries = pressed(event, ("out-of-action", "09:50", {"cooker_id": "mirror-1"}))

    second = replan(event, first, entries, local(event, "11:30"))

    there = {p.id: (p.cooker_id, p.loaded_at) for p in first.placements}
    assert set(there) == {p.id for p in second.placements}
    assert all(there[p.id] == (p.cooker_id, p.loaded_at) for p in second.placements)


MORE_DIARIES = [pytest.param(seed, marks=pytest.mark.slow) for seed in range(4, 8)]


@pytest.mark.parametrize("seed", [*range(4), *MORE_DIARIES])
def test_any_diary_gives_a_plan_that_passes_its_own_checks(seed: int) -> None:
    name = ("harvest-lunch", "school-day")[seed % 2]
    event, plan = sample_event(name), sample_plan(name)
    luck = np.random.default_rng(seed)
    first = min(p.loaded_at for p in plan.placements)
    last = max(p.served_at for p in plan.placements)
    now = first + timedelta(minutes=int(luck.integers(0, (last - first).seconds // 60)))
    entries: list[StoredEntry] = []

    def put(kind: str, **fields: object) -> None:
        made = {"id": f"press-{len(entries):06d}", "kind": kind, "at": now} | fields
        entry = Entry.model_validate(made)
        entries.append(
            StoredEntry(entry=entry, received_at=now, happened_at=entry.at, number=len(entries) + 1)
        )

    for p in plan.placements:
        if p.loaded_at < now and luck.random() < 0.5:
            put("probed", placement_id=p.id, core_c=float(luck.integers(30, 99)))
        if p.loaded_at < now and luck.random() < 0.1:
            put("to-burner", placement_id=p.id)
    for kind, fields in (
        ("out-of-action", {"cooker_id": event.cookers[int(luck.integers(len(event.cookers)))].id}),
        ("gone", {"helper_id": event.helpers[int(luck.integers(len(event.helpers)))].id}),
        ("parked", {}),
        ("cloud", {}),
    ):
        if luck.random() < 0.3:
            put(kind, **fields)

    assert replan(event, plan, entries, now).replanned_at is not None


def test_a_pot_out_of_a_broken_cooker_keeps_its_minutes_between_5_and_60() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)
    entries = pressed(event, ("out-of-action", "10:25", {"cooker_id": "mirror-1"}))
    stands = day_status(event, plan, entries, local(event, "10:30"))
    before = stands.day.replan.spent_min["bean-stew-1"]

    new = replan(event, plan, entries, local(event, "10:30"))

    stew = next(p for p in new.placements if p.id == "bean-stew-1")
    assert before > 20
    assert stew.between_5_and_60_min >= round(before)


def test_a_helper_taken_out_of_the_event_in_the_middle_of_the_day_breaks_no_plan() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)
    fewer = changed(
        event,
        helpers=tuple(h for h in event.helpers if h.id != "wim"),
        talks=tuple(changed(t, speaker=None) for t in event.talks),
    )

    new = replan(fewer, plan, [], local(event, "10:30"))

    assert not new.unplaced
    assert "wim" not in {h for j in new.jobs for h in j.helper_ids}


def two_in_a_box(rings: int) -> Event:
    """Return an event whose two dishes are best put into one box together."""
    return read_table(
        {
            "format": 1,
            "title": "Two in a box",
            "gas_price_dishes_h": 2.0,
            "date": "2027-06-20",
            "site": {
                "latitude_deg": 40.0,
                "longitude_deg": 0.5,
                "opens": "08:00",
                "closes": "16:00",
            },
            "weather": {"hours": [{"start": "08:00", "cloud_pct": 5, "air_c": 24}]},
            "cooker": [{"id": "box", "like": "box-large", "name": "Box"}]
            + [
                {"id": f"ring-{n}", "like": "gas-ring", "name": f"Ring {n}"}
                for n in range(1, rings + 1)
            ],
            "pot": [{"id": p, "like": p, "count": 2} for p in ("pot-3l", "pot-5l")],
            "meal": [
                {"id": "m", "name": "Lunch", "from": "14:30", "until": "15:00", "portions": 8}
            ],
            "dish": [
                {"id": name, "like": like, "name": name, "meal": "m", "portions": 4, "priority": n}
                for n, name, like in ((7, "curry", "vegetable-curry"), (5, "soup", "lentil-soup"))
            ],
            "helper": [
                {
                    "id": name,
                    "name": name,
                    "from": "07:30",
                    "until": "16:00",
                    "may": ["mirrors", "burner", "lift"],
                }
                for name in ("ada", "bo")
            ],
        },
        source="two in a box",
    )


@pytest.mark.parametrize("rings", [1, 2])
def test_pots_of_one_load_may_leave_it_for_a_ring_one_by_one(rings: int) -> None:
    event = two_in_a_box(rings)
    plan = make_plan(event)
    assert len({p.fill for p in plan.placements}) == 1
    cold: dict[str, object] = {"core_c": 40.0}
    entries = pressed(
        event,
        ("probed", "13:20", {"placement_id": "curry-1"} | cold),
        ("probed", "13:20", {"placement_id": "soup-1"} | cold),
    )

    new = replan(changed(event, gas_price_dishes_h=0.1), plan, entries, local(event, "13:30"))

    on = {p.id: p.then_cooker_id for p in new.placements}
    assert set(on) == {"curry-1", "soup-1"}
    if rings == 2:
        assert set(on.values()) == {"ring-1", "ring-2"}
        assert all(p.done_at <= p.promised_at for p in new.placements)
    else:
        assert sorted(map(str, on.values())) == ["None", "ring-1"]
    # What it still has to cook is walked on from where it stands, not begun anew.
    stays = {
        p.placement_id: p for p in pot_statuses(day_status(event, plan, entries, new.replanned_at))
    }
    for p in new.placements:
        assert p.between_5_and_60_min >= stays[p.id].clock_min
    assert all(
        p.gas_by is not None
        for p in pot_statuses(day_status(event, plan, [], plan.placements[0].hot_at))
    )


def test_a_day_is_planned_again_when_one_pot_of_a_load_has_left_it_for_a_ring() -> None:
    event = two_in_a_box(1)
    plan = make_plan(event)
    assert len({p.fill for p in plan.placements}) == 1
    entries = pressed(event, ("to-burner", "13:20", {"placement_id": "curry-1"}))

    new = replan(event, plan, entries, local(event, "13:30"))

    assert {p.id: p.then_cooker_id for p in new.placements} == {"curry-1": "ring-1", "soup-1": None}
    assert [chance.meal_id for chance in new.if_kept] == ["m"]


def test_no_pot_is_to_be_saved_on_a_ring_that_is_out_of_action() -> None:
    assert again("09:00").rescues

    assert again("09:00", ("out-of-action", "08:50", {"cooker_id": "gas-ring"})).rescues == ()


def test_a_pot_that_was_moved_to_a_ring_is_colder_by_the_move() -> None:
    event = sample_event(NAME)
    at = local(event, "10:20")
    press = {"placement_id": "beetroot-1"}

    stays = day_status(event, sample_plan(NAME), [], at)
    moved = day_status(event, sample_plan(NAME), pressed(event, ("to-burner", "10:20", press)), at)

    before, after = (
        next(p for p in pot_statuses(day) if p.placement_id == "beetroot-1")
        for day in (stays, moved)
    )
    assert before.core_c - 5 < after.core_c < before.core_c


def test_a_pot_between_two_cookers_is_still_warm_when_the_day_is_planned_once_more() -> None:
    event = sample_event(NAME)
    entries = pressed(event, ("out-of-action", "10:25", {"cooker_id": "mirror-1"}))
    first = replan(event, sample_plan(NAME), entries, local(event, "10:30"))
    stew = next(p for p in first.placements if p.id == "bean-stew-1")
    assert stew.loaded_at > local(event, "10:31")

    second = replan(event, first, entries, local(event, "10:31"))
    later = replan(event, first, entries, stew.loaded_at + timedelta(minutes=30))

    for new in (second, later):
        now = next(p for p in new.placements if p.id == "bean-stew-1")
        assert now.spent_min == stew.spent_min > 20
        assert now.between_5_and_60_min >= now.spent_min
        assert now.curve[0].core_c == pytest.approx(stew.curve[0].core_c, abs=1.0)


def less(event: Event, field: str, name: str) -> Event:
    rows = tuple(r for r in getattr(event, field) if r.id != name)
    return changed(event, **{field: rows})


@pytest.mark.parametrize(
    ("field", "name", "kind"),
    [
        ("cookers", "mirror-1", "cooker-has-food"),
        ("pots", "pot-12l", "pot-has-food"),
        ("dishes", "bean-stew", "dish-is-cooking"),
    ],
)
def test_what_food_is_in_today_may_not_leave_the_event(field: str, name: str, kind: str) -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)

    with pytest.raises(FaultyEvent) as refusal:
        replan(less(event, field, name), plan, [], local(event, "10:30"))

    begun = min(p.loaded_at for p in plan.placements if p.dish_id == "bean-stew")
    first = min(refusal.value.faults, key=lambda f: f.figures["since"])
    assert (first.kind, first.key) == (kind, name)
    assert first.figures["since"] == begun.astimezone(event.zone).time()


@pytest.mark.parametrize(
    ("field", "name"),
    [("cookers", "mirror-1"), ("pots", "pot-12l"), ("dishes", "bean-stew"), ("talks", "sun-talk")],
)
def test_what_is_not_in_use_yet_may_leave_the_event(field: str, name: str) -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)

    new = replan(less(event, field, name), plan, [], local(event, "07:45"))

    used = {p.cooker_id for p in new.placements} | {p.pot_id for p in new.placements}
    assert name not in used | {p.dish_id for p in new.placements}
    assert new.placements


def test_a_cooker_that_was_tipped_over_stays_over_when_the_day_is_planned_again() -> None:
    """Its card went over with it: a plan that forgot the tip would say 6 o'clock for 12."""
    event, plan = sample_event(NAME), sample_plan(NAME)
    before, after = next(
        (a, b)
        for a, b in itertools.pairwise(sorted(plan.turns, key=lambda t: (t.cooker_id, t.at)))
        if a.cooker_id == b.cooker_id and not b.first and b.at - a.at > timedelta(minutes=10)
    )
    turns = tuple(changed(t, over=True) if t.id == before.id else t for t in plan.turns)

    at = before.at + timedelta(minutes=5)
    again = [replan(event, p, (), at).turns for p in (changed(plan, turns=turns), plan)]
    new, same = (next(t for t in found if t.id == after.id) for found in again)

    assert new.over
    assert not same.over
    assert new.clock_hour is not None
    assert same.clock_hour is not None
    assert (new.clock_hour - same.clock_hour) % 12 == 6
