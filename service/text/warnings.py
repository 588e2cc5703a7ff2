"""A plan's warnings as people read them: those of one kind together, the heaviest first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from events.model import Event
from service.text.notices import batch_name, warning, warning_parts
from solver.notices import CARRIES, PlanWarning, WarningKind

HEAVIEST_FIRST: tuple[WarningKind, ...] = (
    *("do-not-serve", "warmed-again", "beans-boil-cool"),
    *("boils-dry", "warm-long", "loaded-frozen", "strong-wind", "tipped-far"),
    *("fire-rules-unread", "nobody-to-call", "set-up-early"),
    *("late-beyond-gas", "late-on-gas", "late-on-a-poor-day", "stands-long"),
    *("too-few-rings", "boils-away", "pale", "unmeasured", "no-weather", "sky-supposed"),
    "food-rules",
)


@dataclass(frozen=True)
class SaidWarning:
    """What is warned of in one breath, and of what: of a dish its worst batch."""

    kind: WarningKind
    text: str
    about: tuple[PlanWarning, ...]


def said_warnings(event: Event, warnings: Sequence[PlanWarning]) -> list[SaidWarning]:
    """Return warnings merged by kind where they are of batches, the heaviest first."""
    by_kind: defaultdict[WarningKind, list[PlanWarning]] = defaultdict(list)
    for found in warnings:
        by_kind[found.kind].append(found)
    said: list[SaidWarning] = []
    for kind in sorted(by_kind, key=HEAVIEST_FIRST.index):
        if by_kind[kind][0].placement_id is None:
            said += [SaidWarning(kind, warning(event, found), (found,)) for found in by_kind[kind]]
        else:
            said += _merged(event, by_kind[kind])
    return said


def warning_lines(event: Event, warnings: Sequence[PlanWarning]) -> list[str]:
    """Return what is warned of, a text for each kind."""
    return [said.text for said in said_warnings(event, warnings)]


def _merged(event: Event, found: Sequence[PlanWarning]) -> list[SaidWarning]:
    """Return warnings of one kind: one for each thing to do, whose dishes and figures it names."""
    of_dish: defaultdict[str, list[PlanWarning]] = defaultdict(list)
    for one in found:
        of_dish[one.dish_ids[0]].append(one)
    by_remedy: defaultdict[str, list[tuple[str, str, PlanWarning]]] = defaultdict(list)
    for of in of_dish.values():
        worst = max(of, key=_weight)
        is_all = len(of) == worst.figures.get("batches", 1)
        name = event.dish(worst.dish_ids[0]).name if is_all else _parts(event, of)
        fact, remedy = warning_parts(event, worst)
        by_remedy[remedy].append((name, fact, worst))
    return [
        SaidWarning(found[0].kind, _sentences(same, remedy), tuple(worst for *_, worst in same))
        for remedy, same in by_remedy.items()
    ]


def _weight(found: PlanWarning) -> float:
    """Return how bad a batch's figure is: the longer, the more, the colder."""
    figures = CARRIES.get(found.kind, ())
    worst = found.figures[figures[0]] if figures else 0.0
    return -worst if figures and figures[0].endswith("_c") else worst


def _parts(event: Event, of: Sequence[PlanWarning]) -> str:
    return " and ".join([batch_name(event, of[0]), *(f"{_part(one)}" for one in of[1:])])


def _part(found: PlanWarning) -> str:
    return f"{found.figures['batch']:.0f} of {found.figures['batches']:.0f}"


def _sentences(same: Sequence[tuple[str, str, PlanWarning]], remedy: str) -> str:
    names: defaultdict[str, list[str]] = defaultdict(list)
    for name, fact, _ in same:
        names[fact].append(name)
    facts = "; ".join(f"{', '.join(of)}: {fact}" for fact, of in names.items())
    return f"{facts}. {remedy}".strip()
