"""The sample's contest, judges who walk from pot to pot, and what can't be tasted with why."""

from __future__ import annotations

import itertools
from collections import Counter
from datetime import time

import pytest

from events.contest import Contest, ContestCooker, Entry, Judge, Team
from events.model import Event
from events.site import Station
from events.table import changed
from solver.checking.rules import check
from solver.contest.contest import contest_plan
from solver.contest.options import EntryOptions, contest_day, entry_options
from solver.contest_plan import ContestPlan
from solver.simulation.day import make_day
from tests.conftest import sample_event, sample_plan
from tests.solver.planning.test_dangers import CLOUD_BANK, day


def planned(event: Event) -> ContestPlan:
    plan = contest_plan(make_day(event))
    assert plan is not None
    return plan


def with_rules(event: Event, **values: object) -> Event:
    assert event.contest is not None
    return changed(event, contest=changed(event.contest, **values))


def test_the_sample_tastes_every_entry_and_leaves_out_the_place_under_the_poplar() -> None:
    event, plan = sample_event("twelve-pots"), sample_plan("twelve-pots").contest

    assert plan is not None
    assert plan.left_out == ("p13",)
    assert len(plan.tastings) == len(event.entries)
    assert plan.difference_min <= 10
    assert all(level.proven for level in plan.levels)


@pytest.mark.slow
def test_walking_judges_taste_each_pot_once_and_never_two_at_once() -> None:
    event = sample_event("twelve-pots")
    event = with_rules(event, how="walk", held_max_min=90, end=time(16, 0), closed=())

    plan = planned(event)

    whole = changed(sample_plan("twelve-pots"), contest=plan)
    assert {b.rule for b in check(event, whole)} <= {"wrong-level"}
    seen = Counter((j.judge_id, j.at) for t in plan.tastings for j in t.judges)
    assert max(seen.values()) == 1
    assert len(plan.tastings) >= 10
    for t in plan.tastings:
        assert t.minutes == 30


def test_a_contest_that_is_not_drawn_shows_its_lists_only() -> None:
    plan = planned(with_rules(sample_event("twelve-pots"), seed=None))

    assert plan.draw is None
    assert plan.tastings == ()
    assert len(plan.lists_sha256) == 64


def test_an_entry_that_can_never_be_ready_says_so() -> None:
    plan = planned(with_rules(sample_event("twelve-pots"), cook_min=60))

    reasons = {n.kind for n in plan.not_tasted}
    assert "never-ready" in reasons
    slow = next(n for n in plan.not_tasted if n.kind == "never-ready")
    assert slow.figures["cook_min"] == 60


def test_an_entry_that_is_served_cold_stands_within_its_clock() -> None:
    """Of an hour between ready and eaten every minute counts; minutes out of the cold once."""
    event = with_rules(sample_event("twelve-pots"), held_max_min=60)

    def of_the_first(**values: object) -> EntryOptions:
        entry = event.entries[0]
        entries = (changed(entry, dish=changed(entry.dish, **values)), *event.entries[1:])
        edited = changed(event, entries=entries)
        draw = sample_plan("twelve-pots").contest.draw  # type: ignore[union-attr]  # it is drawn
        assert draw is not None
        return entry_options(contest_day(edited, draw), edited, 5)[0]

    hot, cold = of_the_first(), of_the_first(serve_hot=False)
    cooks_min = min(o.warm_min for o in hot.options)
    assert min(o.warm_min - o.held_min for o in cold.options) == pytest.approx(cooks_min, abs=1)
    spare = 240 - cooks_min - 10
    late = of_the_first(serve_hot=False, out_min=spare)
    assert of_the_first(out_min=spare).options
    assert late.options
    assert max(o.held_min for o in late.options) <= 15
    never = of_the_first(serve_hot=False, out_min=spare + 10).refusal
    assert never is not None
    assert never.kind == "unsafe"


@pytest.mark.slow
def test_a_contest_stays_as_it_is_when_the_day_is_planned_again() -> None:
    event, plan = sample_event("twelve-pots"), sample_plan("twelve-pots").contest
    day = make_day(event)

    assert contest_plan(day, plan) is plan
    gone = changed(event, entries=(changed(event.entries[0], withdrawn=True), *event.entries[1:]))
    again = contest_plan(make_day(gone), plan)
    assert again is not None
    assert event.entries[0].id not in {t.entry_id for t in again.tastings}


@pytest.mark.slow
def test_the_same_event_has_the_same_contest() -> None:
    assert planned(sample_event("twelve-pots")) == sample_plan("twelve-pots").contest


@pytest.mark.slow
@pytest.mark.parametrize("n", range(3))
def test_together_all_may_load_from_one_time(n: int) -> None:
    start = time(9, 15 * n)
    event = with_rules(sample_event("twelve-pots"), together_at=start, held_max_min=120)

    plan = planned(event)

    assert {t.cook_from for t in plan.tastings} == {event.instant(start)}
    assert all(t.loaded_at >= event.instant(start) for t in plan.tastings)
    lanes = itertools.combinations(plan.tastings, 2)
    assert all(one.at != two.at for one, two in lanes)


@pytest.mark.parametrize(("together_at", "tasted"), [("08:40", 0), ("08:55", 1)])
def test_an_entry_that_was_hot_through_is_not_warmed_again_for_its_tasting(
    together_at: str, tasted: int
) -> None:
    """Soup on a mirror boils before a cloud bank and would be done after it.

    By its 144 minutes between 5 and 60 °C it once passed. Fifteen minutes later it is not hot
    through before the cloud.
    """
    soup = f'like = "lentil-soup"\nportions = 4\nload_at = {together_at}:00'
    event = day(soup, cooker="mirror-140cm", weather=CLOUD_BANK, pot="pot-3l", until="14:00")
    own = {**event.cookers[0].model_dump(), "id": "own", "team": "larks"}
    contest = Contest(
        minutes=10,
        start=time(12, 30),
        end=time(14),
        cook_min=360,
        together_at=time.fromisoformat(together_at),
        stations=("north",),
        seed="417 263 558",
    )
    larks = {"team": "larks", "cooker": "own", "station": "north", "dish": event.dishes[0]}
    event = changed(
        event,
        stations=(Station(id="north", name="North", x_m=0.0, y_m=10.0),),
        contest=contest,
        teams=(Team(id="larks", name="Larks", people=3),),
        entries=(Entry.model_validate({"id": "one", "name": "Soup", **larks}),),
        contest_cookers=(ContestCooker.model_validate(own),),
        judges=(Judge(id="ivo", name="Ivo", start=time(12), end=time(15)),),
    )

    plan = planned(event)

    assert len(plan.tastings) == tasted
    assert [why.kind for why in plan.not_tasted] == ["goes-cold"] * (1 - tasted)
