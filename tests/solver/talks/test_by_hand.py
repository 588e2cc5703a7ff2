"""Talks that float on the hand-laid day: which times suit, how far apart, and what is told.

What loads show is written down by hand; the talk of steam lasts a quarter of an hour, and its
hours are nine to three. Shows of its own: water in a mirror, or an empty oven.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from events.model import Event, Talk
from events.table import changed
from solver.plan import Plan
from solver.programme import Giving, NotGiven, TalkPlan
from solver.simulation.day import Day
from solver.talks import shows, talks
from solver.talks.choice import Asked, Slot
from solver.talks.shows import Sought, _Option
from solver.talks.talks import _Wanted
from tests.solver.checking.damage import edited, place
from tests.solver.checking.hand_laid import EVENT, PLAN, at
from tests.solver.checking.test_show_rules import EMPTY, JUG, SHOWS, STEAM, WATER
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import day

MIRROR, BOX, OVEN = (EVENT.cooker(c) for c in ("mirror", "box", "oven"))
HOURS = changed(STEAM, start=at("09:00").time(), end=at("11:00").time(), apart_min=30)


def slot(clock: str) -> int:
    return int((at(clock) - at("00:00")).total_seconds()) // 300


def given(clock: str, talk: Talk = STEAM, **values: object) -> Giving:
    row = Giving(talk_id=talk.id, giving=1, at=at(clock), minutes=15, speaker_id="cam")
    return changed(row, **values)


def clocks(slots: object) -> str:
    return " ".join(f"{s // 12}:{s % 12 * 5:02d}" for s in slots)  # type: ignore[attr-defined]


# --- which times suit


def test_two_givings_are_as_far_apart_as_is_asked() -> None:
    """One from ten to a quarter past: half an hour lies between it and another."""
    suits = [
        t
        for t in range(slot("09:00"), slot("11:00"))
        if talks._is_apart(day(), HOURS, t, [given("10:00")])
    ]

    assert clocks(suits) == "9:00 9:05 9:10 9:15 10:45 10:50 10:55"


def showing(share: float, **values: object) -> SimpleNamespace:
    """Return what shows steam at the mirror by such a share of days, whenever it is."""
    row = {"moment": "boil", "cooker_id": "mirror", "dish_ids": ("stew",)}
    return SimpleNamespace(**{**row, **values}, share=lambda start, end: share)


def wanted(
    *shown: SimpleNamespace,
    talk: Talk = HOURS,
    on: Day | None = None,
    begun: tuple[Giving, ...] = (),
) -> _Wanted:
    return talks._wanted(on or day(SHOWS), talk, list(shown), list(begun))  # type: ignore[arg-type]


def test_a_talk_may_begin_in_any_slot_of_its_hours_and_ends_within_them() -> None:
    found = wanted(showing(0.9))

    assert clocks([min(found.shares), max(found.shares)]) == "9:00 10:45"
    assert len(found.shares) == 22
    odd = wanted(showing(0.9), talk=changed(HOURS, start=at("09:02").time(), minutes=17))
    assert clocks([min(odd.shares), max(odd.shares)]) == "9:05 10:40"


def test_it_begins_from_now_on_and_apart_from_what_has_begun() -> None:
    now = replanned(SHOWS, 10 * 60 + 1)
    twice = changed(HOURS, times=2)

    assert clocks([min(wanted(on=now).shares)]) == "10:05"
    found = wanted(talk=twice, on=now, begun=(given("09:50"),))
    assert (clocks([min(found.shares)]), found.times) == ("10:35", 1)
    other = wanted(talk=twice, on=now, begun=(given("09:50", changed(HOURS, id="other")),))
    assert (clocks([min(other.shares)]), other.times) == ("10:05", 2)


@pytest.mark.parametrize(
    ("talk", "shown", "best"),
    [
        (HOURS, (showing(0.6), showing(0.8), showing(0.7)), 0.8),
        (HOURS, (showing(0.9, moment="over-100"),), 0.0),
        (changed(HOURS, cooker="box"), (showing(0.9), showing(0.4, cooker_id="box")), 0.4),
        (changed(HOURS, dish="rice"), (showing(0.9), showing(0.3, dish_ids=("rice",))), 0.3),
        (changed(HOURS, moment=None), (), 1.0),
    ],
)
def test_it_is_seen_as_surely_as_the_best_that_shows_it(
    talk: Talk, shown: tuple[SimpleNamespace, ...], best: float
) -> None:
    found = wanted(*shown, talk=talk)

    assert found.best == best
    assert {share for share, _ in found.shares.values()} == {best}


@pytest.mark.parametrize(
    ("chance_pct", "share", "sure"),
    [(None, 0.80, True), (None, 0.79, False), (60, 0.60, True), (95, 0.94, False)],
)
def test_a_time_suits_where_its_moment_is_seen_as_surely_as_is_wanted(
    chance_pct: int | None, share: float, sure: bool
) -> None:
    """Eighty of a hundred, where the talk itself asks for no other chance."""
    found = wanted(showing(share), talk=changed(HOURS, chance_pct=chance_pct))

    assert bool(found.sure(day(SHOWS))) == sure


def test_what_is_chosen_is_given_in_time_order_after_what_has_begun(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of three one has begun; at ten it was to be given before, so that is no change."""
    seen: list[object] = []

    def choose(asked: list[Asked], options: list[Slot]) -> tuple[int, ...]:
        seen.extend([asked, options])
        return (2, 0)

    now = replanned(SHOWS, 9 * 60)
    assert now.replan is not None
    before = TalkPlan(given=(given("10:00"),), not_given=())
    now = replace(now, replan=replace(now.replan, plan=changed(PLAN, talks=before)))
    talk = changed(HOURS, times=3)
    shares = {slot(c): (0.816, showing(0.816)) for c in ("10:00", "10:30")}
    one = _Wanted(talk, 2, shares, 0.9)  # type: ignore[arg-type]
    monkeypatch.setattr(talks, "choose", choose)
    monkeypatch.setattr(talks, "free_speakers", lambda day, plan, talk, start: iter([2, 0]))

    found = list(talks._given(now, PLAN, [one], []))

    assert seen[0] == [Asked(3, 2, 6)]
    assert seen[1] == [
        Slot(0, slot("10:00"), 2, 18, changed=False),
        Slot(0, slot("10:00"), 0, 18, changed=False),
        Slot(0, slot("10:30"), 2, 18, changed=True),
        Slot(0, slot("10:30"), 0, 18, changed=True),
    ]
    assert [(g.giving, g.at, g.speaker_id, g.cooker_id) for g in found] == [
        (2, at("10:00"), "cam", "mirror"),
        (3, at("10:30"), "cam", "mirror"),
    ]


