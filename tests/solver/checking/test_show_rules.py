"""Water in a mirror and an empty oven, put on for two talks by hand: each rule from both sides.

The mirror has its water from noon to five to one, its talk is from twenty to one on; the oven is
empty on the sun from half past eleven to twenty-five past twelve. A mirror of ±5° is turned after
43 minutes at most on this day, five more before it is lifted.
"""

from __future__ import annotations

import inspect

import pytest

from events.model import Event, Pot, Talk
from events.table import changed
from solver.checking import show_rules
from solver.checking.breach import Breach
from solver.checking.show_rules import showing_loads_take_what_is_free
from solver.plan import Job, Plan, Turn
from solver.programme import Giving, ShowingLoad, TalkPlan
from tests.solver.checking.damage import case, edited, more, place
from tests.solver.checking.hand_laid import EVENT, PLAN, TURNS, at

STEAM = Talk(
    id="steam",
    name="Steam",
    minutes=15,
    start=at("09:00").time(),
    end=at("15:00").time(),
    speaker="cam",
    moment="boil",
)
HEAT = changed(STEAM, id="heat", speaker="ben", moment="over-100")
JUG = Pot(id="jug", name="Jug", litres=2.0, fits=("parabolic",), wash_min=15)
SHOWS = changed(EVENT, talks=(*EVENT.talks, STEAM, HEAT), pots=(*EVENT.pots, JUG))


def load(cooker: str, pot: str | None, loaded: str, lifted: str) -> ShowingLoad:
    return ShowingLoad(
        cooker_id=cooker,
        pot_id=pot,
        water_kg=1.0 if pot else 0.0,
        loaded_at=at(loaded),
        lifted_at=at(lifted),
    )


def giving(talk: Talk, clock: str, shown: ShowingLoad) -> Giving:
    return Giving(
        talk_id=talk.id,
        giving=1,
        at=at(clock),
        minutes=15,
        speaker_id=talk.speaker,
        cooker_id=shown.cooker_id,
        of_100=80,
        load=shown,
    )


IN_JUG = load("mirror", "jug", "12:00", "12:55")
BARE = load("oven", None, "11:30", "12:25")
WATER, EMPTY = giving(STEAM, "12:40", IN_JUG), giving(HEAT, "12:10", BARE)


def job(kind: str, clock: str, who: str, talk: str, cooker: str | None, long: int = 5) -> Job:
    row = {"id": f"{kind}-{talk}", "kind": kind, "at": at(clock), "minutes": long}
    row |= {"helper_ids": tuple(who.split()), "talk_id": talk, "cooker_id": cooker}
    return Job.model_validate(row)


JOBS = (
    job("talk", "12:40", "cam", "steam", None, 15),
    job("talk", "12:10", "ben", "heat", None, 15),
    job("load", "12:00", "ada", "steam", "mirror"),
    job("lift", "12:55", "ada", "steam", "mirror"),
    job("preheat", "11:30", "ben", "heat", "oven"),
)


def turn(cooker: str, clock: str) -> Turn:
    return changed(TURNS[0], id=f"{cooker}-show-{clock}", cooker_id=cooker, at=at(clock))


AIMS = (turn("mirror", "12:00"), turn("mirror", "12:40"), turn("oven", "11:30"))


def plan(
    water: Giving = WATER,
    empty: Giving = EMPTY,
    *,
    jobs: tuple[Job, ...] = JOBS,
    turns: tuple[Turn, ...] = AIMS,
    old: Plan = PLAN,
    now: str = "",
) -> Plan:
    laid = changed(more(jobs=jobs, old=old), turns=(*old.turns, *turns))
    talks = TalkPlan(given=(empty, water), not_given=())
    return changed(laid, talks=talks, replanned_at=at(now) if now else None)


def water(**values: object) -> Giving:
    return giving(STEAM, "12:40", changed(IN_JUG, **values))


def empty(**values: object) -> Giving:
    return giving(HEAT, "12:10", changed(BARE, **values))


def said(some: Plan, event: Event = SHOWS) -> list[Breach]:
    assert some.talks is not None
    talks = {talk.id: talk for talk in event.talks}
    return list(showing_loads_take_what_is_free(case(some, event), some.talks, talks))


def rules(some: Plan, event: Event = SHOWS) -> set[str]:
    return {b.rule for b in said(some, event)}


def test_the_hand_laid_shows_keep_every_rule() -> None:
    assert said(plan()) == []


