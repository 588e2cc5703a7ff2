"""What is wrong with a file as a file: how it is written, its tables, keys and values, its size.

Each kind of fault has its limit ("it must be so") and what to do. A figure in braces is said by
the unit that its name ends in; `{table}`, `{key}` and `{value}` are where and what stands.
"""

from __future__ import annotations

from typing import NamedTuple

from events.fault_kinds import FaultKind


class Words(NamedTuple):
    """What a kind of fault says: what must be so, what to do, and how the value is shown."""

    limit: str
    remedy: str = ""
    value: str = "{value}"


def own_words(limit: str, remedy: str = "") -> Words:
    """Return words that say the value themselves, where it belongs in the sentence."""
    return Words(limit, remedy, value="")


_ONE_EVENT = "One file holds one event."
_EACH_MONTH = "Give one for each month, January first."

FILE: dict[FaultKind, Words] = {
    # The file as a whole.
    "not-utf8": Words("is not UTF-8 text", "Save it as UTF-8."),
    "no-such-path": Words("{why}", "Check the path."),
    "empty-file": Words(
        "is empty", 'Start with format = 1, a title and a date; see "noonfare schema".'
    ),
    "not-toml": Words("is not TOML: {why}", "Mend that line; text stands in quotes."),
    "not-json": Words("is not JSON: {why}"),
    "not-json-object": Words("is not a JSON object"),
    "too-many-bytes": Words("bytes: {most} is the most", _ONE_EVENT),
    "too-many-tables": Words("tables: {most} is the most", _ONE_EVENT),
    "too-many-commas": Words("commas: {most} is the most", _ONE_EVENT),
    "too-many-words": Words("numbers and names: {most} is the most", _ONE_EVENT),
    "too-many-keys": Words("keys: {most} is the most", _ONE_EVENT),
    "too-many-dots": Words("dots in one key: {most} is the most", _ONE_EVENT),
    "too-long-quoted": Words("letters in one text: {most} is the most", _ONE_EVENT),
    "too-long-word": Words("letters in one number or key: {most} is the most", _ONE_EVENT),
    "too-deep": Words("brackets inside each other: {most} is the most", _ONE_EVENT),
    # Its tables and their keys.
    "not-one-table": Words("is not a table", "Head it with [{table}]."),
    "not-a-list": Words("is not a list", "Head each with [[{table}]]."),
    "not-a-table": Words("is not a table"),
    "too-many-rows": Words("{most} is the most", "Leave some out.", "{value} of them"),
    "unknown-key": Words("is not a key here", "Remove it, or see noonfare schema."),
    "missing": Words("is missing", "Add {key} = …"),
    "given-too": Words("{other} is given too", "Keep one."),
    "no-site": Words("is missing", "Give latitude_deg, longitude_deg."),
    "id-taken": Words("is taken", "Give each its own id."),
    "not-in-file": Words("is not in this file", "There are: {known}."),
    "not-in-catalogue": Words("is not in the catalogue", "{known}"),
    "no-folder": Words(
        "names a file, and there is no folder",
        "Put the figures in the event file, or use the command with a file on disk.",
    ),
    "unreadable-file": Words("can't be read: {why}", "Check the path."),
    # One value.
    "whole-number": Words("must be a whole number"),
    "number": Words("must be a number"),
    "not-a-number": Words("is not a number"),
    "true-or-false": Words("must be true or false"),
    "text": Words("must be text"),
    "not-empty": Words("must not be empty"),
    "text-too-long": Words("must have at most {most} characters"),
    "small-letters": Words("must be small letters, digits and hyphens"),
    "time": Words("must be a time, as 12:30"),
    "date": Words("must be a date, as 2026-11-28"),
    "instant": Words("must be a date with a time, as 2026-11-28T10:40:00+02:00"),
    "instant-form": Words("write an instant like 2026-11-28T10:40:00+02:00"),
    "instant-offset": Words("add the offset from UTC: 2026-11-28T10:40:00+02:00"),
    "instant-year": Words("the year must be 1950 to 2150"),
    "list": Words("must be a list"),
    "list-too-long": Words("must have at most {most} entries"),
    "list-too-short": Words("must have at least {least} entries"),
    "table": Words("must be a table"),
    "one-of": Words("must be {choices:or}"),
    "at-least": Words("must be at least {least}"),
    "at-most": Words("must be at most {most}"),
    "over": Words("must be over {bound}"),
    "under": Words("must be under {bound}"),
    "step": Words("must be a multiple of {step}"),
    "not-understood": Words("can't be taken as it is"),
    "not-a-time": Words("is not a time", "Write 12:30."),
    "not-a-date": Words("is not a date", "Write 2026-11-28."),
    "no-such-zone": Words("is no known time zone", 'Write it like "Europe/Paris".'),
    "no-word-for-haze": Words("is no word for haze", "{known}"),
    "not-twelve": Words("must be 12", _EACH_MONTH, "{value} values"),
    # A skyline, a forecast, a log beside it.
    "skyline-header": Words(
        "is another header", "Head it azimuth_deg,elevation_deg, clockwise from true north."
    ),
    "not-two-numbers": Words("is not two numbers"),
    "not-in-the-sky": Words("must be 0 to 360 and 0 to 89"),
    "forecast-header": Words("is not in the header", "Head: time,cloud_pct,air_c"),
    "forecast-time": Words("is no time", "Write 2026-11-28T10:00."),
    "feed-not-json": Words("is not JSON: {why}", "See README: weather."),
    "feed-without-lists": Words("must be an object of lists, with time", "See README: weather."),
    "no-hour-of-day": Words("has no hour of {day}", "Another day?"),
    "log-header": Words(
        "is not in the header", "Head the columns time,water_c,air_c,wind_m_s,sun_w_m2."
    ),
    "log-time": Words("is no time", "Write 2027-06-10T10:00, or 10:00 and give the day."),
    "not-after-row-before": Words(
        "is not after the row before",
        "Was the clock changed? Log with an offset, like 10:00+02:00 in ISO form.",
    ),
    "no-figure": Words("is missing"),
    "out-of-range": Words("must be {low} to {high}"),
    "out-of-range-or-unit": Words(
        "must be {low} to {high}", "Is it {unit}? Head the column {head}."
    ),
    "too-few-readings": Words("are too few: 3 at least", value="{value} readings"),
    "columns-swapped": Words("look swapped", "Mend the header."),
}
