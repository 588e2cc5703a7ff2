"""The rule check names every damage done to a good plan."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, time, timedelta

import pytest

from events.model import Break, Event
from events.table import changed
from solver.checking import rules as module
from solver.checking.rules import RULES, check
from solver.plan import CurvePoint, Placement, Plan
from tests.conftest import sample_event, sample_plan
from tests.solver.checking.damage import is_sound

SHIFT = timedelta(minutes=30)
Damage = Callable[[Plan], Plan]


def placement(number: int, **change: object) -> Damage:
    def damage(plan: Plan) -> Plan:
        rows = list(plan.placements)
        rows[number] = changed(rows[number], **change)
        return changed(plan, placements=tuple(rows))

    return damage


def shifted(plan: Plan, number: int, *keys: str, by: timedelta = SHIFT) -> Plan:
    row = plan.placements[number]
    return placement(number, **{k: getattr(row, k) + by for k in keys})(plan)


def without(field: str, test: Callable[[object], bool]) -> Damage:
    def damage(plan: Plan) -> Plan:
        rows = tuple(r for r in getattr(plan, field) if not test(r))
        assert len(rows) < len(getattr(plan, field))
        return changed(plan, **{field: rows})

    return damage


def each(field: str, change: Callable[[object], dict[str, object]]) -> Damage:
    def damage(plan: Plan) -> Plan:
        rows = tuple(changed(r, **change(r)) for r in getattr(plan, field))
        return changed(plan, **{field: rows})

    return damage


def cooled(p: Placement, start: datetime, end: datetime) -> tuple[CurvePoint, ...]:
    """Return a placement's curve with its food at 30 °C between two instants."""
    return tuple(changed(q, core_c=30.0) if start <= q.at <= end else q for q in p.curve)


def under_a_cloud(plan: Plan, name: str) -> Plan:
    """Return the plan made again when a pot is hot through, which then cools until it is done."""
    p = next(p for p in plan.placements if p.id == name)
    hot_at = next(q.at for q in p.curve if q.core_c >= 80.0)
    cool = changed(p, curve=cooled(p, hot_at + timedelta(minutes=1), p.done_at))
    rest = tuple(cool if q.id == name else q for q in plan.placements)
    return changed(plan, placements=rest, replanned_at=hot_at, started_ids=(name,))