# --- what is told


@pytest.mark.parametrize(
    ("shown", "of_100"),
    [
        ((showing(0.62), showing(0.88)), 90),
        ((showing(1.0),), 95),
        ((showing(0.88, cooker_id="box"),), 0),
        ((showing(0.88, moment="turn"),), 0),
        ((), 0),
    ],
)
def test_its_chance_is_that_of_the_best_that_shows_it_where_it_is_given(
    shown: tuple[SimpleNamespace, ...], of_100: int
) -> None:
    one = given("09:20", cooker_id="mirror")

    assert talks._told(day(SHOWS), PLAN, one, list(shown)).of_100 == of_100  # type: ignore[arg-type]
    stew = edited(SHOWS, "talks", "steam", dish="rice")
    assert talks._told(day(stew), PLAN, one, list(shown)).of_100 == 0  # type: ignore[arg-type]
    bare = edited(SHOWS, "talks", "steam", moment=None)
    assert talks._told(day(bare), PLAN, one, list(shown)) == one  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ({"sure": False}, "not-shown"),
        ({}, "no-speaker"),
        ({"free": True}, "no-room"),
        ({"sure": False, "out": True}, "cooker-out"),
        ({"sure": False, "sought": "no-hands"}, "no-hands"),
    ],
)
def test_why_a_talk_is_not_given_is_told_with_the_best_there_is(
    monkeypatch: pytest.MonkeyPatch, values: dict[str, object], reason: str
) -> None:
    talk = changed(HOURS, times=3, cooker="mirror")
    share = 0.85 if values.get("sure", True) else 0.424
    one = _Wanted(talk, 3, {slot("10:00"): (share, None)}, share)
    sought = Sought(None, 0.3, values.get("sought", "not-shown"))  # type: ignore[arg-type]
    broken = frozenset({"mirror"} if values.get("out") else set[str]())
    on = replanned(SHOWS, 8 * 60, unavailable=broken)
    speakers = [1] if values.get("free") else []
    monkeypatch.setattr(talks, "free_speakers", lambda *given: iter(speakers))

    assert talks._not_given(on, PLAN, one, sought, [given("09:00")]) == NotGiven(
        talk_id="steam",
        givings=2,
        reason=reason,  # type: ignore[arg-type]
        best_of_100=round(100 * share),
        wanted_of_100=80,
    )


