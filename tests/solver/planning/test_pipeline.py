"""Plans: clean in check and replay, the same twice, honest about what can't be done."""

from __future__ import annotations

import itertools
from datetime import date, time, timedelta

import pytest

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.table import changed
from service.text.run_sheet import items_of_helper
from solver.checking.rules import check
from solver.feasibility.duration_table import estimates
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from solver.scheduling.enumeration import enumerate_candidates
from solver.simulation.day import make_day
from solver.solar.windows import windows
from tests.conftest import SAMPLES, replaced, sample_event, sample_plan

pytestmark = pytest.mark.slow

HARVEST = sample_text("harvest-lunch")


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_plans_clean_and_proven(name: str) -> None:
    plan = sample_plan(name)  # make_plan raises where check or replay finds a fault

    assert plan.placements
    assert all(level.proven for level in plan.levels)


@pytest.mark.parametrize("name", ["harvest-lunch", "school-day"])
def test_the_same_event_gives_the_same_plan_byte_for_byte(name: str) -> None:
    again = make_plan(sample_event(name))

    assert again.model_dump_json() == sample_plan(name).model_dump_json()


def test_all_that_can_be_done_is_done() -> None:
    for name in ("harvest-lunch", "school-day", "cook-off"):
        assert sample_plan(name).unplaced == ()


def test_what_is_too_hot_for_any_cooker_is_refused_in_figures() -> None:
    refused = {u.dish_id: u for u in sample_plan("winter-refusal").unplaced}

    too_cool = [r for r in refused["pizza"].reasons if r.kind == "oven-too-cool"]
    assert too_cool
    for reason in too_cool:
        assert reason.figures["reached_c"] < reason.figures["needed_c"] == 250


def test_altitude_lowers_the_boil_and_so_the_peak() -> None:
    high = read_event(replaced(HARVEST, ("altitude_m = 220", "altitude_m = 2500")))

    day = make_day(high)

    assert day.boil_c == pytest.approx(91.6, abs=0.2)
    assert max(p.peak_c for p in make_plan(high).placements) < 92


def test_a_cloudier_day_is_never_faster() -> None:
    cloudy = read_event(replaced(HARVEST, ("cloud_pct = 15", "cloud_pct = 55")))

    def minutes(event: Event) -> dict[tuple[str, str, float, str], int]:
        return {
            (e.dish_id, e.cooker_id, e.batch_kg, e.loaded_at.isoformat()): e.expected_min
            for e in estimates(event)
            if e.expected_min is not None
        }

    clear, dim = minutes(sample_event("harvest-lunch")), minutes(cloudy)
    both = clear.keys() & dim.keys()
    assert len(both) > 100
    assert all(dim[k] >= clear[k] for k in both)


def test_estimates_are_in_order_fast_expected_cautious() -> None:
    table = estimates(sample_event("harvest-lunch"))

    assert {e.dish_id for e in table} == {d.id for d in sample_event("harvest-lunch").dishes}
    for e in table:
        if e.expected_min is not None and e.fast_min is not None:
            assert e.fast_min <= e.expected_min
            assert e.cautious_min is None or e.expected_min <= e.cautious_min
        else:
            assert e.refusal or e.cautious_min is None


def test_a_later_start_is_never_ready_sooner() -> None:
    rows: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for e in estimates(sample_event("harvest-lunch")):
        if e.expected_min is not None and e.dish_id != "apple-cake":  # it starts from a hot oven
            start = e.loaded_at.timestamp() / 60
            rows.setdefault((e.dish_id, e.cooker_id), []).append((start, start + e.expected_min))

    assert len(rows) > 15
    for pair, times in rows.items():
        ready = [done for _, done in sorted(times)]
        assert all(b >= a - 2 for a, b in itertools.pairwise(ready)), pair  # the coarse step


def test_without_weather_the_plan_says_that_it_took_a_clear_sky(harvest: Event) -> None:
    plan = make_plan(changed(harvest, weather=type(harvest.weather)()))

    assert plan.sky == "clear"
    assert "no-weather" in {w.kind for w in plan.warnings}


def test_a_date_with_no_sun_is_a_clear_answer(harvest: Event) -> None:
    site = changed(
        harvest.site, latitude_deg=78.2, longitude_deg=15.6, timezone="Arctic/Longyearbyen"
    )
    sunless = changed(
        harvest,
        site=site,
        date=date(2026, 12, 15),
        cookers=tuple(c for c in harvest.cookers if c.kind != "burner"),
    )

    plan = make_plan(sunless)

    assert windows(sunless)[0].stretches == ()
    assert plan.placements == ()
    assert {u.dish_id for u in plan.unplaced} == {d.id for d in harvest.dishes}
    assert "no-sun" in {r.kind for u in plan.unplaced for r in u.reasons}


def test_a_polar_day_plans(harvest: Event) -> None:
    site = changed(
        harvest.site, latitude_deg=69.6, longitude_deg=18.9, timezone="Europe/Oslo", skyline=()
    )
    plan = make_plan(changed(harvest, site=site, date=date(2027, 6, 21)))

    assert plan.placements


@pytest.mark.parametrize("day", [date(2027, 3, 28), date(2027, 10, 31)])
def test_a_clock_change_day_plans_in_local_time(day: date) -> None:
    event = sample_event("school-day")
    site = changed(event.site, timezone="Europe/Paris", latitude_deg=36.0)
    moved = changed(event, date=day, site=site, talks=())

    plan = make_plan(moved)

    from zoneinfo import ZoneInfo

    for p in plan.placements:
        assert p.served_at.astimezone(ZoneInfo("Europe/Paris")).time() == time(13, 30)


