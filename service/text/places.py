"""A place read back to whom has typed it: is this the one, how high, when is the sun up there?"""

from __future__ import annotations

from datetime import date, datetime

from service.application.places import Daylight
from service.text.formatting import long_date, plain_hour

FOOT_M = 0.3048


def sun_line(light: Daylight, day: date, *, us: bool) -> str:
    """Return when the sun is up on a day: Sun up 5:25 am to 7:14 pm, 77° at its highest, UTC-7."""
    zone = utc_offset(light, day)
    if light.up_at is None or light.down_at is None:
        return f"The sun does not rise there on {long_date(day)}. {zone}."
    clock_h = 12 if us else 24
    up, down = (plain_hour(light.local(at).time(), clock_h) for at in (light.up_at, light.down_at))
    return (
        f"{long_date(day)}: sun up {up} to {down}, {light.highest_deg:.0f}° at its highest, {zone}."
    )


def utc_offset(light: Daylight, day: date) -> str:
    """Return how the clocks of a place stand to UTC on a day: UTC-7, UTC+5:30."""
    offset = datetime(day.year, day.month, day.day, 12, tzinfo=light.zone).utcoffset()
    minutes = round((offset.total_seconds() if offset else 0) / 60)
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'-' if minutes < 0 else '+'}{hours}" + (f":{rest:02d}" if rest else "")


def height_line(altitude_m: int | None, near: str, *, us: bool) -> str:
    """Return how high a spot lies and where that is from; asks where it is not known."""
    if altitude_m is None:
        return "How high it lies is not known here: give it below, for water boils cooler high up."
    height = f"{altitude_m / FOOT_M:.0f} ft" if us else f"{altitude_m} m"
    if near:
        return f"The nearest town is {near}, {height} above the sea: change it if you are higher."
    return f"{height} above the sea."