# --- shows of its own


def places(talk: Talk, on: Day | None = None) -> list[tuple[str, str | None]]:
    found = shows._places(on or day(SHOWS), talk)
    return [(cooker.id, pot.id if pot else None) for cooker, pot in found]


def test_water_is_put_where_a_pot_fits_and_an_empty_oven_where_it_gets_hot() -> None:
    anywhere = changed(STEAM, cooker=None)
    assert places(anywhere) == [("mirror", "jug"), ("box", "pot"), ("oven", "pot")]
    assert places(changed(anywhere, moment="over-100")) == [("box", None), ("oven", None)]
    assert places(changed(anywhere, cooker="mirror")) == [("mirror", "jug")]
    broken = replanned(SHOWS, 8 * 60, unavailable=frozenset({"mirror"}))
    assert places(changed(anywhere, cooker="mirror"), broken) == []


def is_free(
    start: str = "12:00",
    giving: str = "12:40",
    plan: Plan = PLAN,
    event: Event = SHOWS,
    **values: object,
) -> bool:
    row = {"cooker": MIRROR, "pot": JUG, "start": slot(start), "giving": slot(giving), "cost": 0}
    return shows._is_free(day(event), plan, _Option(**{**row, **values}), STEAM)  # type: ignore[arg-type]


def test_a_show_needs_its_cooker_until_a_slot_after_its_talk() -> None:
    """The second stew leaves the mirror at 11:40; the talk is over at five to one."""
    assert is_free("11:40")
    assert not is_free("11:35")
    later = {"loaded_at": at("13:00"), "lifted_at": at("13:30")}
    assert is_free(plan=place("stew-2", PLAN, **later))
    assert not is_free(plan=place("stew-2", PLAN, **later, preheat_at=at("12:59")))
    other = changed(PLAN, talks=TalkPlan(given=(WATER,), not_given=()))
    assert not is_free(plan=other, pot=None)
    assert is_free("13:00", "13:05", plan=other, pot=None)
    beside = changed(PLAN, talks=TalkPlan(given=(EMPTY,), not_given=()))
    assert is_free(plan=beside)


@pytest.mark.parametrize(
    ("values", "free"),
    [
        ({"closes": at("13:00").time()}, True),
        ({"closes": at("12:59").time()}, False),
        ({"wind_limit_m_s": 4.0}, True),
        ({"wind_limit_m_s": 3.9}, False),
    ],
)
def test_a_show_is_over_when_its_cooker_closes_and_stands_in_no_strong_wind(
    values: dict[str, object], free: bool
) -> None:
    assert is_free(cooker=changed(MIRROR, **values)) == free
    if "closes" in values:
        site = changed(SHOWS, site=changed(SHOWS.site, **values))
        assert is_free(event=site) == free
        assert is_free(event=site, cooker=changed(MIRROR, closes=at("15:00").time())) == free


def test_a_show_bears_the_strongest_wind_of_its_time() -> None:
    """Four metres a second until two, six from then on."""
    steady = changed(MIRROR, wind_limit_m_s=5.0)

    assert is_free("13:20", "13:40", cooker=steady)
    assert not is_free("13:20", "13:45", cooker=steady)


