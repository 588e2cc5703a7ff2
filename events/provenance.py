"""Where a figure comes from: a kind that the program may ask for, and a note for people."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import StringConstraints, model_validator

from events.table import Table

Source = Literal[
    "given",  # typed by the organiser
    "measured",  # by a test, or from facts seen in the field
    "learnt",  # from the readings of a day
    "computed",  # from the cooker's shape
    "geometry",  # follows from the entry's own size or shape
    "practice",  # common practice, no published source
    "published",  # printed somewhere; the note says where
    "memory",  # a published figure or formula, quoted from memory
    "fitted",  # chosen so that the whole does what common practice says
    "typical",  # typical, unmeasured
    "scaled",  # as the catalogue has it, scaled by the opening
]
TRUSTED: frozenset[Source] = frozenset({"given", "measured", "learnt"})


class Provenance(Table):
    """The kind of a figure's source, and a note; a file may give the kind alone."""

    kind: Source
    note: Annotated[str, StringConstraints(max_length=200)] = ""

    @model_validator(mode="before")
    @classmethod
    def _kind_alone(cls, value: object) -> object:
        return {"kind": value} if isinstance(value, str) else value
