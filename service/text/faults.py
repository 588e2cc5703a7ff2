"""A fault in words: where it is, what stands there, what would be right, what to do."""

from __future__ import annotations

from dataclasses import asdict

from events.errors import Fault, FaultyEvent
from events.reading.schema import LISTS


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


def fault_advice(fault: Fault) -> str:
    """Return what stands there, what would be right and what to do: for the field itself."""
    shown = f"{fault.value}: " if fault.value else ""
    return f"{shown}{fault.limit}. {fault.remedy}".rstrip()


def fault_text(fault: Fault) -> str:
    """Return a fault in one line, its place first."""
    shown = f" is {fault.value}" if fault.value else ""
    return f"{fault_place(fault)}{shown}: {fault.limit}. {fault.remedy}".rstrip()


def fault_json(fault: Fault) -> dict[str, object]:
    """Return a fault's fields, and its text for people."""
    return asdict(fault) | {"text": fault_text(fault)}


def faults_text(error: FaultyEvent) -> list[str]:
    """Return what a file's refusal says: how many faults, then each."""
    return [
        f"{error.source}: {len(error.faults)} fault(s)",
        *(f"  {fault_text(f)}" for f in error.faults),
    ]