def test_no_pot_boils_half_empty_for_a_talk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a litre half may go as steam: at the boil all day, it is shown until then."""
    steam_kg = np.broadcast_to([0.4, 0.5, 0.51], (1, 200, 3))
    ran = SimpleNamespace(hottest_c=np.full((1, 200, 3), day(SHOWS).boil_c), steam_kg=steam_kg)
    monkeypatch.setattr(shows, "drawn_loads", lambda *given: ran)

    days = SimpleNamespace(day=day(SHOWS))
    (one,) = shows._shown(days, STEAM, MIRROR, JUG, np.asarray([600]))  # type: ignore[arg-type]

    assert one.seen[0].tolist() == [True, True, False]


@pytest.mark.parametrize(
    ("values", "free"),
    [
        ({"served_at": at("11:45")}, True),
        ({"served_at": at("11:46")}, False),
        ({"loaded_at": at("13:15"), "served_at": at("14:00")}, True),
        ({"loaded_at": at("13:14"), "served_at": at("14:00")}, False),
    ],
)
def test_a_shows_pot_is_there_and_is_washed_before_and_after(
    values: dict[str, object], free: bool
) -> None:
    """It takes a quarter of an hour to wash; with two jugs there is one left."""
    plan = place("rice-1", PLAN, pot_id="jug", **values)

    assert is_free(plan=plan) == free
    assert is_free(plan=plan, pot=changed(JUG, count=2))
    assert is_free(plan=plan, pot=None)


def options(talk: Talk, times: list[int], share: float, starts: list[int]) -> list[_Option]:
    with pytest.MonkeyPatch.context() as patch:
        grains: list[int] = []

        def possible(day: Day, cooker: object, *, grain_min: int, **given: int) -> np.ndarray:
            grains.append(grain_min)
            assert given == {"empty_min": 0, "until": times[-1] * 5 + 15}
            return np.asarray(starts)

        patch.setattr(shows, "possible_starts", possible)
        patch.setattr(shows, "_shown", lambda *given: [showing(share) for _ in given[-1]])
        days = SimpleNamespace(day=day(SHOWS))
        found = list(shows._options(days, talk, MIRROR, JUG, times))  # type: ignore[arg-type]
        assert grains == [5 if talk.moment == "loading" else 15]
        assert {s for _, s in found} <= {share}
        return [option for option, _ in found]


def test_a_show_is_put_on_two_hours_before_at_most_and_costs_its_doubt_and_its_minutes() -> None:
    noon = slot("12:00")
    found = options(STEAM, [noon, noon + 1], 0.75, [595, 600, 715, 720, 725, 730])

    leads = [(o.start * 5, o.giving * 5, o.cost) for o in found]
    assert leads == [
        (600, 720, 3 * 25 + 120),
        (715, 720, 3 * 25 + 5),
        (715, 725, 3 * 25 + 10),
        (720, 720, 3 * 25),
        (720, 725, 3 * 25 + 5),
        (725, 725, 3 * 25),
    ]


def test_a_loading_is_shown_in_its_talk() -> None:
    found = options(changed(STEAM, moment="loading"), [slot("12:00")], 1.0, [715, 720, 730, 735])

    assert [o.start * 5 for o in found] == [720, 730]


@pytest.mark.parametrize(
    ("free", "turned"),
    [
        ({"ada": range(100, 140)}, [108, 116]),  # as late as an aim of eight slots holds
        ({"ada": range(100, 108), "ben": range(108, 140)}, [108, 116]),
        ({"ada": [100, 106, 107, 113, 120]}, [107, 113]),
        ({"ada": [100, 106]}, None),
    ],
)
def test_a_show_is_turned_as_late_as_its_aim_holds_and_somebody_is_free(
    free: dict[str, list[int]], turned: list[int] | None
) -> None:
    """From slot 100 to 122; the last aim may run over by one."""
    trips = shows._trips({h: set(s) for h, s in free.items()}, 100, 122, 8)

    assert (None if trips is None else [t.slot for t in trips]) == turned
    assert shows._trips({}, 100, 109, 8) == []
    assert shows._trips({}, 100, 110, 8) is None
