"""The menu of an event's pages, by time of use; each role sees only what opens for it."""

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


@dataclass(frozen=True)
class MenuSection:
    """Pages that are used at the same time; the first of them is where its name leads."""

    name: str
    pages: tuple[MenuEntry, ...]


PLANNER = (
    MenuEntry("Dishes", "/plan/dishes"),
    MenuEntry("Place and hours", "/plan/site"),
    MenuEntry("Cookers", "/plan/cookers"),
    MenuEntry("Pots", "/plan/pots"),
    MenuEntry("Meals", "/plan/servings"),
    MenuEntry("Helpers", "/plan/helpers"),
    MenuEntry("Talks", "/plan/talks"),
    MenuEntry("Contest", "/plan/contest", shown=lambda event: event.contest is not None),
    MenuEntry("Groups", "/plan/rota", shown=lambda event: bool(event.groups)),
    MenuEntry("Check", "/plan/check"),
)
ON_NOW = "/now"  # organisers get there from the page Now
SECTIONS = (
    MenuSection(
        "The day",
        (
            MenuEntry("The day", "", "helper"),
            MenuEntry("What would help", "/help"),
            MenuEntry("Go or not", "/go"),
            MenuEntry("What if", "/what-if"),
            MenuEntry("Versions", "/versions"),
            MenuEntry("The year", "/year"),
        ),
    ),
    MenuSection("Plan", PLANNER),
    MenuSection(
        "On the day",
        (
            MenuEntry("Now", "/today"),
            MenuEntry("Run sheet", "/sheet", "helper"),
            MenuEntry("Stations", "/stations", "helper"),
            MenuEntry("To show", "/show", "helper"),
            MenuEntry("Jobs", "/jobs", "helper"),
            MenuEntry("Contest", "/contest", "helper", lambda event: event.contest is not None),
            MenuEntry("Rota", "/rota", "helper", lambda event: bool(event.groups)),
            MenuEntry("Serve now", ON_NOW, "helper"),
            MenuEntry("Diary", "/diary"),
            MenuEntry("Temperatures", "/temperatures"),
            MenuEntry("Board", "/board"),
        ),
    ),
    MenuSection("Hand out", (MenuEntry("Links", "/links"), MenuEntry("Paper", "/paper"))),
    MenuSection("After", (MenuEntry("How it went", "/afterwards"),)),
)


def menu(role: Role, event: Event) -> list[MenuEntry]:
    """Return what a role finds in the head: sections; for who has few pages, all of them."""
    sections = [(s.name, pages) for s in SECTIONS if (pages := _open_to(role, event, s.pages))]
    if role != "organiser":
        return [page for _, pages in sections for page in pages]
    return [MenuEntry(name, pages[0].path) for name, pages in sections]


def section_of(role: Role, event: Event, page_path: str | None) -> MenuSection | None:
    """Return the section that a page is in, with what opens of it; None for who has no sections."""
    for section in SECTIONS if role == "organiser" else ():
        if any(page.path == page_path for page in section.pages):
            return MenuSection(section.name, tuple(_open_to(role, event, section.pages)))
    return None


def _open_to(role: Role, event: Event, pages: tuple[MenuEntry, ...]) -> list[MenuEntry]:
    return [
        page
        for page in pages
        if RANK[role] >= RANK[page.least] and not (role == "organiser" and page.path == ON_NOW)
        if page.shown(event)
    ]
