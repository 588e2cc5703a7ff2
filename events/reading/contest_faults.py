"""What can't be so in a contest: cookers of another team, too few places, no time to taste."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from events.contest import Contest, Entry
from events.errors import Fault, Place
from events.kitchen import Cooker
from events.model import Event

ALIKE = {"id", "name", "station", "provenance", "team", "like"}  # what may differ when drawn
TABLES = ("team", "entry", "contest_cooker", "judge", "criterion")


def contest_faults(event: Event) -> Iterator[Fault]:
    """Yield every fault of a contest, or that its tables stand without one."""
    rows = (event.teams, event.entries, event.contest_cookers, event.judges, event.criteria)
    if event.contest is None:
        for table, some in zip(TABLES, rows, strict=True):
            if some:
                yield Place(table).fault("", "", "no-contest")
        return
    for table, some in zip(TABLES, rows, strict=True):
        if not some and table != "contest_cooker":
            yield Place(table).fault("", "", "contest-needs")
    for rule in _RULES:
        yield from rule(event, event.contest)


def cooker_of(event: Event, entry: Entry) -> Cooker | None:
    """Return the cooker an entry surely has: its own; None where it is drawn, or unknown."""
    return next((c for c in event.contest_cookers if c.id == entry.cooker), None)


def _team(event: Event, id: str) -> str:
    return next((t.name for t in event.teams if t.id == id), id)


def _entries(event: Event) -> Iterator[tuple[Place, Entry]]:
    for n, entry in enumerate(event.entries, 1):
        if not entry.withdrawn:
            yield Place("entry", n, entry.id), entry


def _each_team_has_one_entry(event: Event, _: Contest) -> Iterator[Fault]:
    entered: dict[str, str] = {}
    for place, entry in _entries(event):
        if entry.team in entered:
            other = entered[entry.team]
            yield place.fault("team", _team(event, entry.team), "second-entry", other=other)
        entered.setdefault(entry.team, entry.name)


def _own_cookers_are_the_teams(event: Event, _: Contest) -> Iterator[Fault]:
    used: dict[str, str] = {}
    for place, entry in _entries(event):
        cooker = next((c for c in event.contest_cookers if c.id == entry.cooker), None)
        if cooker is None:
            continue
        if cooker.team is None:
            yield place.fault("cooker", cooker.name, "cooker-is-drawn")
        elif cooker.team != entry.team:
            owner = _team(event, cooker.team)
            yield place.fault("cooker", cooker.name, "cooker-of-another", team=owner)
        if cooker.id in used:
            yield place.fault("cooker", cooker.name, "cooker-in-use", entry=used[cooker.id])
        used.setdefault(cooker.id, entry.name)


def _cookers_to_draw_are_enough_and_alike(event: Event, _: Contest) -> Iterator[Fault]:
    drawn = [c for c in event.contest_cookers if c.team is None]
    wanting = [entry for _, entry in _entries(event) if entry.cooker is None]
    if len(wanting) > len(drawn):
        yield Place("contest_cooker").fault(
            "team", "", "too-few-to-draw", entries=len(wanting), cookers=len(drawn)
        )
    if len({c.model_dump_json(exclude=ALIKE) for c in drawn}) > 1:
        yield Place("contest_cooker").fault("like", "", "drawn-unlike")


def _places_are_enough(event: Event, contest: Contest) -> Iterator[Fault]:
    place, known = Place("contest"), {s.id for s in event.stations}
    for name in contest.stations:
        if name not in known:
            yield place.fault("stations", repr(name), "not-in-file", known=tuple(sorted(known)))
    if doubled := [s for s, n in Counter(contest.stations).items() if n > 1]:
        yield place.fault("stations", repr(doubled[0]), "station-twice")
    fixed = [entry.station for _, entry in _entries(event) if entry.station]
    free = set(contest.stations) - set(fixed)
    wanting = sum(entry.station is None for _, entry in _entries(event))
    if len(free) < wanting:
        there = len(contest.stations)
        yield place.fault("stations", there, "too-few-places", free=len(free), entries=wanting)
    for at, entry in _entries(event):
        if entry.station and fixed.count(entry.station) > 1:
            name = next((s.name for s in event.stations if s.id == entry.station), entry.station)
            yield at.fault("station", name, "two-at-station")


def _tastings_have_time(event: Event, contest: Contest) -> Iterator[Fault]:
    place, closed = Place("contest"), sum(b.minutes for b in contest.closed)
    hours = 60 * (contest.end.hour - contest.start.hour) + contest.end.minute
    there = hours - contest.start.minute - closed
    if there <= 0:
        yield place.fault("until", contest.end, "not-after", first="from", start=contest.start)
        return
    span, lanes = contest.span_and_lanes(len(event.judges))
    needed = -(-sum(1 for _ in _entries(event)) // lanes) * span
    if needed > there:
        yield place.fault("until", there, "tastings-too-long", needed_min=needed)
    if span > contest.held_max_min:
        yield place.fault("held_max_min", contest.held_max_min, "open-too-long", open_min=span)


def _teams_can_cook(event: Event, _: Contest) -> Iterator[Fault]:
    teams = {t.id: t for t in event.teams}
    drawn = next((c for c in event.contest_cookers if c.team is None), None)
    for n, team in enumerate(event.teams, 1):
        if team.young >= team.people:
            yield Place("team", n, team.id).fault("young", team.young, "all-young")
    for place, entry in _entries(event):
        known, cooker = teams.get(entry.team), cooker_of(event, entry) or drawn
        if known is None or cooker is None:
            continue
        if cooker.nature.concentrates and not known.trained:
            yield place.fault("team", known.name, "team-untrained")
        if cooker.kind not in entry.dish.kinds:
            yield place.fault("cooker", cooker.kind, "not-for-this-dish")
        if entry.dish.lift_helpers > known.people:
            lift = entry.dish.lift_helpers
            yield place.fault("team", known.people, "too-heavy-for-team", people=lift)


def _the_runner_is_adult(event: Event, contest: Contest) -> Iterator[Fault]:
    adults = {h.id for h in event.helpers if h.adult}
    if contest.runner is not None and contest.runner not in adults:
        yield Place("contest").fault("runner", repr(contest.runner), "runner-not-adult")


def _judges_taste_something(event: Event, contest: Contest) -> Iterator[Fault]:
    for n, judge in enumerate(event.judges, 1):
        if judge.end <= contest.start or judge.start >= contest.end:
            yield Place("judge", n, judge.id).fault("from", judge.start, "judge-away")


_RULES: list[Callable[[Event, Contest], Iterator[Fault]]] = [
    _each_team_has_one_entry,
    _own_cookers_are_the_teams,
    _cookers_to_draw_are_enough_and_alike,
    _places_are_enough,
    _tastings_have_time,
    _teams_can_cook,
    _the_runner_is_adult,
    _judges_taste_something,
]
