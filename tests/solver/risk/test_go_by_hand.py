"""Go or not, and the whole menu on gas, from a plan and its chances laid by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.kitchen import Before
from events.model import Event
from events.table import changed
from solver.plan import DishChance, GasDay, Plan, Risk
from solver.risk import gas
from solver.risk.decision import GoDecision, decide
from solver.risk.gas import RingUse, flame_w, gas_day
from solver.simulation.day import make_day
from tests.solver.checking.damage import edited, place
from tests.solver.checking.hand_laid import EVENT, PLAN, at, minutes

# Without the stew the others come on 70 days of a hundred, without rice too on 85.
WITHOUT = (("stew", 70), ("rice", 85), ("lentils", 90))
RISK = Risk(
    runs=200,
    all_of_100=60,
    without=tuple(DishChance(dish_id=d, of_100=n) for d, n in WITHOUT),
    dishes=(),
    meals=(),
    weakest_cooker_id="mirror",
    dishes_on_time=4.0,
)
WHOLE = changed(PLAN, risk=RISK, unplaced=())


def told(wanted: int, plan: Plan = WHOLE, **event: object) -> GoDecision:
    return decide(changed(EVENT, chance_pct=wanted, **event), plan)


@pytest.mark.parametrize(
    ("wanted", "outcome", "steps"),
    [
        (50, "go", []),
        (60, "go", []),
        (61, "fewer-dishes", ["stew"]),
        (70, "fewer-dishes", ["stew"]),
        (71, "gas-day", ["stew", "rice"]),  # bread and lentils are left of six dishes
        (95, "gas-day", ["stew", "rice", "lentils"]),
    ],
)
def test_dishes_are_given_up_until_the_others_are_sure_enough(
    wanted: int, outcome: str, steps: list[str]
) -> None:
    found = told(wanted, gas_day_under_pct=50)

    assert (found.outcome, [s.dish_id for s in found.steps]) == (outcome, steps)
    assert (found.of_100, found.wanted_of_100) == (60, wanted)


@pytest.mark.parametrize(("under", "outcome"), [(50, "go"), (66, "go"), (67, "gas-day")])
def test_where_too_few_dishes_are_left_to_the_sun_it_is_a_gas_day(under: int, outcome: str) -> None:
    """Stew in a hay box, rice, lentils and bread are by the sun, of six; the tea is not."""
    assert told(50, gas_day_under_pct=under).outcome == outcome


def test_what_has_no_place_makes_it_fewer_dishes_and_without_a_forecast_nothing_is_said() -> None:
    assert told(50, changed(PLAN, risk=RISK), gas_day_under_pct=50).outcome == "fewer-dishes"
    blind = told(50, changed(WHOLE, risk=None))
    assert (blind.outcome, blind.of_100, blind.steps) == (None, None, ())
    sure = changed(WHOLE, risk=changed(RISK, all_of_100=40, without=()))
    assert told(50, sure, gas_day_under_pct=50).outcome == "gas-day"


@pytest.mark.parametrize(
    ("event", "not_on_gas", "remedy"),
    [
        (EVENT, (), "gas"),
        (EVENT, ("stew",), "leave-out"),
        (edited(EVENT, "dishes", "stew", instead="Bread and cheese"), ("stew",), "replace"),
        (edited(EVENT, "dishes", "stew", instead="Bread and cheese"), (), "gas"),
        (changed(EVENT, cookers=EVENT.cookers[:3]), (), "leave-out"),  # there is no ring
    ],
)
def test_a_dish_goes_to_gas_where_it_can_else_it_is_replaced_or_left_out(
    event: Event, not_on_gas: tuple[str, ...], remedy: str
) -> None:
    plan = changed(WHOLE, gas_day=changed(PLAN.gas_day, not_on_gas=not_on_gas))

    (step,) = decide(changed(event, chance_pct=65), plan).steps

    assert (step.dish_id, step.remedy, step.of_100) == ("stew", remedy, 70)


def test_the_forecast_is_looked_at_three_times_and_tasks_end_when_a_dish_is_loaded() -> None:
    """Half an hour of soaking, an hour of rising with ten minutes of hands: then it is loaded."""
    before = (
        Before(what="Soak", minutes=30, hands_min=0),
        Before(what="Rise", minutes=60, hands_min=10),
    )
    event = edited(EVENT, "dishes", "bread", before=before, load_min=5)

    deadlines = {d.task or d.kind: d.at for d in decide(event, WHOLE).deadlines}

    preheated = at("08:30") - minutes(5)  # its oven stands on the sun from then
    assert deadlines["Rise"] == preheated - minutes(70)
    assert deadlines["Soak"] == preheated - minutes(100)
    assert deadlines["last-look"] == at("07:00")
    assert deadlines["second-look"] == at("18:00") - timedelta(days=1)
    assert deadlines["first-look"] == at("18:00") - timedelta(days=3)
    first = edited(EVENT, "dishes", "stew", before=before[:1], load_min=5)
    soak = next(d.at for d in decide(first, WHOLE).deadlines if d.task)
    assert soak == at("09:00") - minutes(35)  # the first of its two pots
    gone = changed(WHOLE, placements=place("tea-1").placements[5:])
    assert not [d for d in decide(first, gone).deadlines if d.task]


# --- the whole menu on gas


def on_gas(monkeypatch: pytest.MonkeyPatch, *uses: tuple[str, int, int]) -> GasDay:
    by_dish: dict[str, list[RingUse]] = {}
    for dish, start, end in uses:
        by_dish.setdefault(dish, []).append(RingUse(dish, start, end))
    monkeypatch.setattr(gas, "_uses", lambda day, ring: by_dish)
    return gas_day(make_day(EVENT))


def test_rings_are_as_many_as_pots_at_once_and_gas_is_by_the_hour(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """2500 W for an hour are 9 MJ; a kilogram of gas has 46."""
    after = on_gas(monkeypatch, ("stew", 600, 630), ("rice", 630, 660))
    assert (after.rings, after.gas_kg) == (1, 0.2)
    beside = on_gas(monkeypatch, ("stew", 600, 631), ("rice", 630, 660))
    assert beside.rings == 2
    assert after.not_on_gas == ("lentils", "bread", "tea", "soup")
    assert [(s.dish_id, s.minutes) for s in after.steps] == [("stew", 30), ("rice", 30)]


def test_a_ring_gives_a_pot_what_its_flame_wins() -> None:
    assert flame_w(changed(EVENT.cooker("ring"), optical_efficiency=0.45)) == 1125.0


def test_a_dish_is_ready_on_gas_so_long_before_it_is_served_as_it_rests() -> None:
    plain = gas_day(make_day(EVENT))
    rested = gas_day(make_day(edited(EVENT, "dishes", "rice", rest_min=20)))

    def rice(told: GasDay) -> list[tuple[object, int]]:
        return [(s.at + minutes(s.minutes), s.minutes) for s in told.steps if s.dish_id == "rice"]

    assert {end for end, _ in rice(plain)} <= {at("12:00"), at("12:30")}
    for (before, long), (after, same) in zip(rice(plain), rice(rested), strict=True):
        assert (before - after, long) == (minutes(20), same)  # type: ignore[operator]


def test_what_needs_an_oven_or_suits_no_flame_is_not_on_gas() -> None:
    event = edited(EVENT, "dishes", "rice", kinds=("box",))

    found = gas_day(make_day(event))

    assert {"bread", "rice"} <= set(found.not_on_gas)
    oven = edited(EVENT, "dishes", "bread", kinds=("box", "burner"), shape="pieces")
    assert "bread" in gas_day(make_day(oven)).not_on_gas


def test_a_dish_is_cut_for_gas_in_as_many_pots_as_it_may_be() -> None:
    """Eighteen kilograms of lentils, at most four litres a pot: five pots, if it may be cut so."""
    large = edited(EVENT, "dishes", "lentils", portions=120, batches_max=6)
    few = edited(large, "dishes", "lentils", batches_max=4)

    assert sum(s.dish_id == "lentils" for s in gas_day(make_day(large)).steps) == 5
    assert "lentils" in gas_day(make_day(few)).not_on_gas
    five = edited(large, "dishes", "lentils", batches_max=5)
    assert "lentils" not in gas_day(make_day(five)).not_on_gas
