"""A design in words: what it does, how sure that is, and what one thing more would do."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from service.application.building import STANDARD_W_M2, Sunshine
from service.text import formatting
from service.text.cookers import COOKER_WORDS
from solver.feasibility.builder import Built, Change, ChangeKey, Figures, Spread, Sureness
from solver.thermal.design import Buildable, Design

INCH_CM, QUART_L = 2.54, 0.946352946
NEVER_EMPTY = "What is left at its bright spot melts or burns."
IN_FIVE_HOURS = "Over 5 h"
CHANGED: dict[ChangeKey, str] = {
    "size": "Ten centimetres more",
    "pane": "One more pane",
    "cover": "One more cover over the pot",
    "flap": "One more shiny flap",
    "insulation": "Two centimetres more insulation",
    "shine": "Mirrors that send on a tenth more",
}
SURE: dict[Sureness, str] = {
    "yes": "Gets done in nearly every build",
    "perhaps": "Perhaps: in a good build, or with less in the pot",
    "no": "Not in this one",
}
SIZED: dict[Buildable, str] = {
    "parabolic": "Across the mirror",
    "box": "A side of the glass",
    "panel": "A side of its opening",
}
HELD_AGAINST = (
    "The page is held against printed tests of real cookers: four boxes of 66 to 164 W for each m² "
    "(J. Renew. Energy 2013, 184352, and others), a panel of 46.85 W (Int. J. Energy Res.), and "
    "mirrors (Tanz. J. Sci.; Farooqui 2017). Each lies in the band that would stand here for it."
)
NOT_KNOWN = (
    "Typical, unmeasured. A first build may be stronger or weaker: the band is where eight of ten "
    "would lie. How well lid and joints shut matters as much as what you build of. Measure yours."
)


@dataclass(frozen=True)
class FigureLine:
    """A figure, its band in words, and what it is of."""

    name: str
    expected: str
    band: str


@dataclass(frozen=True)
class ChangeLine:
    """One thing built otherwise: watts, heat, minutes."""

    name: str
    watts: str
    empty: str
    minutes: str


@dataclass(frozen=True)
class DishGroup:
    """Dishes that come out alike."""

    heading: str
    dishes: tuple[str, ...]


def figure_lines(kind: Buildable, found: Built, litres: float) -> list[FigureLine]:
    """Return what a design does, each figure with its band."""
    lines = [
        _line("Into a pot 50 °C (90 °F) over the air", found.at_50_w, watts),
        _line("A litre from 20 °C to the boil", found.litre_min, minutes),
    ]
    if litres != 1:
        name = f"{litres:g} litres ({litres / QUART_L:.1f} qt) to the boil"
        lines.append(_line(name, found.fill_min, minutes))
    if found.empty_c is None:
        lines.append(FigureLine("Empty", "Never", NEVER_EMPTY))
    else:
        name = "Hottest, a dry pot in it" if kind == "panel" else "Hottest, empty"
        lines.append(_line(name, found.empty_c, heat))
    return lines


def change_lines(found: Built) -> list[ChangeLine]:
    """Return what one thing more would do, beside what it is."""
    now = Figures(
        at_50_w=found.at_50_w.expected or 0.0,
        empty_c=found.empty_c.expected if found.empty_c else None,
        litre_min=found.litre_min.expected,
    )
    return [_change("As it is", now), *(_changed(c) for c in found.changes)]


def dish_groups(found: Built) -> list[DishGroup]:
    """Return which dishes of the catalogue it cooks, surest first."""
    groups = []
    for sure, heading in SURE.items():
        dishes = sorted((d for d in found.dishes if d.sure == sure), key=lambda d: d.name)
        named = [
            f"{d.name}, {_hours(d.minutes)}" if d.minutes and sure == "yes" else d.name
            for d in dishes
        ]
        if named:
            groups.append(DishGroup(heading, tuple(named)))
    return groups


def sun_words(sun: Sunshine, place: str, day: date) -> str:
    """Return under which sun the figures are."""
    around = sun.around
    air = f"Air {both_heats(around.air_c)}, a light wind of 1 m/s, water boils at "
    air += f"{both_heats(around.boil_c)}."
    if sun.elevation_deg is None:
        return (
            f"Standard sun: {STANDARD_W_M2:.0f} W/m² on a surface that faces it, the reference of "
            f"ASAE S580. {air}"
        )
    return (
        f"{place}, {formatting.long_date(day)}: the sun at its highest, {sun.elevation_deg:.0f}° "
        f"up in a clear sky, {_tens(sun.w_m2)} W/m² on a surface that faces it. {air}"
    )


def too_wide(design: Design, pot_litres: float) -> str:
    """Return that a pot does not go into a box."""
    box = COOKER_WORDS[design.kind].name
    return f"A pot of {pot_litres:g} litres doesn’t go into a {box} of {design.size_cm:g} cm."


def watts(value: float | None) -> str:
    """Return watts as nearly as they are known."""
    return f"{max(_tens(value or 0.0), 0)} W"


def heat(value: float | None) -> str:
    """Return a computed heat, to five degrees, in both units."""
    return both_heats(5 * round((value or 0.0) / 5))


def both_heats(value_c: float) -> str:
    """Return a temperature in both units."""
    return f"{value_c:.0f} °C ({value_c * 9 / 5 + 32:.0f} °F)"


def minutes(value: float | None) -> str:
    """Return computed minutes: to five of them, fewer than twenty as they are."""
    if value is None:
        return IN_FIVE_HOURS
    return f"{round(value)} min" if value < 20 else f"{5 * round(value / 5)} min"


def both_lengths(cm: float) -> str:
    """Return a length in both units."""
    return f"{cm:g} cm ({cm / INCH_CM:.0f} in)"


def _line(name: str, spread: Spread, say: Callable[[float | None], str]) -> FigureLine:
    return FigureLine(name, say(spread.expected), _band(spread, say))


def _band(spread: Spread, say: Callable[[float | None], str]) -> str:
    """Return between what eight of ten builds lie."""
    if spread.low is None:
        return "in hardly any build"
    if spread.high is None:
        return f"{say(spread.low)} in a good build, over 5 h in a poor one"
    return f"{say(spread.low)} to {say(spread.high)}"


def _changed(change: Change) -> ChangeLine:
    return _change(CHANGED[change.key], change.figures)


def _change(name: str, figures: Figures) -> ChangeLine:
    empty = "never" if figures.empty_c is None else heat(figures.empty_c)
    return ChangeLine(name, watts(figures.at_50_w), empty, minutes(figures.litre_min))


def _hours(took_min: int) -> str:
    """Return minutes as cooks say them: to a quarter of an hour from one hour on."""
    if took_min < 60:
        return f"{5 * math.ceil(took_min / 5)} min"
    return f"{math.ceil(took_min / 15) / 4:g} h"


def _tens(value: float) -> int:
    """Return watts in tens, few ones in fives."""
    step = 10 if value >= 100 else 5
    return step * round(value / step)
