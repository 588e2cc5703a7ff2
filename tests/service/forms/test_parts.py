"""A contest and groups that go round, made by a short form and typed over row by row."""

from __future__ import annotations

import pytest

from events.errors import FaultyEvent
from events.model import Event
from events.reading.event_file import read_table
from events.table import changed
from service.forms.event_form import Table, event_of, rows_of, with_rows, with_singles
from service.forms.part_start import (
    CONTEST_TABLES,
    ROTA_TABLES,
    contest_begun,
    contest_usual,
    ended,
    rota_begun,
    rota_usual,
)
from service.forms.refusals import refusal_lines
from tests.conftest import sample_event

CONTEST = sample_event("twelve-pots")
ROUNDS = sample_event("school-rounds")


def ids(table: Table, kind: str) -> list[str]:
    return [str(row["id"]) for row in rows_of(table, kind)]


def row(name: str, **typed: str) -> dict[str, str]:
    """Return one row of a form as it is sent."""
    return {f"{name}.id": name, **{f"{name}.{key}": text for key, text in typed.items()}}


def said(event: Event, kind: str, form: dict[str, str]) -> list[str]:
    """Return what is said of a table as typed."""
    table = with_rows(event, kind, form, {})
    with pytest.raises(FaultyEvent) as refused:
        event_of(table)
    return refusal_lines(refused.value.faults, table)


@pytest.mark.parametrize("sample", ["harvest-lunch", "cook-off", "school-day", "winter-refusal"])
@pytest.mark.parametrize("own", ["", "on"])
def test_a_contest_begins_whole_on_any_day_and_goes_without_a_trace(sample: str, own: str) -> None:
    event = changed(sample_event(sample), clock_h=12)
    typed = contest_usual(event) | {"own": own, "teams": "7", "codes": "30"}

    begun = event_of(contest_begun(event, typed))

    assert len(begun.teams) == len(begun.entries) == len(begun.contest_cookers) == 7
    assert {c.team is None for c in begun.contest_cookers} == {not own}
    assert len({e.name for e in begun.entries}) == 7
    assert begun.votes.codes == 30
    after = read_table(ended(begun, CONTEST_TABLES), source="ended")
    assert changed(after, stations=event.stations) == event


@pytest.mark.parametrize("sample", ["harvest-lunch", "cook-off", "winter-refusal"])
def test_groups_begin_whole_with_a_stop_at_each_kind_of_cooker_on_the_sun(sample: str) -> None:
    event = sample_event(sample)
    typed = rota_usual(event) | {"young": "on", "adults": "Mrs A, Mr B, Ms C, Mx D"}

    begun = event_of(rota_begun(event, typed))

    assert [g.adult for g in begun.groups] == ["Mrs A", "Mr B", "Ms C", "Mx D"]
    kinds = [event.cooker(s.cookers[0]).kind for s in begun.stops]
    assert sorted(kinds) == sorted({c.kind for c in event.cookers if c.on_sun})
    assert read_table(ended(begun, ROTA_TABLES), source="ended") == event


@pytest.mark.parametrize("count", ["", "0", "61", "six", "1.5"])
def test_what_is_no_number_of_teams_is_asked_back_by_the_name_of_its_field(count: str) -> None:
    event = sample_event("harvest-lunch")

    with pytest.raises(FaultyEvent) as refused:
        contest_begun(event, contest_usual(event) | {"teams": count})

    assert refusal_lines(refused.value.faults) == [
        f"Contest, Teams: “{count}” is not a whole number from 1 to 60."
    ]


def test_a_new_team_brings_its_entry_its_cooker_and_a_place() -> None:
    form = {"new1.name": "Late ones", "new1.people": "2", "new1.dish": "lentil-soup"}
    form |= {"new1.brings": "box-hot", "new4.name": "Without a dish", "new4.people": "4"}

    typed = event_of(with_rows(CONTEST, "team", form, {}))

    assert [t.name for t in typed.teams[-2:]] == ["Late ones", "Without a dish"]
    entry = typed.entries[-1]
    assert (entry.team, entry.dish.like) == ("late-ones", "lentil-soup")
    assert typed.contest_cooker(entry.cooker or "").team == "late-ones"
    assert len(typed.contest.stations if typed.contest else ()) == 14
    assert len(typed.entries) == 13


def test_a_team_that_is_left_out_takes_its_entry_its_cooker_and_its_kin_along() -> None:
    typed = event_of(with_rows(CONTEST, "team", {"t05.drop": "on"}, {}))

    assert "t05" not in [e.team for e in typed.entries]
    assert "own-05" not in [c.id for c in typed.contest_cookers]
    assert typed.judge("j4").kin == ()


def test_another_dish_takes_the_place_of_the_one_before_with_nothing_of_it() -> None:
    first = event_of(with_rows(CONTEST, "entry", row("e03", also_contains="kiwi"), {}))
    form = row("e03", like="pumpkin-soup", whole="on", also_contains="kiwi")
    form["e03.name"] = "Soup after all"

    entry = event_of(with_rows(first, "entry", form, {})).entry("e03")

    same = CONTEST.entry("e04").dish
    assert (entry.name, entry.team, entry.cooker) == ("Soup after all", "t03", "own-03")
    assert entry.dish.composition == same.composition
    assert entry.dish.allergens == same.allergens
    assert entry.dish.also_contains == same.also_contains
    both = with_rows(first, "entry", form | {"e03.allergens": "nuts"}, {})
    assert "nuts" in event_of(both).entry("e03").dish.allergens  # ticked in the same moment