def test_every_rule_of_shows_is_asked() -> None:
    written = {
        f
        for f in vars(show_rules).values()
        if inspect.isgeneratorfunction(f)
        and next(iter(inspect.signature(f).parameters), "") == "shown"
    }
    assert set(show_rules._RULES) == written


@pytest.mark.parametrize(
    "some",
    [
        plan(changed(WATER, cooker_id="box")),
        plan(water(cooker_id="ring")),
        plan(water(cooker_id="gone")),
    ],
    ids=["beside", "on-gas", "no-cooker"],
)
def test_it_is_on_the_sun_where_its_moment_is_seen(some: Plan) -> None:
    (breach,) = said(some)

    assert breach.rule == "shown-elsewhere"


def test_what_was_taken_off_before_now_is_judged_no_more() -> None:
    beside = changed(WATER, cooker_id="box")

    assert "shown-elsewhere" in rules(plan(beside, now="12:54"))
    assert rules(plan(beside, now="12:55")) == set()


# --- what is shown


def test_only_a_box_stands_empty_on_the_sun_and_only_to_be_hot() -> None:
    bare = [b for b in said(plan(water(pot_id=None))) if b.rule == "empty-on-the-sun"]
    assert bare == [Breach("empty-on-the-sun", ("steam", "mirror"))]
    boil = edited(SHOWS, "talks", "heat", moment="boil")
    assert rules(plan(), boil) == {"empty-on-the-sun"}
    hot = edited(SHOWS, "talks", "steam", moment="over-100")
    assert "empty-on-the-sun" in rules(plan(water(pot_id=None)), hot)


@pytest.mark.parametrize(
    ("values", "rule"),
    [
        ({"water_kg": 2.0}, None),
        ({"water_kg": 2.1}, "pot-too-small"),
        ({"water_kg": 0.1}, None),
        ({"water_kg": 0.0}, "pot-too-small"),
        ({"pot_id": "none"}, "pot-too-small"),
        ({"pot_id": "kettle"}, "pot-does-not-fit"),
    ],
)
def test_its_water_is_in_a_pot_that_holds_it_and_fits(
    values: dict[str, object], rule: str | None
) -> None:
    found = rules(plan(water(**values))) & {"pot-too-small", "pot-does-not-fit"}

    assert found == ({rule} if rule else set())


def test_its_pot_is_one_for_water() -> None:
    assert rules(plan(), edited(SHOWS, "pots", "jug", holds=("pieces",))) == {"pot-does-not-fit"}


def test_it_is_there_in_place_of_no_dish() -> None:
    found = said(plan(), edited(SHOWS, "talks", "steam", dish="stew"))

    assert Breach("showing-load-in-place-of-a-dish", ("steam", "mirror", "stew")) in found


@pytest.mark.parametrize(
    ("moment", "loaded", "lifted", "fits"),
    [
        ("boil", "12:40", "12:55", True),
        ("boil", "12:41", "12:55", False),
        ("boil", "12:00", "12:54", False),
        ("loading", "12:39", "12:55", False),
        ("loading", "12:40", "12:55", True),
        ("loading", "12:52", "12:55", True),  # three minutes before the talk's end
        ("loading", "12:53", "12:55", False),
    ],
)
def test_it_is_on_the_sun_for_all_of_its_talk_or_its_loading_is_seen(
    moment: str, loaded: str, lifted: str, fits: bool
) -> None:
    some = water(loaded_at=at(loaded), lifted_at=at(lifted))
    found = rules(plan(some), edited(SHOWS, "talks", "steam", moment=moment))

    assert ("showing-load-not-in-its-talk" in found) == (not fits)


def test_it_is_put_on_no_earlier_than_two_hours_before() -> None:
    for loaded, early in (("10:40", False), ("10:39", True)):
        found = rules(plan(water(loaded_at=at(loaded))))
        assert ("showing-load-too-early" in found) == early


# --- its place


@pytest.mark.parametrize(
    ("values", "free"),
    [
        ({"lifted_at": at("12:00")}, True),
        ({"lifted_at": at("12:01")}, False),
        ({"loaded_at": at("12:55"), "lifted_at": at("13:30")}, True),
        ({"loaded_at": at("12:54"), "lifted_at": at("13:30")}, False),
        ({"preheat_at": at("12:54"), "loaded_at": at("13:30"), "lifted_at": at("14:00")}, False),
        ({"cooker_id": "box", "lifted_at": at("12:30")}, True),
    ],
)
def test_its_cooker_is_in_no_other_use(values: dict[str, object], free: bool) -> None:
    """The second stew is in the mirror before it."""
    found = rules(plan(old=place("stew-2", PLAN, **values)))

    assert ("cooker-overfull" in found) == (not free)


