"""How the service is, for programs that watch it."""

from __future__ import annotations

from dataclasses import asdict

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, Field

from service.access import for_role
from service.api.responses import PROBLEM
from service.dependencies import ServicesDep

router = APIRouter(tags=["operations"])


class HealthAnswer(BaseModel):
    """The database answers; this runs and that waits."""

    database: str = Field(default="answers", examples=["answers"])
    running: int = Field(description="solves that run")
    waiting: int = Field(description="solves that wait")
    oldest_wait_s: float = Field(description="how long the oldest of them has waited")


@router.get("/health", responses={503: PROBLEM})
@for_role("anyone")
def read_health(services: ServicesDep) -> HealthAnswer:
    """Return how the service is; 503 where its database is away or locked."""
    health = services.operations.health()
    return HealthAnswer(
        running=health.running, waiting=health.waiting, oldest_wait_s=health.oldest_wait_s
    )


@router.get("/metrics", response_class=Response, responses={404: PROBLEM})
@for_role("operator")
def read_metrics(services: ServicesDep, request: Request) -> Response:
    """Return what is counted, in Prometheus' text form. Needs the operator's key."""
    gauges = {f"noonfare_{k}": float(v) for k, v in asdict(services.operations.health()).items()}
    lines = getattr(request.app.state, "lines", None)
    gauges["noonfare_live_lines"] = float(lines.count() if lines else 0)
    return Response(services.metrics.text(gauges), media_type="text/plain; version=0.0.4")
