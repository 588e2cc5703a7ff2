"""What every table of an event file is made of: frozen, checked, copied with changed()."""

from __future__ import annotations

import re
from datetime import time
from typing import Annotated, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, StringConstraints, WithJsonSchema

from events.quantities import within

CLOCK = "^([01]?[0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?$"
# A local clock time; JSON Schema's own "time" wants an offset from UTC, which a clock has not.
Time = Annotated[time, WithJsonSchema({"type": "string", "pattern": CLOCK, "examples": ["12:30"]})]
Id = Annotated[str, StringConstraints(pattern=r"^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?$")]
# Control signs, and those that turn the order of writing round: a name could pass for another, and
# PostgreSQL stores no NUL.
_UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]+")


def _seen(text: object) -> object:
    """Return a text with a space for what nobody can see."""
    return _UNSEEN.sub(" ", text) if isinstance(text, str) else text


Name = Annotated[
    str,
    BeforeValidator(_seen),
    StringConstraints(min_length=1, max_length=80, strip_whitespace=True),
]
Minutes = Annotated[int, within("minutes")]
RawTable = dict[str, object]  # a table as TOML or JSON has it, not yet checked


class Table(BaseModel):
    """A table of an event file: frozen, and an unknown key is a fault."""

    model_config = ConfigDict(frozen=True, extra="forbid")


Model = TypeVar("Model", bound=BaseModel)


def changed(model: Model, **values: object) -> Model:
    """Return a copy with other values, validated; raises ValidationError where one can't be.

    Never `model_copy(update=…)`: it checks nothing, and copies an event's look-ups.
    """
    same = {name: getattr(model, name) for name in type(model).model_fields}
    return type(model).model_validate(same | values)