# Rule's name, the code of the breach, a sample, and damage to its plan that breaks it.
DAMAGES: list[tuple[str, str, str, Damage]] = [
    # More damage of these stands in test_rota_rules.py and test_contest_rules.py.
    ("the_contest_is_kept", "no-contest", "twelve-pots", lambda plan: changed(plan, contest=None)),
    ("floating_talks_are_kept", "no-talks", "school-rounds", lambda p: changed(p, talks=None)),
    ("the_rota_is_kept", "no-rota", "school-rounds", lambda plan: changed(plan, rota=None)),
    ("names_are_the_events", "unknown-cooker", "harvest-lunch", placement(0, cooker_id="mirror-9")),
    ("every_dish_whole_or_refused", "wrong-portions", "harvest-lunch", placement(0, portions=1)),
    ("every_dish_whole_or_refused", "wrong-mass", "harvest-lunch", placement(0, mass_kg=1.0)),
    (
        "every_dish_whole_or_refused",
        "neither-placed-nor-refused",
        "harvest-lunch",
        without("placements", lambda p: p.dish_id == "rice"),
    ),  # type: ignore[attr-defined]
    (
        "every_dish_whole_or_refused",
        "neither-placed-nor-refused",
        "winter-refusal",
        without("unplaced", lambda u: True),
    ),
    ("pots_hold_their_batches", "pot-too-small", "harvest-lunch", placement(0, pot_id="pot-3l")),
    (
        "pots_hold_their_batches",
        "pot-does-not-fit",
        "harvest-lunch",
        placement(0, pot_id="loaf-tin"),
    ),
    (
        "cookers_suit_their_dishes",
        "cooker-not-for-this-dish",
        "school-day",
        each("placements", lambda p: {"cooker_id": "mirror"}),
    ),
    ("cookers_suit_their_dishes", "wrong-route", "harvest-lunch", placement(0, route="burner")),
    (
        "instants_are_in_order",
        "times-not-in-order",
        "harvest-lunch",
        lambda p: shifted(p, 0, "done_at", by=timedelta(hours=3)),
    ),
    ("instants_are_in_order", "wrong-margin", "harvest-lunch", placement(0, margin_min=99)),
    (
        "served_when_promised",
        "not-served-when-promised",
        "harvest-lunch",
        lambda p: shifted(p, 0, "served_at"),
    ),
    (
        "hours_are_kept",
        "cooker-outside-its-hours",
        "harvest-lunch",
        lambda p: shifted(p, 0, "loaded_at", by=-timedelta(hours=4)),
    ),
    (
        "one_load_at_a_time",
        "cooker-overfull",
        "harvest-lunch",
        each("placements", lambda p: {"cooker_id": "mirror-1"}),
    ),
    (
        "pots_are_stock",
        "too-few-pots",
        "harvest-lunch",
        each("placements", lambda p: {"pot_id": "pot-12l"}),
    ),
    (
        "what_cools_in_progress_is_lost",
        "cooled-but-not-missed",
        "harvest-lunch",
        lambda plan: under_a_cloud(plan, "bean-stew-1"),
    ),
    (
        "hot_food_stays_hot",
        "hot-food-goes-cold",
        "harvest-lunch",
        each("placements", lambda p: {"curve": cooled(p, p.last_plate_at, p.last_plate_at)}),
    ),
    (
        "hot_food_stays_hot",
        "cooled-and-warmed-again",
        "harvest-lunch",
        each("placements", lambda p: {"curve": cooled(p, p.done_at, p.done_at + SHIFT / 2)}),
    ),
    (
        "hot_food_stays_hot",
        "hot-food-goes-cold",
        "harvest-lunch",
        each("placements", lambda p: {"lifted_at": p.loaded_at, "off_at": None}),
    ),
    (
        "hot_food_stays_hot",
        "curve-ends-too-soon",
        "harvest-lunch",
        each("placements", lambda p: {"curve": p.curve[:3]}),
    ),
    (
        "food_is_safe",
        "too-long-between-5-and-60",
        "harvest-lunch",
        each("placements", lambda p: {"between_5_and_60_min": 0, "spent_min": 300}),
    ),
    (
        "served_out_in_its_wave",
        "not-its-last-plate",
        "harvest-lunch",
        lambda p: shifted(p, 0, "last_plate_at", by=-SHIFT),
    ),
    (
        "sun_is_there",
        "no-usable-sun",
        "harvest-lunch",
        each("windows", lambda w: {"stretches": ()}),
    ),
    (
        "food_is_safe",
        "too-long-between-5-and-60",
        "harvest-lunch",
        each("placements", lambda p: {"between_5_and_60_min": 300}),
    ),
    (
        "jobs_have_their_people",
        "job-missing",
        "harvest-lunch",
        without("jobs", lambda j: j.kind == "lift"),
    ),  # type: ignore[attr-defined]
    (
        "jobs_have_their_people",
        "nobody-may-do-it",
        "harvest-lunch",
        each("jobs", lambda j: {"helper_ids": ("wim",)}),
    ),
    (
        "turns_keep_the_sun",
        "turns-too-far-apart",
        "harvest-lunch",
        without("turns", lambda t: t.cooker_id == "mirror-1" and not t.first),
    ),  # type: ignore[attr-defined]
    (
        "turns_keep_the_sun",
        "not-aimed-at-its-start",
        "harvest-lunch",
        without("turns", lambda t: t.first),
    ),  # type: ignore[attr-defined]
    (
        "turns_are_walked",
        "turn-on-wrong-number-of-walks",
        "harvest-lunch",
        lambda p: changed(p, walks=p.walks[1:]),
    ),  # type: ignore[attr-defined]
    (
        "turns_are_walked",
        "may-not-turn",
        "harvest-lunch",
        each("walks", lambda w: {"helper_id": "wim"}),
    ),
    (
        "nobody_is_in_two_places",
        "two-things-at-once",
        "harvest-lunch",
        each("jobs", lambda j: {"minutes": 120}),
    ),
    (
        "nobody_is_in_two_places",
        "outside-their-hours",
        "harvest-lunch",
        each("walks", lambda w: {"at": w.at + timedelta(hours=9)}),
    ),  # type: ignore[attr-defined]
    (
        "talks_get_their_dish",
        "dish-not-at-its-stage",
        "school-day",
        each("placements", lambda p: {"hot_at": p.served_at}),
    ),  # type: ignore[attr-defined]
    *(
        ("the_young_have_light_jobs_only", code, "school-day", damage)
        for code, damage in (
            ("not-for-the-young", each("walks", lambda w: {"helper_id": "mina"})),
            (
                "not-for-the-young",
                each("jobs", lambda j: {"helper_ids": ("mina",)} if j.kind == "lift" else {}),
            ),
            (
                "no-adult-beside-the-young",
                each("jobs", lambda j: {"helper_ids": ("mina",)} if j.kind == "wash-up" else {}),
            ),
        )
    ),
    (
        "visitors_are_greeted_when_they_come",
        "nobody-to-greet",
        "school-day",
        each("jobs", lambda j: {"kind": "greet"} if j.kind == "wash-up" else {}),
    ),  # type: ignore[attr-defined]
    (
        "packing_waits_for_the_last_meal",
        "packed-before-the-last-meal",
        "school-day",
        each("jobs", lambda j: {"at": j.at - timedelta(hours=3)} if j.kind == "pack-down" else {}),
    ),  # type: ignore[attr-defined]
    (
        "levels_are_what_they_say",
        "wrong-level",
        "harvest-lunch",
        each("levels", lambda v: {"value": v.value + 1}),
    ),  # type: ignore[attr-defined]
]


