"""The sun of a day at a spot: to read back to whom has just typed a town's name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from events.reading.event_file import zone_at
from solver.solar.position import local_day, position, window

RISE_DEG = -0.833  # the sun's upper edge on a level horizon: half its disc, and refraction


@dataclass(frozen=True)
class Daylight:
    """When the sun is up on a day, by the clocks there; None where it does not rise."""

    zone: ZoneInfo
    up_at: datetime | None
    down_at: datetime | None
    highest_deg: float

    def local(self, at: datetime) -> datetime:
        """Return an instant by the clocks there."""
        return at.astimezone(self.zone)


@lru_cache(maxsize=256)
def daylight(latitude_deg: float, longitude_deg: float, day: date) -> Daylight:
    """Return when the sun rises and sets there, and how high it stands at most."""
    zone_name = zone_at(latitude_deg, longitude_deg)
    up = window(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        day=day,
        zone_name=zone_name,
        low_deg=RISE_DEG,
    )
    start, end = local_day(day, zone_name)
    noon = (
        up[0].starts_at + (up[0].ends_at - up[0].starts_at) / 2 if up else start + (end - start) / 2
    )
    highest, _ = position(noon, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    return Daylight(
        zone=ZoneInfo(zone_name),
        up_at=up[0].starts_at if up else None,
        down_at=up[-1].ends_at if up else None,
        highest_deg=highest,
    )
