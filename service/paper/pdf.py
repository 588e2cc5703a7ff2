"""The paper as PDF, set by typst: data go in as JSON, never as source."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Literal

from events.model import Event
from service.paper.content import facts
from solver.plan import Plan

Paper = Literal["a4", "us-letter"]


def pdf(
    event: Event, plan: Plan, *, paper: Paper = "a4", base_url: str = "", made_clock: str = ""
) -> bytes:
    """Return the whole paper of a plan as a tagged PDF."""
    import typst  # noqa: PLC0415  the compiler, only where paper is asked for

    content = facts(event, plan, base_url=base_url, made_clock=made_clock)
    source = (files("service") / "paper" / "sheets.typ").read_bytes()
    document = typst.compile(
        source, sys_inputs={"data": json.dumps(content, ensure_ascii=False), "paper": paper}
    )
    assert isinstance(document, bytes)
    return document
