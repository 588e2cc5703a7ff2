"""What is read aloud to the crew before the day, and what visitors read: common practice.

It speaks of what is on the site only; no published source.
"""

from __future__ import annotations

from events.model import Event
from service.text import messages

_MIRRORS = (
    "Mirrors: stay behind them, in their shade. Nobody looks into the bowl, sunglasses or not.",
    "Turn a mirror away from the sun first; then load, stir or lift.",
    "Never leave a mirror on the sun alone, or aimed at nothing, an empty pot or oil.",
    "Mirrors face no path, tent, car or dry grass. Covered when not in use or not watched.",
)
_SHINES = "What shines blinds: nobody looks into a cooker that faces the sun, sunglasses or not."
_GAS = "Gas: the ring stands level, away from what is dry. Off at the bottle when nobody is there."
_FIRE = "Water or an extinguisher, and a fire blanket, stand at {where}. Everybody knows where."
_ALL = (
    "Wash hands before food, after raw meat, after the toilet. Raw and ready food stay apart.",
    "Probe in the middle. Write it down. A computed time never replaces a reading.",
    messages.CHILDREN,
    "Drink water. Hat, sleeves, sun cream. Change over before you are tired.",
    messages.BURNS,
)
SIGN = (
    "This cooks with the sun.",
    "Stay behind the rope.",
    "Don’t look into the mirrors.",
    "Everything here is hot.",
    "Children hold a grown‑up’s hand.",
)


def brief(event: Event) -> list[str]:
    """Return what is read aloud, the greatest dangers of this site first."""
    mirrors = any(c.nature.concentrates for c in event.cookers)
    gas = any(c.on_gas for c in event.cookers)
    on_sun = any(c.on_sun for c in event.cookers)
    out = [*_MIRRORS] if mirrors else [_SHINES] if on_sun else []
    out.append("Pots, stands, glass and metal burn. Gloves to the elbow. Lids open away from you.")
    out += ["No cold water on hot glass."] if on_sun else []
    out += [_GAS] if gas else []
    out += (
        [_FIRE.format(where="the mirrors" if mirrors else "the gas ring")] if mirrors or gas else []
    )
    out += _ALL
    wind = "mirrors away from the sun, laid down, covered" if mirrors else "lids shut, weighed down"
    out += [f"Wind over a cooker’s limit: {wind}."] if on_sun else []
    return [*out, messages.LOCAL]
