"""Who of the adults on the round also cooks, and who is left at the cookers."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import hour, listed
from service.text.row_lines import ABILITY_WORDS
from solver.programme import Posts, posts_of


def who_also_cooks(event: Event) -> str:
    """Return which adults of the round also cook, and who is left; nothing where none does."""
    cooks = [h for h in event.helpers if h.works]
    led = [h for h in cooks if posts_of(event, h.id) != Posts()]
    if not led:
        return ""
    hours = event.rota.hours(event.site)
    left = [h for h in cooks if h not in led and h.start < hours.end and h.end > hours.start]
    asked = [c.ability for c in event.cookers if c.ability]
    missing = [
        ABILITY_WORDS[a] for a in dict.fromkeys(asked) if not any(a in h.works for h in left)
    ]
    if len(left) > 1 and not missing:
        return ""
    names = listed([h.name for h in led])
    who = "only " + listed([h.name for h in left]) if left else "nobody"
    verb = "is" if len(left) < 2 else "are"
    lacks = f", and nobody who may work {listed(missing, 'or')}" if left and missing else ""
    return (
        f"{names} also {'cooks' if len(led) == 1 else 'cook'}. From {hour(event, hours.start)} to"
        f" {hour(event, hours.end)} {who} {verb} at the cookers{lacks}."
    )
