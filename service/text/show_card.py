"""A cooker's card for whoever shows it: its watts at a moment, what to say, ask and beware of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from events.kinds import Heat
from events.model import Cooker, Event
from service.text import formatting, messages
from service.text.cookers import cautions, kind_name, strength_source
from service.text.teaching import TEACHING, Teaching
from solver.plan import Plan
from solver.simulation.energy_flow import HeatFlow
from solver.thermal.heat_flow import Flows

COARSE_W, FINE_W, SMALL_W = 10, 1, 100  # computed watts are said in tens; where few, in ones
LITRES_QUART = 0.946352946
ARRIVES: dict[Heat, tuple[str, str]] = {
    "sun": ("Arrives", "sunlight on its opening"),
    "gas": ("Burns", "heat of the flame"),
    "none": ("Arrives", "it makes no heat"),
}
MODEL_SOURCE = (
    "The watts are this program’s heat balance, with the sun as forecast (clear sky: Ineichen and "
    "Perez 2002) and the cooker’s figures: {origin}. The full test of a cooker is ASAE S580.1."
)


@dataclass(frozen=True)
class WattLine:
    """One part of a cooker's watts: its name, how much, and what that is."""

    key: str  # which share of the drawing it is
    name: str
    watts: int
    words: str


@dataclass(frozen=True)
class Budget:
    """A cooker's watts as they are said: what is gathered is the sum of where it goes."""

    arrives: WattLine
    gathered: WattLine
    goes: tuple[WattLine, ...]


@dataclass(frozen=True)
class ShowCard:
    """Everything on a cooker's card."""

    cooker: Cooker
    kind: str
    size: str
    when: str
    inside: str
    budget: Budget
    hour: str  # what an hour like this does
    suns: str
    band: str
    teaching: Teaching
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    help: str


def show_card(event: Event, plan: Plan, cooker: Cooker, flow: HeatFlow, *, talk: str) -> ShowCard:
    """Return a cooker's card for a moment; `talk` names what it is shown in, if anything."""
    teaching = TEACHING[cooker.kind]
    too_near = (messages.TOO_NEAR,) if cooker.nature.concentrates else ()
    return ShowCard(
        cooker=cooker,
        kind=kind_name(cooker.kind),
        size=formatting.size(cooker, event.units),
        when=when_line(event, flow.at, talk),
        inside=_inside(event, plan, cooker, flow),
        budget=budget(cooker, flow),
        hour=_hour(event, cooker, flow),
        suns=_suns(flow),
        band=f"Its strength may be {100 * flow.band_fraction:.0f} % off either way: "
        f"{strength_source(cooker)}.",
        teaching=teaching,
        sources=(*teaching.sources, MODEL_SOURCE.format(origin=strength_source(cooker))),
        cautions=(*cautions(cooker), *too_near, messages.CHILDREN, messages.BURNS),
        help=event.site.emergency,
    )


def when_line(event: Event, at: datetime, talk: str) -> str:
    """Return for which moment a card's figures are."""
    clock = formatting.clock(event, at)
    return f"At {clock}, in “{talk}”" if talk else f"At {clock}, about when the sun is highest"


def budget(cooker: Cooker, flow: Flows) -> Budget:
    """Return the watts as they are said: rounded, and so that they still add up."""
    name, words = ARRIVES[cooker.nature.heat]
    boils = flow.steam_w > max(flow.food_w, 0.0)
    steam = "it boils" if boils else "through the lid"
    out_of = "by the warm pot" if not cooker.nature.has_body else "through its walls"
    if cooker.nature.glazed:
        out_of = "through glass and walls"
    parts = [
        WattLine("food", "Into pot and food", _said(flow.food_w, flow), "they get hotter"),
        WattLine("steam", "Off as steam", _said(flow.steam_w, flow), steam),
        WattLine("stored", "Into its walls", _said(flow.stored_w, flow), "they get hotter too"),
        WattLine("lost", "Lost to the air", _said(flow.lost_w, flow), out_of),
    ]
    gathered = sum(line.watts for line in parts)
    return Budget(
        arrives=WattLine("arrives", name, _said(flow.arrives_w, flow), words),
        gathered=WattLine("gathered", "Gathered", gathered, "becomes heat in it"),
        goes=tuple(_turned(line) for line in parts if line.watts),
    )


