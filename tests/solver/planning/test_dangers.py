"""Days on which a dish would hurt who eats it: each is refused, or warned of, by its own name."""

from __future__ import annotations

from datetime import date, time

import pytest

from events.errors import FaultyEvent
from events.model import Event
from events.reading.event_file import read_event
from events.table import changed
from service.text.faults import said
from service.text.notices import refusal, warning
from service.text.run_sheet import run_sheet_items
from solver.notices import Refusal
from solver.planning.pipeline import make_plan
from solver.planning.warnings import _boils_dry, _of_batch
from solver.policy import HOLD_SPARE_K
from tests.conftest import sample_event, sample_plan

DAY = """
format = 1
title = "Yard"
date = 2026-06-21
[site]
latitude_deg = 40.0
longitude_deg = 0.0
altitude_m = {altitude}
timezone = "UTC"
opens = 06:00:00
closes = 19:00:00
fire_rules_read = true
[weather]
hours = [{weather}]
[[cooker]]
id = "c"
like = "{cooker}"
closes = {closes}:00
[[pot]]
id = "{pot}"
like = "{pot}"
count = 4
[[meal]]
id = "m"
from = {meal}:00
until = {until}:00
portions = 10
[[dish]]
id = "d"
meal = "m"
{dish}
[[helper]]
id = "a"
from = 05:00:00
until = 22:00:00
may = ["mirrors", "lift"]
"""
CLEAR = "{ start = 06:00:00, cloud_pct = 0, air_c = 25, wind_m_s = 1 }"
CLOUD_BANK = (
    "{ start = 06:00:00, cloud_pct = 5, air_c = 14 }, { start = 09:00:00, cloud_pct = 100 },"
    "{ start = 12:00:00, cloud_pct = 10, air_c = 25 }"
)
COLD_GALE_AT_NOON = (
    "{ start = 06:00:00, cloud_pct = 0, air_c = 10, wind_m_s = 1 },"
    "{ start = 12:05:00, cloud_pct = 100, air_c = 5, wind_m_s = 10 },"
    "{ start = 13:00:00, cloud_pct = 0, air_c = 10, wind_m_s = 1 }"
)


def day(dish: str, **values: str) -> Event:
    usual = {"altitude": "0", "cooker": "panel-folded", "weather": COLD_GALE_AT_NOON}
    usual |= {"meal": "13:30", "until": "15:30", "closes": "19:00", "pot": "pot-5l"} | values
    text = DAY.replace("{dish}", dish)
    for key, value in usual.items():
        text = text.replace("{" + key + "}", value)
    return read_event(text)


@pytest.mark.parametrize("dish", ["rice", "chicken-stew", "potatoes", "couscous"])
def test_what_would_cool_under_a_cloud_and_be_warmed_again_is_not_served(dish: str) -> None:
    event = day(f'like = "{dish}"\nportions = 2')

    plan = make_plan(event)

    assert plan.placements == ()
    (why,) = plan.unplaced[0].reasons
    assert why.kind == "goes-cold"
    assert why.figures["reached_c"] < why.figures["limit_c"] == 63.0 + HOLD_SPARE_K
    assert "Serve in sittings" in refusal(event, why)


@pytest.mark.parametrize("dish", ["hard-eggs", "chicken-stew"])
def test_what_is_served_cold_may_not_stand_for_hours_either(dish: str) -> None:
    """The box has to go at one o'clock; supper is at five."""
    cold = f'like = "{dish}"\nportions = 10\nserve_hot = false\nholding_max_min = 600'
    hours = {"closes": "13:00", "meal": "17:00", "until": "18:00"}
    event = day(cold, cooker="box-better", weather=CLEAR, **hours)

    plan = make_plan(event)

    assert plan.placements == ()
    (why,) = plan.unplaced[0].reasons
    assert why.kind == "stands-too-long"
    assert why.figures["warm_min"] > why.figures["limit_min"] == 240
    assert "Serve it sooner" in refusal(event, why)


