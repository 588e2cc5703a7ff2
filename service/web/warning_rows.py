"""A plan's warnings as rows for templates, each with links to where it can be mended."""

from __future__ import annotations

from dataclasses import dataclass

from events.model import Event
from events.storage.tables import Role
from service.text.notices import TOPIC
from service.text.warnings import SaidWarning, said_warnings
from solver.notices import WarningKind
from solver.plan import Plan

# Where a warning of the whole day is mended; those of batches are on the pages of these.
MENDED: dict[WarningKind, tuple[str, str]] = {
    "set-up-early": ("/plan/site", "Change the crew’s hours"),
    "tipped-far": ("/plan/cookers", "Change the cookers"),
    "strong-wind": ("/plan/cookers", "Say what each bears"),
    "no-weather": ("/plan/site", "To the sky"),
    "sky-supposed": ("/plan/site", "To the sky"),
    "food-rules": ("/plan/site", "Choose the rules"),
    "too-few-rings": ("/go", "How many all of it takes"),
    "beans-boil-cool": ("/plan/dishes", "Change the dishes"),
    "boils-away": ("/plan/dishes", "Change the dishes"),
}


@dataclass(frozen=True)
class WarningRow:
    """A warning: its text, what a phone folds it under (empty: it stands open), and its links."""

    kind: WarningKind
    text: str
    topic: str
    links: list[tuple[str, str]]


def warning_rows(event: Event, plan: Plan, base: str, role: Role) -> list[WarningRow]:
    """Return a plan's warnings, the heaviest first; only organisers get links, for they mend."""
    return [
        WarningRow(
            kind=said.kind,
            text=said.text,
            topic=TOPIC.get(said.kind, ""),
            links=_links(event, said, base) if role == "organiser" else [],
        )
        for said in said_warnings(event, plan.warnings)
    ]


def _links(event: Event, said: SaidWarning, base: str) -> list[tuple[str, str]]:
    if said.kind in ("fire-rules-unread", "nobody-to-call"):
        return []  # a press, a field stands beside it
    if said.kind in MENDED:
        path, words = MENDED[said.kind]
        return [(base + path, words)]
    if said.kind == "unmeasured":
        first = event.cooker(said.about[0].cooker_ids[0])
        return [(f"{base}/stations/{first.id}/measure", f"Measure {first.name}")]
    return [
        (f"{base}/batch/{w.placement_id}", f"Change {event.dish(w.dish_ids[0]).name}")
        for w in said.about
    ]
