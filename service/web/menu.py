"""The menu of an event's pages: each role sees only what opens for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from events.model import Event
from events.storage.tables import Role
from service.access import RANK


@dataclass(frozen=True)
class MenuEntry:
    """A page of the menu: its path under the event, and the least role that may see it."""

    name: str
    path: str
    least: Role = "organiser"
    shown: Callable[[Event], bool] = lambda _: True  # in whose menu it stands


MENU = (
    MenuEntry("Plan", "/plan/dishes"),
    MenuEntry("The day", "", "helper"),
    MenuEntry("Run sheet", "/sheet", "helper"),
    MenuEntry("Stations", "/stations", "helper"),
    MenuEntry("Jobs", "/jobs", "helper"),
    MenuEntry("Rota", "/rota", "helper", lambda event: bool(event.groups)),
    MenuEntry("Now", "/today"),
    MenuEntry("Serve now", "/now", "helper"),
    MenuEntry("Diary", "/diary"),
    MenuEntry("Paper", "/paper"),
    MenuEntry("More", "/more"),
)
ON_NOW = "/now"  # organisers get there from the page Now


def menu(role: Role, event: Event) -> list[MenuEntry]:
    """Return what a role finds in an event's menu."""
    return [
        entry
        for entry in MENU
        if RANK[role] >= RANK[entry.least] and not (role == "organiser" and entry.path == ON_NOW)
        if entry.shown(event)
    ]
