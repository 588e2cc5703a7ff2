"""Times, dates, temperatures, masses and sizes as an event says them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from events.model import Cooker, Event
from solver.plan import Placement, Stretch

INCH_M, FOOT_M, QUART_L = 0.0254, 0.3048, 0.946352946


def clock(event: Event, at: datetime) -> str:
    """Return an instant as local time: 14:05, or 2:05 pm where the event says so."""
    return hour(event, at.astimezone(event.zone).time())


def lift_time(event: Event, batch: Placement, *, after: str = " ") -> str:
    """Return when a pot is lifted; last, where it is served out of its cooker until then."""
    last = f"last{after}" if batch.lifted_at > batch.served_at else ""
    return last + clock(event, batch.lifted_at)


def stretches(
    event: Event, sunny: Sequence[Stretch], *, to: str = " to ", none: str = "none on this day"
) -> str:
    """Return stretches of sun as clock times: 09:10 to 16:05."""
    spans = [f"{clock(event, s.starts_at)}{to}{clock(event, s.ends_at)}" for s in sunny]
    return ", ".join(spans) or none


def day_clock(event: Event, at: datetime) -> str:
    """Return an instant as day and local time: Fri 27 Nov, 18:00."""
    local = at.astimezone(event.zone)
    day, month = _DAYS[local.weekday()][:3], _MONTHS[local.month - 1][:3]
    return f"{day} {local.day} {month}, {clock(event, at)}"


def tick(event: Event, at: datetime) -> str:
    """Return an instant as short as an axis has room for: 08:30, or 8:30, or 8 am."""
    if event.clock_h == 24:
        return clock(event, at)
    whole, half = clock(event, at).split(" ")
    return f"{whole.removesuffix(':00')} {half}" if whole.endswith(":00") else whole


def hour(event: Event, at: time) -> str:
    """Return a local clock time as the event says it."""
    return plain_hour(at, event.clock_h)


def plain_hour(at: time, clock_h: int) -> str:
    """Return a clock time by a clock of 24 or of 12 hours."""
    if clock_h == 24:
        return f"{at:%H:%M}"
    return f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


def same_day(event: Event, at: datetime) -> bool:
    """Return whether an instant lies on the event's local day."""
    return local_date(at, event.zone) == event.date


def temp(event: Event, at_c: float) -> str:
    """Return a temperature in the event's units."""
    if event.units == "us":
        return f"{at_c * 9 / 5 + 32:.0f} °F"
    return f"{at_c:.0f} °C"


def rough_temp(event: Event, at_c: float) -> str:
    """Return a computed temperature as nearly as it is known: to 5 °C, or 10 °F."""
    if event.units == "us":
        return f"{round((at_c * 9 / 5 + 32) / 10) * 10} °F"
    return f"{round(at_c / 5) * 5} °C"


def mass(event: Event, kg: float) -> str:
    """Return a mass in the event's units."""
    if event.units == "us":
        pounds = kg / 0.45359237
        ounces = f"{pounds * 16:.0f} oz" if pounds * 16 >= 2 else f"{pounds * 16:.1f} oz"
        return f"{pounds:.1f} lb" if pounds >= 0.95 else ounces
    return f"{kg:.1f} kg" if kg >= 0.95 else f"{kg * 1000:.0f} g"


def volume(event: Event, litres: float) -> str:
    """Return a volume of water in the event's units, rounded up."""
    if event.units == "us":
        return f"{math.ceil(litres / 3.785411784)} gal"
    return f"{math.ceil(litres)} litres"


def span(event: Event, cm: float, *, digits: int = 0) -> str:
    """Return a short length in the event's units."""
    if event.units == "us":
        return f"{cm / 2.54:.{digits + 1}f} in"
    return f"{cm:.{digits}f} cm"


# A line of so many mm on paper, by a ruler in inches: 16ths are within 0.05 mm of it.
_INCHES = {100: "3 15/16 in", 200: "7 7/8 in"}


def pin(event: Event, mm: int) -> str:
    """Return how long a pin of the aiming card is, in the event's units."""
    return _INCHES[mm] if event.units == "us" else f"{mm // 10} cm"


def metres(event: Event, m: float) -> str:
    """Return a way to walk in the event's units."""
    return f"{round(m / 0.3048)} ft" if event.units == "us" else f"{round(m)} m"


_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]


def long_date(day: date) -> str:
    """Return a date as people say it, whatever the machine's locale."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def month_name(month: int) -> str:
    """Return a month's name, 1 to 12."""
    return _MONTHS[month - 1]


def short_day(day: date) -> str:
    """Return a date as briefly as it can be said inside its month: Sat 12."""
    return f"{_DAYS[day.weekday()][:3]} {day.day}"


def local_date(at: datetime, zone: ZoneInfo) -> date:
    """Return the local date of an instant."""
    return at.astimezone(zone).date()


def size(cooker: Cooker, units: str = "metric") -> str:
    """Return how big a cooker is, as people say it for its kind."""
    us = units == "us"
    if cooker.nature.sized_by == "diameter":
        across_m = cooker.opening_width_m
        return f"{across_m / INCH_M:.0f} in" if us else f"{across_m:.1f} m"
    if cooker.nature.sized_by == "opening":
        area_m2 = cooker.aperture_m2 or 0.0
        return f"{area_m2 / FOOT_M**2:.1f} sq ft" if us else f"{area_m2:.2f} m²"
    return f"{cooker.litres / QUART_L:.0f} qt" if us else f"{cooker.litres:.0f} L"


def part(placement: Placement) -> str:
    """Return " 1 of 2" for a dish that was split, else nothing."""
    return f" {placement.batch} of {placement.batches}" if placement.batches > 1 else ""


def lower_first(name: str) -> str:
    """Return a name as it stands inside a sentence."""
    return name[:1].lower() + name[1:]


def sentences(parts: Sequence[str]) -> str:
    """Return parts as what follows a title, each with a capital: ". Lid on. Probe it"."""
    return "".join(f". {part[:1].upper()}{part[1:]}" for part in parts if part)


def listed(names: list[str], last: str = "and") -> str:
    """Return names as people list them: one, two and three."""
    return f" {last} ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def joined(names: Sequence[str]) -> str:
    """Return names of things that are numbered together: Boxes 1–3 and 5, Panel."""
    groups: dict[str, list[int]] = {}
    for name in names:
        stem, _, number = name.rpartition(" ")
        if stem and number.isdecimal():
            groups.setdefault(stem, []).append(int(number))
        else:
            groups.setdefault(name, [])
    return ", ".join(_numbered(stem, sorted(numbers)) for stem, numbers in groups.items())


def _numbered(stem: str, numbers: list[int]) -> str:
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    said = [f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs]
    plural = "es" if stem.endswith(("x", "s", "ch", "sh")) else "s"
    return f"{stem}{plural if len(numbers) > 1 else ''} {listed(said)}".strip() if said else stem


def spreadsheet_cell(value: object) -> str:
    """Return a CSV cell that no spreadsheet takes for a formula."""
    text = "" if value is None else str(value)
    return f"'{text}" if text[:1] in "=+-@\t\r" else text
