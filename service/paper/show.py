"""A cooker's card on paper, for whoever shows it: its watts, what to say, ask and beware of."""

from __future__ import annotations

from events.model import Cooker, Event
from service.application.analyses import heat_of
from service.application.occasions import occasions
from service.paper.station_card import Facts
from service.text.show_card import ShowCard, WattLine, show_card, watt_shares
from service.text.teaching import PRICES, Question
from solver.plan import Plan


def show_facts(event: Event, plan: Plan) -> list[Facts]:
    """Return a card for each cooker, at its first talk or when the sun is highest."""
    return [_facts(_card(event, plan, cooker)) for cooker in event.cookers]


def _card(event: Event, plan: Plan, cooker: Cooker) -> ShowCard:
    shown = occasions(event, plan, cooker)[0]
    flow = heat_of(event, plan, cooker, shown.at)
    return show_card(event, plan, cooker, flow, talk=shown.talk.name if shown.talk else "")


def _facts(card: ShowCard) -> Facts:
    said, teaching = card.budget, card.teaching
    whole = max(said.arrives.watts, said.gathered.watts, 1)
    shares, x = [], 0.0
    for line in watt_shares(said):
        shares.append(_bar(line, x, whole))
        x += line.watts / whole
    drawn = [line.key for line in watt_shares(said)]
    return {
        "name": card.cooker.name,
        "kind": f"{card.kind}, {card.size}",
        "when": card.when,
        "inside": card.inside,
        "bars": [_bar(said.arrives, 0.0, whole), _bar(said.gathered, 0.0, whole), *shares],
        "also": [
            f"{line.name} {line.watts} W: {line.words}."
            for line in said.goes
            if line.key not in drawn
        ],
        "lines": [line for line in (card.suns, card.hour, card.band) if line],
        "happens": list(teaching.happens),
        "why": _questions(teaching.why),
        "asks": _questions(teaching.asks),
        "materials": list(teaching.materials),
        "built_safely": teaching.built_safely,
        "prices": PRICES,
        "sources": list(card.sources),
        "cautions": " ".join(card.cautions),
        "help": card.help,
    }


def _bar(line: WattLine, starts: float, whole: int) -> Facts:
    return {
        "key": line.key,
        "name": f"{line.name} {line.watts} W",
        "words": line.words,
        "from": round(starts, 4),
        "long": round(max(line.watts, 0) / whole, 4),
    }


def _questions(questions: tuple[Question, ...]) -> list[Facts]:
    return [{"ask": q.ask, "answer": q.answer} for q in questions]