def everyone(**change: object) -> Callable[[Event], Event]:
    def other(event: Event) -> Event:
        rows = tuple(changed(h, **change) for h in event.helpers)
        return changed(event, helpers=rows)

    return other


def one(field: str, name: str, **change: object) -> Callable[[Event], Event]:
    def other(event: Event) -> Event:
        rows = tuple(changed(r, **change) if r.id == name else r for r in getattr(event, field))
        return changed(event, **{field: rows})

    return other


# Rule's name, an event for which the harvest lunch's plan would be wrong, code and ids.
OTHERS: list[tuple[str, Callable[[Event], Event], str, set[str]]] = [
    (
        "mirrors_are_watched",
        everyone(adult=False),
        "mirror-not-watched",
        {"bean-stew-1", "mirror-1"},
    ),
    (
        "food_is_safe",
        one("dishes", "bean-stew", kidney_beans="raw", done="boil", hold_min=29),
        "kidney-beans-not-boiled",
        {"bean-stew-1"},
    ),
    (
        "food_is_safe",
        lambda event: changed(
            one("dishes", "bean-stew", kidney_beans="raw", done="boil", hold_min=30)(event),
            site=changed(event.site, altitude_m=1500),
        ),
        "boil-too-cool-for-beans",
        {"bean-stew-1"},
    ),
    (
        "helpers_have_their_breaks",
        everyone(breaks=(Break(at=time(8, 30), minutes=180),)),
        "work-in-a-break",
        {"asta"},
    ),
    (
        "wishes_are_kept",
        one("dishes", "rice", load_at=time(7, 5)),
        "held-at-another-time",
        {"rice-1"},
    ),
    (
        "attended_cookers_are_attended",
        one("cookers", "mirror-1", attended=True),
        "cooker-not-attended",
        {"mirror-1"},
    ),
]


def only(rule: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave one rule: it alone must speak up."""
    monkeypatch.setattr(module, "RULES", [r for r in RULES if r.__name__ == rule])


@pytest.mark.parametrize(("rule", "code", "sample", "damage"), DAMAGES)
def test_a_damaged_plan_is_named(
    rule: str, code: str, sample: str, damage: Damage, monkeypatch: pytest.MonkeyPatch
) -> None:
    event, plan = sample_event(sample), sample_plan(sample)
    spoiled = damage(plan)

    assert is_sound(sample)
    if rule != "names_are_the_events":
        only(rule, monkeypatch)
    assert code in {breach.rule for breach in check(event, spoiled)}


@pytest.mark.parametrize(("rule", "other", "code", "ids"), OTHERS)
def test_a_plan_for_another_event_is_named(
    rule: str,
    other: Callable[[Event], Event],
    code: str,
    ids: set[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    assert is_sound("harvest-lunch")
    only(rule, monkeypatch)

    assert any(b.rule == code and ids <= set(b.ids) for b in check(other(event), plan))


@pytest.mark.parametrize("rule", RULES, ids=lambda r: r.__name__)
def test_every_rule_has_a_plan_that_breaks_it(rule: Callable[..., object]) -> None:
    """So no rule can be taken away without one of the two tests above failing."""
    assert rule.__name__ in {r for r, *_ in (*DAMAGES, *OTHERS)}