def test_a_helper_shortage_drops_a_dish_rather_than_break_a_rule(harvest: Event) -> None:
    one = changed(harvest.helpers[1], start=time(11, 30), end=time(12, 40))
    plan = make_plan(changed(harvest, helpers=(one,), talks=()))

    assert plan.unplaced
    assert all(u.reasons for u in plan.unplaced)


def test_a_wind_limit_keeps_a_mirror_off_the_sun() -> None:
    text = replaced(HARVEST, ('name = "Mirror 1"', 'name = "Mirror 1"\nwind_limit_m_s = 1.0'))

    plan = make_plan(read_event(text))

    assert "mirror-1" not in {p.cooker_id for p in plan.placements}


def test_waves_are_served_one_after_the_other() -> None:
    text = replaced(
        HARVEST,
        ("until = 13:30:00\nportions = 30", "until = 13:30:00\nportions = 30\nwaves = 2"),
        ('count = 2\n[[pot]]\nid = "pot-8l"', 'count = 2\n[[pot]]\nid = "pot-8l"'),
        (
            'like = "bean-stew"\nmeal = "lunch"\nportions = 24',
            'like = "bean-stew"\nmeal = "lunch"\nportions = 40',
        ),
    )

    plan = make_plan(read_event(text))

    stew = [p for p in plan.placements if p.dish_id == "bean-stew"]
    assert len({p.served_at for p in stew}) == 2 or not stew
    assert stew or plan.unplaced


FIRST = ("preheat", "load")


def kinds_of(event: Event, plan: Plan, helper_id: str) -> set[str]:
    return {item.kind for item in items_of_helper(event, plan, helper_id)}


def test_setting_up_comes_first_and_packing_down_when_the_last_is_cool() -> None:
    """Whoever begins at a cooker sets up before; it is said where that is before their hours."""
    for name in SAMPLES:
        event, plan = sample_event(name), sample_plan(name)
        jobs = {j.id: j for j in plan.jobs}

        first = min(p.preheat_at or p.loaded_at for p in plan.placements)
        last = max(p.lifted_at for p in plan.placements)
        assert jobs["set-up"].minutes == 30
        assert jobs["set-up"].at + timedelta(minutes=30) == first
        assert jobs["pack-down"].at >= last + timedelta(minutes=30)
        crew_from = min(h.start for h in event.helpers if h.adult)
        early = [w.instants for w in plan.warnings if w.kind == "set-up-early"]
        assert bool(early) == (jobs["set-up"].at < event.instant(crew_from))
        assert all(at["begins_at"] == jobs["set-up"].at for at in early)
        set_up = [h.id for h in event.helpers if "set-up" in kinds_of(event, plan, h.id)]
        begun = {h for j in plan.jobs if j.at == first for h in j.helper_ids if j.kind in FIRST}
        assert {h for h in begun if event.instant(event.helper(h).start) < first} <= {*set_up}
        assert set_up


def test_a_dish_that_needs_more_pots_than_there_are_says_so() -> None:
    event = sample_event("harvest-lunch")
    many = tuple(
        changed(d, portions=36, batches_max=6) if d.id == "apple-cake" else d for d in event.dishes
    )
    fewer = tuple(changed(p, count=1) if "baked" in p.holds else p for p in event.pots)
    plan = make_plan(changed(event, dishes=many, pots=fewer))

    why = [r for u in plan.unplaced if u.dish_id == "apple-cake" for r in u.reasons]

    short = next(r for r in why if r.kind == "too-few-pots")
    assert short.figures["stock_count"] == 1 < short.figures["needed_count"]


def test_only_adults_are_asked_to_work_mirrors_and_rings() -> None:
    # Common practice, no published source: focused sunlight and flames are no work for children.
    event = sample_event("harvest-lunch")
    young = tuple(changed(h, adult=False) if h.id == "bo" else h for h in event.helpers)
    plan = make_plan(changed(event, helpers=young))

    trained = {c.id for c in event.cookers if c.trained}
    of_turn = {t.id: t.cooker_id for t in plan.turns}
    worked = {of_turn[t] for w in plan.walks if w.helper_id == "bo" for t in w.turn_ids}
    worked |= {j.cooker_id for j in plan.jobs if j.helper_ids == ("bo",) and j.cooker_id}
    assert not worked & trained
    # The plan in which Bo is grown up would be refused for this event.
    assert check(changed(event, helpers=young), sample_plan("harvest-lunch"))


def test_a_refusal_speaks_of_the_smallest_batch_that_was_tried() -> None:
    event = sample_event("harvest-lunch")
    stew = changed(event.dish("bean-stew"), portions=150, batches_max=4)
    found = enumerate_candidates(make_day(changed(event, dishes=(stew,))))

    reasons = found.refusals[stew.id].values()
    no_pot = [r for r in reasons if r.kind in ("no-pot", "pots-too-small")]
    assert {r.kind for r in no_pot} == {"no-pot", "pots-too-small"}
    smallest_litres = round(stew.mass_kg * stew.litres_per_kg / 4, 1)
    assert {r.figures["batch_litres"] for r in no_pot} == {smallest_litres}
    for r in no_pot:
        limits = [r.figures[k] for k in ("cooker_litres", "pot_litres") if k in r.figures]
        assert limits[0] < smallest_litres, "what is named is what binds"