def test_a_cooker_that_becomes_a_teams_own_is_cooked_in_and_one_that_is_taken_away_is_not() -> None:
    given = with_rows(CONTEST, "contest_cooker", row("house-1", team="t07"), {})
    taken = with_rows(CONTEST, "contest_cooker", row("own-01", team=""), {})

    assert {e["id"]: e.get("cooker") for e in rows_of(given, "entry")}["e07"] == "house-1"
    assert "cooker" not in {e["id"]: e for e in rows_of(taken, "entry")}["e01"]


def test_places_are_drawn_that_are_ticked_and_new_ones_are() -> None:
    form = row("p13", whole="on") | {"new2.name": "Place 14", "new2.x_m": "42", "new2.y_m": "8"}

    typed = event_of(with_rows(CONTEST, "station", form, {}))

    stations = typed.contest.stations if typed.contest else ()
    assert stations == (*(f"p{n:02d}" for n in range(1, 13)), "place-14")
    kitchen = with_rows(CONTEST, "station", row("kitchen", whole="on", drawn="on"), {})
    assert "kitchen" in str(kitchen["contest"])


def test_an_adult_typed_by_a_helpers_name_is_that_helper() -> None:
    form = row("red", adult="AKINYI") | row("blue", adult="Mrs Akinyi")

    groups = event_of(with_rows(ROUNDS, "group", form, {})).groups

    assert [g.adult for g in groups[:2]] == ["akinyi", "Mrs Akinyi"]


def test_who_or_what_is_left_out_leaves_the_round_and_the_contest() -> None:
    guided = with_rows(ROUNDS, "helper", {"wanja.drop": "on"}, {})
    seen = with_rows(ROUNDS, "cooker", {"box.drop": "on"}, {})
    skipped = with_rows(ROUNDS, "group", row("red", skips="build-stop", whole="on"), {})
    carried = with_rows(CONTEST, "helper", {"cleo.drop": "on"}, {})

    assert "guide" not in {s["id"]: s for s in rows_of(guided, "stop")}["build-stop"]
    assert {s["id"]: s for s in rows_of(seen, "stop")}["oven-stop"]["cookers"] == []
    assert event_of(skipped).group("red").skips == ("build-stop",)
    without = with_rows(event_of(skipped), "stop", {"build-stop.drop": "on"}, {})
    assert event_of(without).group("red").skips == ()
    assert "runner" not in str(carried["contest"])


def test_breaks_are_typed_as_a_time_and_minutes_and_asked_back_by_their_label() -> None:
    form = row("contest", closed="2 pm 15, 14:45 5")

    contest = event_of(with_singles(CONTEST, ("contest",), form)).contest

    assert contest is not None
    assert [(f"{b.at:%H:%M}", b.minutes) for b in contest.closed] == [("14:00", 15), ("14:45", 5)]
    for wrong in ("14:00", "later 15", "14:00 some"):
        table = with_singles(CONTEST, ("contest",), row("contest", closed=wrong))
        with pytest.raises(FaultyEvent) as refused:
            event_of(table)
        assert "Contest, Judges’ breaks: " in refusal_lines(refused.value.faults, table)[0]


def test_a_walk_is_typed_in_feet_where_the_event_shows_them() -> None:
    event = changed(ROUNDS, units="us")

    typed = event_of(with_singles(event, ("rota",), row("rota", walk_ft_min="100")))

    assert typed.rota.walk_m_min == 30  # 100 international feet are 30.48 m


@pytest.mark.parametrize(
    ("event", "kind", "form", "says"),
    [
        (
            CONTEST,
            "team",
            row("t04", young="4"),
            ["Form 4b, Young among them: 4: all its people are young. Add an adult."],
        ),
        (
            CONTEST,
            "team",
            row("t03", whole="on"),
            [
                "Green curry, Cooked by: Green Hands: cooks in a mirror; nobody in the team may "
                "work one. Say that one is trained, if one is; or take another cooker."
            ],
        ),
        (
            CONTEST,
            "entry",
            row("e01", cooker="own-02"),
            [
                "Red lentils, Their own cooker: Slow box: belongs to Slow and Sure. Name the "
                "team's own, or none.",
                "Tomato pot, Their own cooker: Slow box: cooks Red lentils already.",
            ],
        ),
        (
            CONTEST,
            "contest_cooker",
            {"house-6.drop": "on"},
            [
                "Cooker of the contest, Whose: 6 entries are to be drawn a cooker; there are 5. "
                "Add a cooker of the contest that is no team's, or name the team's own."
            ],
        ),
        (
            CONTEST,
            "judge",
            {f"j{n}.drop": "on" for n in range(1, 7)},
            ["There is no judge yet. Add at least one."],
        ),
        (
            CONTEST,
            "criterion",
            {"new3.name": "Looks", "new3.weight": "0"},
            ["Looks, Weight: 0 is too little. Type 1 or more."],
        ),
        (
            ROUNDS,
            "group",
            row("red", adult=""),
            ["Red, Adult with them: the young go round with a named adult. Name one."],
        ),
        (
            ROUNDS,
            "stop",
            {"new1.name": "Nowhere"},
            ["Nowhere, Where: a stop needs a place. Name it, or say how far east and north."],
        ),
    ],
)
def test_a_refusal_names_the_row_and_the_field_as_the_page_does(
    event: Event, kind: str, form: dict[str, str], says: list[str]
) -> None:
    assert said(event, kind, form) == says
