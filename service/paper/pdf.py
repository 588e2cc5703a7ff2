"""The paper as PDF, set by typst: data go in as JSON, never as source."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from importlib.resources import files
from typing import Literal

from events.model import Event
from service.paper.content import PARTS, Part, facts
from service.paper.station_card import Facts
from solver.plan import Plan

Paper = Literal["a4", "us-letter", "a5"]
_PAGE = re.compile(rb"/Type ?/Page\b")


def pdf(
    event: Event,
    plan: Plan,
    *,
    paper: Paper = "a4",
    parts: Sequence[Part] = PARTS,
    base_url: str = "",
    made_clock: str = "",
) -> bytes:
    """Return the paper of a plan, whole or the parts that are asked for, as a tagged PDF."""
    content = facts(event, plan, parts=parts, base_url=base_url, made_clock=made_clock)
    return typeset("sheets.typ", content, paper)


def pages_of(document: bytes) -> int:
    """Return how many pages a PDF of ours has."""
    return len(_PAGE.findall(document))


def typeset(sheet: str, content: Facts, paper: Paper) -> bytes:
    """Return the PDF that a sheet of this folder makes of words and figures."""
    import typst  # noqa: PLC0415  the compiler, only where paper is asked for

    sources = str(files("service") / "paper")
    document = typst.compile(
        f"{sources}/{sheet}",
        root=sources,
        sys_inputs={"data": json.dumps(content, ensure_ascii=False), "paper": paper},
    )
    assert isinstance(document, bytes)
    return document
