"""What one table of a contest brings into another: a new team its entry, its cooker a use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from itertools import chain, count

from events.reading.catalogue import entries
from service.forms.references import new_id, rows_in
from service.text.catalogue import name_in
from service.text.formatting import lower_first

Table = dict[str, object]
# Places stand in rows of six, so far apart. Common practice, no published source.
A_ROW, APART_M = 6, 6
PORTIONS = 6  # of an entry, where nobody says otherwise: shown, and to be changed


def enter(table: Table, team: Table, like: str, brings: str, units: str) -> None:
    """Enter a team with a dish of the catalogue, in a cooker it brings or one that is drawn."""
    name = name_in(entries("dish").get(like, {"name": like}), units)
    taken = {r["name"] for r in rows_in(table, "entry")}
    name = next(n for n in chain([name], (f"{name} {k}" for k in count(2))) if n not in taken)
    id = new_id(str(team["id"]), {str(r["id"]) for r in rows_in(table, "entry")})
    entry: Table = {"id": id, "team": team["id"], "name": name, "like": like, "portions": PORTIONS}
    if brings:
        cookers = rows_in(table, "contest_cooker")
        own = f"{team['name']}’s {lower_first(name_in(entries('cooker')[brings], units))}"[:80]
        entry["cooker"] = new_id(f"own {team['id']}", {str(r["id"]) for r in cookers})
        cooker = {"id": entry["cooker"], "like": brings, "team": team["id"], "name": own}
        table["contest_cooker"] = [*cookers, cooker]
    table["entry"] = [*rows_in(table, "entry"), entry]


def bring_entries(
    table: Table, form: Mapping[str, str], new: str, teams: Sequence[Table], units: str
) -> None:
    """Enter each team that was added, where its row says with what, and give it a place."""
    contest = table.get("contest")
    for team in teams:
        if (like := form.get(f"{new}.dish", "")) and isinstance(contest, dict):
            enter(table, team, like, form.get(f"{new}.brings", ""), units)
            contest["stations"] = [*contest["stations"], *add_places(table, 1)]


def add_places(table: Table, teams: int) -> list[str]:
    """Add places in rows beyond those there are; return their ids."""
    there = rows_in(table, "station")
    taken = {str(s["id"]) for s in there}
    norths = [s["y_m"] for s in there if isinstance(s.get("y_m"), (int, float))]
    north = max((float(n) for n in norths if isinstance(n, (int, float))), default=-APART_M)
    added: list[Table] = []
    for n in range(teams):
        name = f"Place {len(there) + n + 1}"
        row: Table = {"id": new_id(name, taken), "name": name}
        row |= {"x_m": APART_M * (n % A_ROW), "y_m": north + APART_M * (1 + n // A_ROW)}
        taken.add(str(row["id"]))
        added.append(row)
    table["station"] = [*there, *added]
    return [str(row["id"]) for row in added]


def give_own(table: Table, old: Mapping[str, Table]) -> None:
    """Let a team cook in the cooker that became its own, where its entry names no other."""
    for cooker in rows_in(table, "contest_cooker"):
        was = old.get(str(cooker["id"]), {}).get("team")
        team = cooker.get("team")
        for entry in rows_in(table, "entry"):
            if entry.get("cooker") == cooker["id"] and team != was and entry["team"] != team:
                entry.pop("cooker")
        for entry in rows_in(table, "entry") if team and team != was else []:
            if entry["team"] == team:
                entry.setdefault("cooker", cooker["id"])


def draw_ticked(table: Table, form: Mapping[str, str], old: Set[str]) -> None:
    """Let those places be drawn that are ticked, and new ones; those that stay keep their order."""
    contest = table.get("contest")
    if not isinstance(contest, dict):
        return
    drawn = contest.get("stations", [])
    there = [str(s["id"]) for s in rows_in(table, "station")]
    ticked = {
        id
        for id in there
        if (form.get(f"{id}.drawn") == "on" if f"{id}.whole" in form else id in drawn)
        or id not in old
    }
    kept = [id for id in drawn if id in ticked]
    contest["stations"] = [*kept, *(id for id in there if id in ticked and id not in drawn)]
