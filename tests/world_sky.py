"""The sun and the clear sky of the world in tests/world.py, written anew and from memory."""

from __future__ import annotations

import math
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import numpy as np

from events.model import Event


def minute(event: Event, at: datetime | time) -> float:
    """Return the minutes since local midnight."""
    zone = ZoneInfo(event.site.timezone)
    midnight = datetime.combine(event.date, time(0), tzinfo=zone)
    if isinstance(at, time):
        at = datetime.combine(event.date, at, tzinfo=zone)
    return (at.astimezone(UTC) - midnight.astimezone(UTC)).total_seconds() / 60


def sun_way(event: Event) -> tuple[np.ndarray, np.ndarray]:
    """Return (height, azimuth) in degrees by minute. Source: Cooper 1969 declination, equation of
    time after Spencer 1971 (both from memory); a quarter of a degree is enough here.
    """
    site, day = event.site, event.date.timetuple().tm_yday
    b = 2 * math.pi * (day - 1) / 365
    eot = 229.18 * (
        0.000075
        + 0.001868 * math.cos(b)
        - 0.032077 * math.sin(b)
        - 0.014615 * math.cos(2 * b)
        - 0.04089 * math.sin(2 * b)
    )
    midnight = datetime.combine(event.date, time(0), tzinfo=ZoneInfo(site.timezone))
    utc = midnight.astimezone(UTC)
    base = (utc.hour * 60 + utc.minute) - (1440 if utc.date() < event.date else 0)
    clock = np.arange(1440) + base + 4 * site.longitude_deg + eot
    hour = np.radians((clock - 720) / 4)
    dec = math.radians(23.45 * math.sin(2 * math.pi * (284 + day) / 365))
    lat = math.radians(site.latitude_deg)
    sine = math.sin(lat) * math.sin(dec) + math.cos(lat) * math.cos(dec) * np.cos(hour)
    height = np.arcsin(np.clip(sine, -1, 1))
    azimuth = np.arctan2(
        -np.sin(hour) * math.cos(dec),
        math.sin(dec) * math.cos(lat) - math.cos(dec) * math.sin(lat) * np.cos(hour),
    )
    return np.degrees(height), np.degrees(azimuth) % 360


def clear_beam(height_deg: np.ndarray, altitude_m: float) -> np.ndarray:
    """Return a clear beam in W/m². Source: Meinel & Meinel 1976 (from memory)."""
    up = np.maximum(height_deg, 0.1)
    mass = 1 / (np.sin(np.radians(up)) + 0.15 * (up + 3.885) ** -1.253)
    thin = 0.14 * altitude_m / 1000
    beam = 1353 * ((1 - thin) * 0.7 ** (mass**0.678) + thin)
    return np.where(height_deg > 0, beam, 0.0)