def test_what_has_left_its_cooker_by_now_is_not_in_its_way() -> None:
    left = place("stew-2", lifted_at=at("12:10"))

    assert "cooker-overfull" in rules(plan(old=left, now="12:09"))
    assert "cooker-overfull" not in rules(plan(old=left, now="12:10"))


def test_two_loads_of_talks_are_not_in_one_cooker_or_pot() -> None:
    """With two jugs both may be there, one in the oven."""
    beside = empty(cooker_id="mirror")
    assert "cooker-overfull" in rules(plan(empty=beside))
    before = empty(cooker_id="mirror", loaded_at=at("11:40"), lifted_at=at("12:00"))
    assert "cooker-overfull" not in rules(plan(empty=before))

    both = empty(pot_id="jug", water_kg=1.0)
    fits = edited(SHOWS, "pots", "jug", fits=("parabolic", "box"))
    assert "too-few-pots" in rules(plan(empty=both), fits)
    assert "too-few-pots" not in rules(plan(empty=both), edited(fits, "pots", "jug", count=2))


@pytest.mark.parametrize(
    ("values", "few"),
    [
        ({"served_at": at("11:45")}, False),  # washed by noon
        ({"served_at": at("11:46")}, True),
        ({"loaded_at": at("13:10"), "served_at": at("14:00")}, False),
        ({"loaded_at": at("13:09"), "served_at": at("14:00")}, True),
        ({"loaded_at": at("12:20"), "served_at": at("12:30")}, True),
    ],
)
def test_its_pot_is_there_and_washed_before_and_after(values: dict[str, object], few: bool) -> None:
    found = said(plan(old=place("rice-1", PLAN, pot_id="jug", **values)))

    short = [Breach("too-few-pots", ("steam", "mirror"), 2, 1)] if few else []
    assert [b for b in found if b.rule == "too-few-pots"] == short


@pytest.mark.parametrize(
    ("values", "inside"),
    [
        ({"opens": at("12:00").time()}, True),
        ({"opens": at("12:01").time()}, False),
        ({"closes": at("12:55").time()}, True),
        ({"closes": at("12:54").time()}, False),
    ],
)
def test_it_is_on_the_sun_in_the_hours_of_the_place_and_of_its_cooker(
    values: dict[str, object], inside: bool
) -> None:
    of_cooker = edited(SHOWS, "cookers", "mirror", **values)
    of_site = changed(SHOWS, site=changed(SHOWS.site, **values))

    assert rules(plan(), of_cooker) == (set() if inside else {"cooker-outside-its-hours"})
    assert ("cooker-outside-its-hours" in rules(plan(), of_site)) == (
        not inside or "opens" in values
    )


@pytest.mark.parametrize(
    ("starts", "ends", "sun"),
    [
        ("12:01", "15:00", True),  # a minute is lost in rounding
        ("12:02", "15:00", False),
        ("08:00", "11:59", True),
        ("08:00", "11:58", False),
    ],
)
def test_its_cooker_has_sun_when_it_is_put_on(starts: str, ends: str, sun: bool) -> None:
    stretch = changed(PLAN.windows[0].stretches[0], starts_at=at(starts), ends_at=at(ends))
    windows = tuple(
        changed(w, stretches=(stretch,)) if w.cooker_id == "mirror" else w for w in PLAN.windows
    )

    found = rules(plan(old=changed(PLAN, windows=windows)))
    assert found == (set() if sun else {"no-usable-sun"})


def test_no_wind_is_stronger_than_its_cooker_bears() -> None:
    """Four metres a second from noon on, six from two."""
    assert rules(plan(), edited(SHOWS, "cookers", "mirror", wind_limit_m_s=4.0)) == set()
    low = edited(SHOWS, "cookers", "mirror", wind_limit_m_s=3.9)
    assert said(plan(), low) == [Breach("too-much-wind", ("steam", "mirror"), 4.0, 3.9)]


def test_what_is_on_the_sun_already_has_had_its_hour_and_its_hands() -> None:
    late = edited(SHOWS, "cookers", "mirror", opens=at("12:30").time())
    unloaded = tuple(j for j in JOBS if j.id != "load-steam")

    assert rules(plan(jobs=unloaded, now="12:00"), late) == set()
    assert rules(plan(jobs=unloaded, now="11:59"), late) == {
        "job-missing",
        "cooker-outside-its-hours",
    }