@pytest.mark.parametrize("hay", [True, False])
def test_what_is_served_cold_counts_wherever_it_cools(hay: bool) -> None:
    """Eggs for an evening: left in a box under cloud, or finished in the hay box, they cool there.

    Their plan once broke the rule of 240 minutes: they counted as hot until they were served.
    """
    evening = "{ start = 06:00:00, air_c = 20 }, { start = 15:00:00, cloud_pct = 100, air_c = 17 }"
    hours = {"meal": "18:00", "until": "20:00", "closes": "19:00"}
    eggs = 'like = "hard-eggs"\nportions = 2'
    event = day(eggs, cooker="box-large", weather=evening, pot="pot-1l", **hours)
    kept = day(eggs, cooker="hay-box", weather=evening, pot="pot-1l", **hours).cookers[0]
    if hay:
        event = changed(event, cookers=(*event.cookers, changed(kept, id="hay")))

    plan = make_plan(event)

    assert all(p.between_5_and_60_min <= 240 for p in plan.placements)


@pytest.mark.parametrize(("load_at", "cooked"), [("08:40", 0), ("08:55", 1)])
def test_what_was_hot_through_and_cools_under_a_cloud_is_not_warmed_again(
    load_at: str, cooked: int
) -> None:
    """Soup on a mirror boils before nine, and would be done only after three hours of cloud.

    It fell to 26 °C, and by its minutes between 5 and 60 °C it passed. Fifteen minutes later it is
    not hot through before the cloud. Found by wild events in another world.
    """
    soup = f'like = "lentil-soup"\nportions = 4\nload_at = {load_at}:00'

    event = day(soup, cooker="mirror-140cm", weather=CLOUD_BANK, pot="pot-3l", until="14:00")
    plan = make_plan(event)

    assert len(plan.placements) == cooked
    for p in plan.placements:
        middles = [point.core_c for point in p.curve]
        hot = next(n for n, core_c in enumerate(middles) if core_c >= 75.0)
        assert min(middles[hot:]) >= 63.0


def refused(event: Event) -> Refusal:
    """Return the one reason why the one dish of a day is not cooked in the one cooker."""
    plan = make_plan(event)
    assert plan.placements == ()
    (why,) = plan.unplaced[0].reasons
    return why


COLD_STEW = 'like = "chicken-stew"\nportions = 10\nserve_hot = false\nholding_max_min = 600'


@pytest.mark.parametrize("until", ["16:45", "18:00"])
def test_what_stands_too_long_is_never_said_to_be_held_too_long(until: str) -> None:
    """Until half past four it does, where it is lifted at the minute the box goes."""
    hours = {"closes": "13:00", "meal": "16:00", "until": until}

    why = refused(day(COLD_STEW, cooker="box-better", weather=CLEAR, **hours))

    assert (why.kind, why.figures["limit_min"]) == ("stands-too-long", 240)
    assert why.figures["warm_min"] > 235


def test_what_can_not_be_kept_until_the_meal_is_held_too_long() -> None:
    hours = {"closes": "10:00", "meal": "16:00", "until": "16:30"}
    short = COLD_STEW.replace("600", "30")

    why = refused(day(short, cooker="box-better", weather=CLEAR, **hours))

    assert (why.kind, why.figures) == ("held-too-long", {"limit_min": 30.0})


def test_a_cooker_that_closes_before_the_dish_is_surely_done_says_so() -> None:
    hours = {"closes": "10:30", "meal": "13:00", "until": "13:30"}
    event = day('like = "chicken-stew"\nportions = 10', cooker="box-better", weather=CLEAR, **hours)

    why = refused(event)

    assert why.kind == "closes-first"
    assert why.instants["done_at"] > why.instants["closes_at"] == event.instant(time(10, 30))
    assert refusal(event, why).startswith("It closes at 10:30; this would be done at 1")


@pytest.mark.parametrize("hot", ["true", "false"])
def test_what_only_the_wind_forbids_is_not_said_to_go_cold_or_to_be_held(hot: str) -> None:
    dish = f'like = "chicken-stew"\nportions = 10\nserve_hot = {hot}'
    weather = CLEAR.replace("wind_m_s = 1", "wind_m_s = 5")
    event = day(dish, cooker="box-better", weather=weather, meal="14:00", until="14:15")

    def in_a_box_for(limit_m_s: float) -> Event:
        return changed(event, cookers=(changed(event.cookers[0], wind_limit_m_s=limit_m_s),))

    assert make_plan(in_a_box_for(5.0)).placements
    why = refused(in_a_box_for(4.9))
    assert (why.kind, why.figures) == ("too-windy", {"limit_m_s": 4.9})


