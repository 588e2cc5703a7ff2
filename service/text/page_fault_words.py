"""What is typed or pressed on a page and can't be taken."""

from __future__ import annotations

from events.fault_kinds import FaultKind
from service.text.fault_words import Words, own_words

EXAMPLE = "-34.6, 19.0"

PAGE: dict[FaultKind, Words] = {
    "whole-from-to": Words("must be a whole number, {least} to {most}"),
    # The first page of an event, and the builder's.
    "no-where": Words("is empty", "Type a town, a map link or coordinates."),
    "no-such-place": own_words(
        "{value} is no place that we know",
        f"Try the nearest town, a map link, or coordinates as {EXAMPLE}.",
    ),
    "several-places": own_words("{value} is more than one place", "Write one: {names}."),
    "no-coordinates": own_words(
        "{value} can't be read as coordinates", f"Write latitude, longitude: {EXAMPLE}."
    ),
    "link-without-coordinates": own_words(
        "{value} is a link without coordinates",
        "Open it, and paste the long address or the coordinates that it shows.",
    ),
    "minus-and-letter": own_words("{value} has a minus and {letter}", "Write one of them."),
    "two-of-one-kind": own_words(
        "{value} has two of one kind", "Write N or S for one and E or W for the other."
    ),
    "minutes-over-59": own_words(
        "{value} has minutes or seconds that can't be", "They go from 0 to 59."
    ),
    "longitude-first": own_words(
        "{value} has the latitude {latitude}, which goes from -90 to 90",
        "Is the longitude first? Then write {longitude}, {latitude}.",
    ),
    "not-on-the-earth": own_words(
        "{value} is not on the earth", "Latitude is -90 to 90, longitude -180 to 180."
    ),
    "no-dish-ticked": Words("no dish is ticked", "Tick at least one."),
    "per-head": Words("must be a number up to {most}", "{usual} is usual."),
    "no-cooker-counted": Words("none is counted", "Say how many you have of at least one."),
    "no-pot-counted": Words("none is counted", "Say which pots you have."),
    "sky-not-understood": own_words(
        "{value} isn't understood",
        "Say clear, mostly sunny, some cloud, cloudy, overcast or rain; or a share, as 40 %.",
    ),
    "not-twelve-shares": own_words(
        "{value} is not twelve figures from 0 to 100",
        "Write one for each month, January first: 40 45 50 …",
    ),
    "sun-too-low": Words("the sun stays too low there to cook", "Try another date."),
    "pot-too-wide": Words("{why}", "Take a smaller pot."),
    # A press on the day, a judge's sheet, a visitor's vote.
    "reading-needs-figure": Words("a reading needs it", "Write what the probe shows."),
    "reading-not-a-number": own_words("{value} is not a number", "Write 78 or 78.5."),
    "undo-needs-entry": Words("an undo needs it", "Say which entry was a mistake."),
    "not-in-event": Words("is not in this event", "Look at the new plan."),
    "points-missing": Words("{criterion} has 0 to {most} points", "Mark it."),
    "too-late-for-good": Words("{why}", "Tell the organiser."),
    "picks": Words("1 to {most} can be picked"),
    "reason-missing": Words("must be given", "It stays on the results."),
}