def heat_sentence(event: Event, cooker: Cooker, flow: HeatFlow) -> str:
    """Return where a cooker's watts go, to read out."""
    said = budget(cooker, flow)
    if cooker.on_sun and said.gathered.watts <= 0:
        return f"No sun on {cooker.name} at this moment."
    return f"{watts_sentence(cooker, said)} {_hour(event, cooker, flow)}".strip()


def watts_sentence(cooker: Cooker, said: Budget) -> str:
    """Return where the watts go, in a sentence or two."""
    goes = [f"{line.watts} {_GOES[line.key]}" for line in said.goes]
    begins = {
        "sun": f"{said.arrives.watts} watts of sun arrive on {cooker.name}. ",
        "gas": f"The flame of {cooker.name} gives {said.arrives.watts} watts. ",
        "none": f"{cooker.name} makes no heat. ",
    }[cooker.nature.heat]
    gathered = f"{said.gathered.watts} become heat in it: " if cooker.nature.heat != "none" else ""
    return f"{begins}{gathered}{formatting.listed(goes)}."


_GOES = {
    "food": "warm pot and food",
    "steam": "go off as steam",
    "stored": "warm its walls",
    "lost": "are lost to the air",
    "cools": "come out of pot and food",
    "gives": "come out of its warm walls",
}


def _said(watts: float, flow: Flows) -> int:
    step = COARSE_W if max(flow.arrives_w, flow.lost_w) >= SMALL_W else FINE_W
    return round(watts / step) * step


def _turned(line: WattLine) -> WattLine:
    """Return a part that is below nought as what gives heat."""
    if line.watts > 0:
        return line
    if line.key == "food":
        return WattLine("cools", "Out of pot and food", -line.watts, "they cool")
    return WattLine("gives", "Out of its walls", -line.watts, "they cool a little")


def _inside(event: Event, plan: Plan, cooker: Cooker, flow: HeatFlow) -> str:
    """Return what stands in it at that moment, and how warm."""
    names = [
        event.dish(p.dish_id).name + formatting.part(p)
        for p in plan.placements
        if p.id in flow.placement_ids
    ]
    warm = formatting.rough_temp(event, flow.food_c)
    body = f", inside it {formatting.rough_temp(event, flow.body_c)}" if flow.body_c else ""
    if names:
        return f"In it: {formatting.listed(names)}, about {warm}{body}. As expected, not promised."
    return f"Nothing cooks in it then. The figures are for a pot of water at {warm}{body}."


def _hour(event: Event, cooker: Cooker, flow: HeatFlow) -> str:
    if cooker.keeps_heat_only or flow.litres_boiled_h <= 0:
        return ""
    if event.units == "us":
        water = f"{flow.litres_boiled_h / LITRES_QUART:.1f} quarts"
    else:
        water = f"{flow.litres_boiled_h:.1f} litres"
    said = f"An hour like this would bring {water} of cold water to the boil"
    if not cooker.on_sun:
        return f"{said}."
    gas = formatting.mass(event, flow.gas_saved_g_h / 1000)
    return f"{said}, and saves {gas} of gas."


def _suns(flow: HeatFlow) -> str:
    """Return how many suns shine on the pot, where mirrors throw light at it."""
    if flow.suns_on_pot < 1:
        return ""
    return (
        f"On the side of the pot the light is as strong as {flow.suns_on_pot:.0f} suns, taken over "
        "all of that side."
    )


def watt_shares(said: Budget) -> list[WattLine]:
    """Return what is drawn beside each other: where the gathered heat goes, nothing negative."""
    return [line for line in said.goes if line.key not in ("cools", "gives")]