def test_meat_that_goes_in_frozen_is_warned_of() -> None:
    def warned(start_c: float) -> list[str]:
        dish = f'like = "chicken-stew"\nportions = 5\nstart_c = {start_c}'
        event = day(dish, cooker="box-better", weather=CLEAR, meal="15:00", until="15:30")
        plan = make_plan(event)
        assert plan.placements
        return [warning(event, w) for w in plan.warnings if w.kind == "loaded-frozen"]

    assert len(warned(-18.0)) == 1
    assert "Thaw it" in warned(-18.0)[0]
    assert "ill" in warned(-18.0)[0]
    assert warned(2.0) == []


@pytest.mark.parametrize("unsaid", [True, False])
@pytest.mark.parametrize(("wind_m_s", "warns"), [(7.9, False), (8.0, True), (13.0, True)])
def test_a_strong_wind_is_warned_of_where_nobody_said_what_a_cooker_bears(
    wind_m_s: float, warns: bool, unsaid: bool
) -> None:
    """8 m/s is a fresh breeze, 5 Beaufort by WMO's table; it blows from ten o'clock on."""
    weather = (
        CLEAR + "," + CLEAR.replace("06", "10").replace("wind_m_s = 1", f"wind_m_s = {wind_m_s}")
    )
    dish = 'like = "kettle"\nportions = 10\nholding_max_min = 30'
    event = day(dish, cooker="mirror-180cm", weather=weather, meal="12:00", until="12:10")
    if not unsaid:
        event = changed(event, cookers=(changed(event.cookers[0], wind_limit_m_s=20.0),))
    plan = make_plan(event)
    assert plan.placements

    said = [warning(event, w) for w in plan.warnings if w.kind == "strong-wind"]

    assert len(said) == (warns and unsaid)
    assert all(f"{wind_m_s:.0f} m/s" in text and "blow over" in text for text in said)
    assert all("Weight" in text and "wind_limit_m_s" in text for text in said)
    # What is over before it begins to blow is not warned of.
    early = day(dish, cooker="mirror-180cm", weather=weather, meal="09:50", until="09:55")
    assert make_plan(early).placements
    assert not [w for w in make_plan(early).warnings if w.kind == "strong-wind"]


def test_eggs_that_lie_in_the_heat_for_hours_are_thrown_away_at_a_time_that_is_said() -> None:
    """They are served cold, so a stronger cooker helps nothing: sooner, or a cold box."""
    hot = CLEAR.replace("air_c = 25", "air_c = 43")
    dish = 'like = "hard-eggs"\nportions = 10\nholding_max_min = 400\nfresh_min = 400'
    event = day(dish, cooker="mirror-140cm", weather=hot, meal="12:00", until="15:30")
    plan = make_plan(event)
    assert plan.placements

    (said,) = [warning(event, w) for w in plan.warnings if w.kind == "warm-long"]

    assert "at 240 min it is thrown away" in said
    assert "in ice water" in said
    assert "under 21 °C within 120 min" in said  # US FDA Food Code 2022, 3-501.14
    assert "have it done nearer to its meal" in said
    assert "start it in a mirror" not in said


def test_a_hay_box_alone_is_said_to_cook_nothing() -> None:
    dish = 'like = "chicken-stew"\nportions = 5'
    why = refused(day(dish, cooker="hay-box", weather=CLEAR, meal="15:00", until="15:30"))

    assert why.kind == "makes-no-heat"


def test_a_pot_that_would_boil_dry_is_said_to_burn() -> None:
    """A small pot under a large mirror for hours: by its latent heat 2.26 MJ/kg it is soon dry."""
    dish = 'like = "beef-stew"\nportions = 6\nordinary_min = 200'
    event = day(dish, cooker="mirror-180cm", weather=CLEAR, meal="13:00", until="13:10")
    plan = make_plan(event)
    (p,) = plan.placements
    water_kg = p.mass_kg * event.dish("d").composition.water
    assert p.water_lost_kg > 0.6 * water_kg

    (said,) = [warning(event, w) for w in plan.warnings if w.kind == "boils-dry"]

    assert "boils dry, burns" in said
    assert "add boiling water" in said
    assert not [w for w in plan.warnings if w.kind == "boils-away"]
    gentle = day(dish, cooker="box-large", weather=CLEAR, meal="15:00", until="15:10")
    kinds = {w.kind for w in make_plan(gentle).warnings}
    assert make_plan(gentle).placements
    assert "boils-dry" not in kinds


