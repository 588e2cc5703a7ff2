"""A cloud that somebody reported, in words, and how long it can be said to look."""

from __future__ import annotations

from dataclasses import dataclass

from events.diary import REST_OF_DAY_MIN, Cloud
from events.model import Event
from service.text.formatting import clock


@dataclass(frozen=True)
class CloudLength:
    """A press that says how long a cloud looks."""

    minutes: int
    words: str


CLOUD_LENGTHS = (
    CloudLength(10, "10 minutes"),
    CloudLength(30, "Half an hour"),
    CloudLength(60, "An hour"),
    CloudLength(REST_OF_DAY_MIN, "The rest of the day"),
)


def cloud_words(event: Event, cloud: Cloud) -> str:
    """Return how long the cloud is expected to stay: "Cloud until about 11:40"."""
    if cloud.for_the_day:
        return "Cloud for the rest of the day"
    return f"Cloud until about {clock(event, cloud.ends_at)}"


def cloud_stretch(event: Event, cloud: Cloud) -> str:
    """Return from when to when a cloud was or will be over the sun."""
    start = clock(event, cloud.starts_at)
    return (
        f"Cloud from {start}"
        if cloud.for_the_day
        else f"Cloud {start} to {clock(event, cloud.ends_at)}"
    )
