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
                yield Place(table).fault("", "", "there is no [contest]", "Add its hours.")
        return
    for table, some in zip(TABLES, rows, strict=True):
        if not some and table != "contest_cooker":
            yield Place(table).fault("", "", "there is none", f"A contest needs a [[{table}]].")
    for rule in _RULES:
        yield from rule(event, event.contest)


def cooker_of(event: Event, entry: Entry) -> Cooker | None:
    """Return the cooker an entry surely has: its own; None where it is drawn, or unknown."""
    return next((c for c in event.contest_cookers if c.id == entry.cooker), None)


def _entries(event: Event) -> Iterator[tuple[Place, Entry]]:
    for n, entry in enumerate(event.entries, 1):
        if not entry.withdrawn:
            yield Place("entry", n, entry.id), entry


def _each_team_has_one_entry(event: Event, _: Contest) -> Iterator[Fault]:
    entered: dict[str, str] = {}
    for place, entry in _entries(event):
        if entry.team in entered:
            limit = f"has entered {entered[entry.team]}"
            yield place.fault("team", repr(entry.team), limit, "One entry a team.")
        entered.setdefault(entry.team, entry.id)


def _own_cookers_are_the_teams(event: Event, _: Contest) -> Iterator[Fault]:
    used: dict[str, str] = {}
    for place, entry in _entries(event):
        cooker = next((c for c in event.contest_cookers if c.id == entry.cooker), None)
        if cooker is None:
            continue
        if cooker.team != entry.team:
            owner = f"belongs to {cooker.team}" if cooker.team else "is to be drawn"
            yield place.fault("cooker", repr(cooker.id), owner, "Name the team's own, or none.")
        if cooker.id in used:
            yield place.fault("cooker", repr(cooker.id), f"cooks {used[cooker.id]}")
        used.setdefault(cooker.id, entry.id)


def _cookers_to_draw_are_enough_and_alike(event: Event, _: Contest) -> Iterator[Fault]:
    drawn = [c for c in event.contest_cookers if c.team is None]
    wanting = [entry for _, entry in _entries(event) if entry.cooker is None]
    if len(wanting) > len(drawn):
        limit = f"{len(wanting)} entries are to be drawn a cooker; there are {len(drawn)}"
        remedy = "Add a [[contest_cooker]] without a team, or name the team's own."
        yield Place("contest_cooker").fault("", "", limit, remedy)
    if len({c.model_dump_json(exclude=ALIKE) for c in drawn}) > 1:
        limit = "those that are drawn must have the same figures"
        yield Place("contest_cooker").fault("like", "", limit, "An unlike one is a team's own.")


def _places_are_enough(event: Event, contest: Contest) -> Iterator[Fault]:
    place, known = Place("contest"), {s.id for s in event.stations}
    for name in contest.stations:
        if name not in known:
            there = f"There are: {', '.join(sorted(known)) or 'none'}."
            yield place.fault("stations", repr(name), "is not in this file", there)
    if doubled := [s for s, n in Counter(contest.stations).items() if n > 1]:
        yield place.fault("stations", repr(doubled[0]), "stands twice", "Name each place once.")
    fixed = [entry.station for _, entry in _entries(event) if entry.station]
    free = set(contest.stations) - set(fixed)
    wanting = sum(entry.station is None for _, entry in _entries(event))
    if len(free) < wanting:
        limit = f"{len(free)} places for {wanting} entries"
        yield place.fault("stations", str(len(contest.stations)), limit, "Add places.")
    for at, entry in _entries(event):
        if entry.station and fixed.count(entry.station) > 1:
            yield at.fault("station", repr(entry.station), "two entries stand there", "Move one.")


def _tastings_have_time(event: Event, contest: Contest) -> Iterator[Fault]:
    place, closed = Place("contest"), sum(b.minutes for b in contest.closed)
    hours = 60 * (contest.end.hour - contest.start.hour) + contest.end.minute
    there = hours - contest.start.minute - closed
    if there <= 0:
        yield place.fault("until", f"{contest.end:%H:%M}", f"must be after {contest.start:%H:%M}")
        return
    span, lanes = contest.span_and_lanes(len(event.judges))
    needed = -(-sum(1 for _ in _entries(event)) // lanes) * span
    if needed > there:
        limit = f"the tastings need {needed} min"
        yield place.fault("until", f"{there} min", limit, "Longer hours, or fewer minutes.")
    if span > contest.held_max_min:
        limit = f"judges one after another keep a pot open {span} min; held_max_min is less"
        remedy = "Let more judges taste at once, or take a table."
        yield place.fault("held_max_min", str(contest.held_max_min), limit, remedy)


def _teams_can_cook(event: Event, _: Contest) -> Iterator[Fault]:
    teams = {t.id: t for t in event.teams}
    drawn = next((c for c in event.contest_cookers if c.team is None), None)
    for n, team in enumerate(event.teams, 1):
        if team.young >= team.people:
            limit = "all its people are young"
            yield Place("team", n, team.id).fault("young", str(team.young), limit, "Add an adult.")
    for place, entry in _entries(event):
        known, cooker = teams.get(entry.team), cooker_of(event, entry) or drawn
        if known is None or cooker is None:
            continue
        if cooker.nature.concentrates and not known.trained:
            limit = "cooks in a mirror; nobody in the team may work one"
            yield place.fault("team", repr(entry.team), limit, "Write trained = true if one may.")
        if cooker.kind not in entry.dish.kinds:
            yield place.fault("cooker", cooker.kind, "is not for this dish", "Another dish.")
        if entry.dish.lift_helpers > known.people:
            limit = f"its pot takes {entry.dish.lift_helpers} people to lift"
            yield place.fault("team", str(known.people), limit, "A smaller pot, or more people.")


def _the_runner_is_adult(event: Event, contest: Contest) -> Iterator[Fault]:
    adults = {h.id for h in event.helpers if h.adult}
    if contest.runner is not None and contest.runner not in adults:
        yield Place("contest").fault("runner", repr(contest.runner), "is no adult helper")


def _judges_taste_something(event: Event, contest: Contest) -> Iterator[Fault]:
    for n, judge in enumerate(event.judges, 1):
        if judge.end <= contest.start or judge.start >= contest.end:
            limit = "is not there while entries are tasted"
            yield Place("judge", n, judge.id).fault("from", f"{judge.start:%H:%M}", limit)


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
