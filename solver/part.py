"""What every part of a plan is made of: frozen, an unknown key is a fault."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Part(BaseModel):
    """A part of a plan: frozen."""

    model_config = ConfigDict(frozen=True, extra="forbid")