@pytest.mark.parametrize(("until", "stays"), [("13:05", False), ("14:00", True)])
def test_what_is_served_out_of_its_cooker_is_probed_before_its_first_plate(
    until: str, stays: bool
) -> None:
    """Off the heat it would be cold by two: it stays in the box, and who serves must probe it."""
    dish = 'like = "chicken-stew"\nportions = 4'
    cold = CLEAR.replace("air_c = 25", "air_c = 12")
    event = day(dish, cooker="box-better", weather=cold, meal="13:00", until=until)
    plan = make_plan(event)
    (p,) = plan.placements
    assert (p.lifted_at > p.served_at) == stays
    items = {i.kind: i for i in run_sheet_items(event, plan)}

    order = "Before its first plate: probe: 75 °C or more in the middle"

    assert (order in items["serve"].how) == stays
    assert ("out of" in items["serve"].how) == stays
    assert ("what is left" in items["lift"].title) == stays
    assert "75 °C or more" in items["lift"].second


@pytest.mark.parametrize(
    ("dish", "key"),
    [
        ('like = "chicken-stew"\nportions = 5\nstart_c = 25', "start_c"),
        ('like = "chicken-stew"\nportions = 5\nhazardous = false', "hazardous"),
        ('like = "chicken-stew"\nportions = 5\ndone = "core"\ncore_c = 50', "core_c"),
        ('like = "potatoes"\nportions = 5\nhazardous = false', "hazardous"),
        ('like = "bean-stew"\nportions = 5\nkidney_beans = "raw"', "kidney_beans"),
    ],
)
def test_what_a_file_may_not_say_of_its_food_is_a_fault(dish: str, key: str) -> None:
    with pytest.raises(FaultyEvent) as caught:
        make_plan_of(dish)

    faults = [f for f in caught.value.faults if f.key == key]
    assert faults
    assert all(said(f).limit and said(f).remedy for f in faults)


def test_one_pot_does_not_feed_a_meal_of_six_hours() -> None:
    with pytest.raises(FaultyEvent) as caught:
        make_plan_of('like = "rice"\nportions = 10', meal="12:00", until="18:00")

    assert [f.key for f in caught.value.faults] == ["waves"]


def make_plan_of(dish: str, **values: str) -> None:
    event = day(dish, weather=CLEAR, **values)
    make_plan(event)


@pytest.mark.parametrize(("cooker", "warns"), [("box-better", True), ("box-plain", False)])
def test_a_box_that_is_tipped_far_with_pots_in_it_is_warned_of(cooker: str, warns: bool) -> None:
    """The plain box is turned and not tipped; in October the noon sun is 39° high."""
    dish = 'like = "warm-milk"\nportions = 2'
    event = day(dish, cooker=cooker, weather=CLEAR, meal="14:00", until="14:30")
    plan = make_plan(changed(event, date=date(2026, 10, 21)))
    assert plan.placements

    found = [w for w in plan.warnings if w.kind == "tipped-far"]

    assert bool(found) == warns
    for w in found:
        lowest = min(t.to_elevation_deg or 90.0 for t in plan.turns)
        assert w.figures["tipped_deg"] == pytest.approx(90.0 - lowest)
        assert w.figures["tipped_deg"] > 45
        assert "must swing" in warning(event, w)


@pytest.mark.parametrize(("lost", "dry"), [(0.6, False), (0.61, True)])
def test_a_pot_is_said_to_boil_dry_once_over_six_tenths_of_its_water_go(
    lost: float, dry: bool
) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    pot = next(p for p in plan.placements if p.dish_id == "rice")
    water_kg = event.dish("rice").composition.water * pot.mass_kg

    assert _boils_dry(event, changed(pot, water_lost_kg=lost * water_kg)) is dry


def test_what_is_late_on_a_ring_is_not_told_to_keep_a_ring_ready() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    on_sun = next(p for p in plan.placements if p.route == "sun")

    def kinds(route: str) -> set[str]:
        late = changed(on_sun, route=route, cautious_at=None)
        return {w.kind for w in _of_batch(event, late)}

    assert "late-on-a-poor-day" in kinds("sun")
    for route in ("burner", "sun+burner"):
        assert "late-on-gas" in kinds(route)
        assert "late-on-a-poor-day" not in kinds(route)


def test_what_no_ring_can_cook_is_not_told_to_keep_a_ring_ready() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    cake = next(p for p in plan.placements if p.dish_id == "apple-cake")

    kinds = {w.kind for w in _of_batch(event, changed(cake, cautious_at=None))}

    assert "late-beyond-gas" in kinds
    assert not {"late-on-a-poor-day", "late-on-gas"} & kinds
