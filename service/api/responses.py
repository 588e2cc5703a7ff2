"""What every route under /api may answer: refusals in one shape."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, TypeVar

from fastapi import Response
from pydantic import BaseModel, Field

from events.fault_kinds import FaultKind
from service.application.waiting import Waiting
from service.dependencies import in_time

T = TypeVar("T")


class FaultAnswer(BaseModel):
    """One mistake in a file or a request: where it is, what stands there, the limit, what to do."""

    table: str = Field(examples=["dish"], description="empty for the whole file")
    number: int | None = Field(examples=[2], description="which row of the table, from 1")
    id: str = Field(examples=["stew"])
    key: str = Field(examples=["portions"])
    value: str = Field(examples=["0"], description="what stands there")
    kind: FaultKind = Field(examples=["at-least"])
    figures: dict[str, bool | float | str | list[str]] = Field(examples=[{"least": 1}])
    limit: str = Field(examples=["must be at least 1"])
    remedy: str
    text: str = Field(description="all of it in one line")


class Problem(BaseModel):
    """A refusal, as RFC 9457 has it, with every fault in `faults`."""

    type: str
    title: str
    status: int
    detail: str
    faults: list[FaultAnswer] = []


PROBLEM = {"model": Problem, "content": {"application/problem+json": {}}}
REFUSALS: dict[int | str, dict[str, object]] = {404: PROBLEM, 422: PROBLEM}


class StillCounting(BaseModel):
    """A solver works at the answer. Ask again: the same question is worked at once."""

    state: Literal["asked"] = "asked"
    retry_after_s: int = 2


COUNTING: dict[int | str, dict[str, object]] = {202: {"model": StillCounting}}


async def answered(
    ask: Callable[[], Waiting[T]], response: Response, *, wait_s: float | None
) -> T | StillCounting:
    """Return a solver's answer, or with 202 that it is still being counted."""
    answer = await in_time(ask, wait_s=wait_s)
    if answer is not None:
        return answer
    later = StillCounting()
    response.status_code = 202
    response.headers["retry-after"] = str(later.retry_after_s)
    return later
