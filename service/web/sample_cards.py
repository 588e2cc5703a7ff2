"""Ready events as they stand on the first page: a name, a sentence, a small picture of a day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_names, sample_text

BARS_MOST = 4
SERVED = 250  # where every bar of a picture ends
SUN_FROM, SUN_TO, SUN_BASE, SUN_HIGH = 14, 346, 36, 24


@dataclass(frozen=True)
class Bar:
    """A pot in the small picture: from loading over hot and done to served."""

    y: int
    load: int
    hot: int
    done: int


@dataclass(frozen=True)
class SampleCard:
    """A ready event as it is offered. Its picture is a drawing of a day, not of its plan."""

    name: str
    title: str
    words: str
    bars: tuple[Bar, ...]
    sun: str
    served: int = SERVED


@cache
def samples() -> tuple[SampleCard, ...]:
    """Return the ready events, as they are offered."""
    return tuple(_card(name) for name in sample_names())


def _card(name: str) -> SampleCard:
    event = read_event(sample_text(name), source=name)
    bars = tuple(
        Bar(y=44 + 14 * n, load=60 + 22 * n, hot=140 + 15 * n, done=200 + 10 * n)
        for n in range(min(len(event.dishes), BARS_MOST))
    )
    return SampleCard(name, event.title, _words(event), bars, _sun())


def _words(event: Event) -> str:
    people = max(meal.portions for meal in event.meals)
    return (
        f"{people} people, {_count(len(event.dishes), 'dish', 'dishes')}, "
        f"{_count(len(event.cookers), 'cooker')}, {_count(len(event.helpers), 'helper')}."
    )


def _count(number: int, noun: str, plural: str = "") -> str:
    return f"{number} {noun if number == 1 else plural or noun + 's'}"


def _sun() -> str:
    """Return columns as high as a sun rises over a day."""
    steps = range(SUN_FROM, SUN_TO, 9)
    span = SUN_TO - SUN_FROM
    return "".join(
        f"M{x} {SUN_BASE}v-{SUN_HIGH * math.sin(math.pi * (x - SUN_FROM + 20) / (span + 40)):.1f}"
        for x in steps
    )
