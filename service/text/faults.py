"""A fault in words: where it is, what stands there, what would be right, what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from typing import Literal, NamedTuple, Protocol

from events.errors import Fault, FaultyEvent, Figure
from events.fault_kinds import FaultKind
from events.reading.schema import LISTS
from service.text import event_fault_words as event
from service.text.fault_words import FILE, Words
from service.text.formatting import listed, plain_hour
from service.text.page_fault_words import PAGE

WORDS: Mapping[FaultKind, Words] = {
    **FILE,
    **event.DAY,
    **event.COOKERS,
    **event.FOOD,
    **event.CONTEST,
    **event.ROTA,
    **PAGE,
}


class Manner(Protocol):
    """How figures are said: an event and a file that was refused both know it."""

    @property
    def units(self) -> str:
        """Metric or us."""

    @property
    def clock_h(self) -> int:
        """Of 24 hours or 12."""


class InFiles(NamedTuple):
    """As a file says them, unless it says otherwise."""

    units: Literal["metric", "us"] = "metric"
    clock_h: Literal[12, 24] = 24


class SaidFault(NamedTuple):
    """The parts of a fault, each in words."""

    place: str
    value: str
    limit: str
    remedy: str

    @property
    def advice(self) -> str:
        """Return what stands there, what would be right and what to do: for the field itself."""
        shown = f"{self.value}: " if self.value else ""
        return f"{shown}{self.limit}. {self.remedy}".rstrip()

    @property
    def text(self) -> str:
        """Return a fault in one line, its place first."""
        shown = f" is {self.value}" if self.value else ""
        return f"{self.place}{shown}: {self.limit}. {self.remedy}".rstrip()


@dataclass(frozen=True)
class _Said:
    """A figure in a sentence: by the unit that its name ends in, or as a format asks for it."""

    name: str
    figure: Figure
    manner: Manner

    def __format__(self, form: str) -> str:
        if isinstance(self.figure, tuple):
            return listed([*self.figure], form) if form else ", ".join(self.figure) or "none"
        return format(self.figure, form) if form else _plain(self.name, self.figure, self.manner)


# A name's ending: how it is said, how in US units, and how these are worked out (factor, zero).
_UNITS: dict[str, tuple[str, str, float, float]] = {
    "_c": ("{:g} °C", "{:.0f} °F", 9 / 5, 32.0),
    "_kelvin": ("{:g} °C", "{:.0f} °F", 9 / 5, 0.0),
    "_m": ("{:.0f} m", "{:.0f} ft", 1 / 0.3048, 0.0),
    "_min": ("{:g} min", "{:g} min", 1.0, 0.0),
    "_pct": ("{:.0f} %", "{:.0f} %", 1.0, 0.0),
    "_w_k": ("{:g} W/K", "{:g} W/K", 1.0, 0.0),
    "_w_m2": ("{:g} W/m²", "{:g} W/m²", 1.0, 0.0),
}


IN_FILES = InFiles()


def said(
    fault: Fault,
    manner: Manner = IN_FILES,
    words_of: Mapping[FaultKind, Words] = WORDS,
    **more: str,
) -> SaidFault:
    """Return a fault's parts in words, its figures as an event or a file says them.

    `more` are further names that the words may have in braces.
    """
    words = words_of[fault.kind]
    figures = {name: _Said(name, f, manner) for name, f in fault.figures.items()}
    known = {
        "table": fault.table,
        "key": fault.key,
        "value": _plain("", fault.value, manner),
        "how_to_know": event.HOW_TO_KNOW.get(fault.key, ""),
        **figures,
        **more,
    }
    remedy = 'Did you mean "{near}"?' if fault.figures.get("near") else words.remedy

    return SaidFault(
        fault_place(fault),
        words.value.format(**known),
        words.limit.format(**known),
        remedy.format(**known),
    )


def _plain(name: str, figure: Figure, manner: Manner) -> str:
    """Return a figure as it stands in a sentence."""
    if isinstance(figure, time):
        return plain_hour(figure, manner.clock_h)
    if isinstance(figure, bool):
        return str(figure).lower()
    if isinstance(figure, (str, date, tuple)):
        return str(figure)
    for ending, (metric, us, factor, zero) in _UNITS.items():
        if name.endswith(ending):
            is_us = manner.units == "us"
            return us.format(figure * factor + zero) if is_us else metric.format(figure)
    return str(figure) if isinstance(figure, int) else f"{figure:g}"


def fault_place(fault: Fault) -> str:
    """Return where a fault is, as the file heads it: [[dish]] 2 (stew) portions."""
    if fault.table in LISTS:
        name = f"[[{fault.table}]]"
    else:
        name = f"[{fault.table}]" if fault.table in ("site", "weather") else fault.table
    number = "" if fault.number is None else str(fault.number)
    # A row of a list names itself; a row of readings is told by the file that it stands in.
    parts = (name, number, f"({fault.id})" if fault.id else "", fault.key)
    return " ".join(part for part in parts if part) or "file"


def fault_json(fault: Fault, manner: Manner = IN_FILES) -> dict[str, object]:
    """Return a fault's fields, and its text for people."""
    words = said(fault, manner)
    return {
        "table": fault.table,
        "number": fault.number,
        "id": fault.id,
        "key": fault.key,
        "value": words.value,
        "kind": fault.kind,
        "figures": {name: _as_json(figure) for name, figure in fault.figures.items()},
        "limit": words.limit,
        "remedy": words.remedy,
        "text": words.text,
    }


def _as_json(figure: Figure) -> object:
    """Return a figure as JSON has it: a time as HH:MM."""
    if isinstance(figure, time):
        return f"{figure:%H:%M}"
    return [*figure] if isinstance(figure, tuple) else figure


def faults_text(error: FaultyEvent) -> list[str]:
    """Return what a file's refusal says: how many faults, then each."""
    return [
        f"{error.source}: {len(error.faults)} fault(s)",
        *(f"  {said(f, error).text}" for f in error.faults),
    ]
