"""What an operator may set: by environment, or by `noonfare serve`'s options."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path

# An open public feed that asks for no key; its form and its terms are from memory.
OPEN_FEED = (
    "https://api.open-meteo.com/v1/forecast?latitude={lat}&longitude={lon}"
    "&hourly=cloud_cover,temperature_2m,wind_speed_10m&wind_speed_unit=ms"
    "&timezone=auto&forecast_days=16"
)
OPEN_FEED_CREDIT = "Open-Meteo.com, CC BY 4.0"


@dataclass(frozen=True)
class Settings:
    """Where the data are, whether the demo runs, how many solves at once."""

    database_url: str = field(default_factory=lambda: os.environ.get("NOONFARE_DATABASE", ""))
    data_dir: Path = Path("noonfare-data")
    # True: plans are made by `noonfare worker`, told through PostgreSQL; else by this process.
    queue: bool = field(default_factory=lambda: os.environ.get("NOONFARE_QUEUE", "") == "postgres")
    forecast_url: str = field(default_factory=lambda: os.environ.get("NOONFARE_FORECAST_URL", ""))
    forecast_credit: str = field(
        default_factory=lambda: os.environ.get("NOONFARE_FORECAST_CREDIT", "fetched forecast")
    )
    forecast_wait_s: float | None = 8.0
    # Opens /operator, /metrics and the house's own cookers; without one, nobody may.
    operator_key: str = field(
        default_factory=lambda: os.environ.get("NOONFARE_OPERATOR_KEY", ""), repr=False
    )
    demo: bool = False
    open: bool = False  # everybody on the network may see and change every event
    # Starts it again, as it was started, for all of this machine's networks.
    start_for_network: str = "noonfare serve --host 0.0.0.0"
    # Further names at which phones reach an open service; it answers to no others.
    hosts: tuple[str, ...] = field(
        default_factory=lambda: tuple(os.environ.get("NOONFARE_HOSTS", "").split())
    )
    solvers: int = 2  # processes for plans; one of them gives advice too, one more does re-plans
    watch_days: bool = True  # days that run are looked at by themselves while pages are open
    solver_memory_mb: int = 2000  # that one solve may take
    solver_work_s: float = 300.0  # of processor time that one solve may take
    page_wait_s: float | None = 3.0  # for a long answer; then the page shows that it is computed
    api_wait_s: float | None = 100.0  # for a long answer; then 503. None: as long as it takes
    requests_a_minute: int = 1200  # by one key, or by one address without a key

    @property
    def keyless(self) -> bool:
        """Return whether everybody who reaches the service may see and change every event."""
        return self.demo or self.open

    @property
    def file(self) -> Path | None:
        """Return the database's file; None where it is a server's."""
        if self.database_url:
            prefix, _, path = self.database_url.partition(":///")
            return Path(path) if prefix == "sqlite" else None
        return self.data_dir / "noonfare.db"

    @property
    def on_postgres(self) -> bool:
        """Return whether the database is a PostgreSQL server."""
        return self.database_url.startswith("postgresql")

    def url(self) -> str:
        """Return the database's URL; without one, a file in the data directory."""
        if self.database_url:
            return self.database_url
        self.data_dir.mkdir(parents=True, exist_ok=True)
        return f"sqlite:///{(self.data_dir / 'noonfare.db').resolve()}"
