"""The forecast as a table: a row for each hour of the day, typed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time

from events.model import Event
from events.site import WeatherHour
from service.forms.fields import Field, shown, typed

MPH_M_S = 0.44704
NUMBER = Field("", "", "number")
# What each column is in a file, in either units.
FILE_KEYS = {
    "metric": {"cloud": "cloud_pct", "air": "air_c", "wind": "wind_m_s"},
    "us": {"cloud": "cloud_pct", "air": "air_f", "wind": "wind_mph"},
}
# What a refusal calls each of them.
SKY_LABELS = {
    "cloud_pct": "cloud, %",
    "air_c": "air, °C",
    "air_f": "air, °F",
    "wind_m_s": "wind, m/s",
    "wind_mph": "wind, mph",
}


@dataclass(frozen=True)
class SkyCell:
    """A field of the table: its name in the form, its column, what stands in it."""

    name: str
    column: str
    text: str


@dataclass(frozen=True)
class SkyRow:
    """An hour of the table."""

    start: time
    cells: tuple[SkyCell, ...]


def sky_rows(event: Event) -> list[SkyRow]:
    """Return the hours that the crew is there, and those that the forecast has besides."""
    held = {hour.start: hour for hour in event.weather.hours}
    whole = {time(h) for h in range(event.site.opens.hour, event.site.closes.hour + 1)}
    return [_row(event, start, held.get(start)) for start in sorted(whole | held.keys())]


def typed_hours(event: Event, form: Mapping[str, str]) -> list[dict[str, object]] | None:
    """Return the hours as they are typed; None where the table stands as it was shown.

    A row that is empty is left out: the hour before goes on. So does an empty cell of a row.
    """
    rows = sky_rows(event)
    cells = [cell for row in rows for cell in row.cells]
    if all(form.get(cell.name, cell.text).strip() == cell.text for cell in cells):
        return None
    hours: list[dict[str, object]] = []
    before: dict[str, str] = {}
    for row in rows:
        texts = {cell.column: form.get(cell.name, cell.text).strip() for cell in row.cells}
        if any(texts.values()):
            before |= {column: text for column, text in texts.items() if text}
            hours.append(_hour(event, row.start, before))
    return hours


def _hour(event: Event, start: time, texts: Mapping[str, str]) -> dict[str, object]:
    keys = FILE_KEYS[event.units]
    values = {keys[column]: typed(NUMBER, text) for column, text in texts.items()}
    # The cloud is never assumed: left out in the first row, it is asked back.
    return {"start": f"{start:%H:%M}", keys["cloud"]: "", **values}


def _row(event: Event, start: time, hour: WeatherHour | None) -> SkyRow:
    texts = _texts(event, hour) if hour else ("", "", "")
    names = (f"sky.{start:%H:%M}.{column}" for column in FILE_KEYS["metric"])
    columns = zip(names, FILE_KEYS["metric"], texts, strict=True)
    return SkyRow(start, tuple(SkyCell(*cell) for cell in columns))


def _texts(event: Event, hour: WeatherHour) -> tuple[str, str, str]:
    if event.units != "us":
        return shown(hour.cloud_pct), shown(hour.air_c), shown(hour.wind_m_s)
    air_f, wind_mph = round(hour.air_c * 9 / 5 + 32), round(hour.wind_m_s / MPH_M_S)
    return shown(hour.cloud_pct), shown(air_f), shown(wind_mph)
