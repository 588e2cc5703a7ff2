"""The menu of an event's pages: each role sees only what opens for it."""

from __future__ import annotations

from dataclasses import dataclass

from events.storage.tables import Role
from service.access import RANK


@dataclass(frozen=True)
class MenuEntry:
    """A page of the menu: its path under the event, and the least role that may see it."""

    name: str
    path: str
    least: Role = "organiser"


MENU = (
    MenuEntry("Plan", "/plan/dishes"),
    MenuEntry("The day", "", "helper"),
    MenuEntry("Run sheet", "/sheet", "helper"),
    MenuEntry("Stations", "/stations", "helper"),
    MenuEntry("Jobs", "/jobs", "helper"),
    MenuEntry("Now", "/today"),
    MenuEntry("Serve now", "/now", "helper"),
    MenuEntry("Diary", "/diary"),
    MenuEntry("Paper", "/paper"),
    MenuEntry("More", "/more"),
)
ON_NOW = "/now"  # organisers get there from the page Now


def menu(role: Role) -> list[MenuEntry]:
    """Return what a role finds in the menu."""
    return [
        entry
        for entry in MENU
        if RANK[role] >= RANK[entry.least] and not (role == "organiser" and entry.path == ON_NOW)
    ]
