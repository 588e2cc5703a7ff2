"""How to bring a cooker back to the sun, in words for hands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from events.model import Cooker, Event
from service.text.cookers import caution
from service.text.formatting import span
from solver.plan import Turn, TurnKind
from solver.policy import RINGS_MIN

Arrow = Literal["right", "left", "up", "down", "over", "round", ""]
SEEN_CM = 1.0  # what moves by less is left alone
NEAR_LEVEL_DEG = 70.0  # from here on nobody sees which edge is the upper one: the card's 12 says it
QUARTERS = ("", "¼", "½", "¾")
WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
TITLE: dict[TurnKind, str] = {
    "aim": "Aim {name}",
    "turn": "Turn {name}",
    "tilt": "Tilt {name}",
    "tip-over": "Tip {name} over",
    "turn-round": "Turn {name} round",
    "hold": "Look at {name}",
}
PRESS: dict[TurnKind, str] = {
    "aim": "Aimed",
    "turn": "Turned",
    "tilt": "Tilted",
    "tip-over": "Tipped over",
    "turn-round": "Turned",
    "hold": "It still holds",
}


ALL_PRESS = "All done"  # a walk of several cookers


@dataclass(frozen=True)
class TurnOrder:
    """One turn in words."""

    name: str  # of the cooker
    title: str  # "Turn Mirror 1"
    work: str  # "Turn it", where its name stands already
    main: str  # the larger movement: "right 6 cm at the rim"
    second: str  # the smaller one, or that there is none
    shadow: str  # where the shadow's tip goes: "ring 10, at 8 o’clock"
    short: str  # both orders for a table: "right 6 cm, upper edge down 3 cm"
    shadow_short: str  # "ring 10 at 8"
    arrow: Arrow  # which picture stands beside the main order
    press: str  # what the big press is called
    caution: str


def turn_order(event: Event, turn: Turn) -> TurnOrder:
    """Return a turn in words: the larger movement first."""
    cooker = event.cooker(turn.cooker_id)
    swing, tilt = _swing(event, turn), _tilt(event, turn)
    main, second = _orders(turn, swing, tilt)
    return TurnOrder(
        name=cooker.name,
        title=TITLE[turn.kind].format(name=cooker.name),
        work=TITLE[turn.kind].format(name="it"),
        main=main,
        second=second,
        shadow=shadow_place(turn),
        short=_short(event, turn),
        shadow_short=_shadow_short(turn),
        arrow=_arrow(turn),
        press=PRESS[turn.kind],
        caution=" ".join(turn_cautions(cooker, turn)),
    )


def turn_lines(event: Event, turns: Sequence[Turn]) -> list[str]:
    """Return a line for each turn: Mirror 1: right 6 cm, upper edge down 3 cm; ring 10 at 8."""
    lines = []
    for turn in turns:
        order = turn_order(event, turn)
        lines.append(f"{event.cooker(turn.cooker_id).name}: {order.short}; {order.shadow_short}")
    return lines


def _orders(turn: Turn, swing: str, tilt: str) -> tuple[str, str]:
    """Return (main order, second order) for the hands."""
    if turn.kind == "aim":
        return "aim it by the card", _where_12_goes(turn)
    if turn.kind == "hold":
        return "move nothing", "its aim still holds"
    if turn.kind == "tip-over":
        return f"{tilt}, past level", f"then {swing}" if swing else "don’t swing it round"
    if turn.kind == "tilt":
        return tilt, f"then {swing}" if swing else "don’t turn it"
    return swing, f"then {tilt}" if tilt else "leave its tilt"


def _swing(event: Event, turn: Turn) -> str:
    """Return how to swing a cooker about its foot, or nothing."""
    if turn.rim_cm < SEEN_CM:
        return ""
    side = "right" if turn.turn_deg > 0 else "left"
    if turn.kind != "turn-round":
        return f"{side} {span(event, turn.rim_cm)} at the rim"
    if abs(turn.turn_deg) >= 135:
        return "turn it right round"
    return f"{side} by {'a quarter' if abs(turn.turn_deg) >= 67.5 else 'an eighth'} of a full turn"


def _tilt(event: Event, turn: Turn) -> str:
    """Return how to move a cooker's upper edge, or nothing."""
    if turn.tip_cm < SEEN_CM:
        return ""
    edge, down = _edge(turn)
    return f"{'lower' if down else 'raise'} the {edge} by {span(event, turn.tip_cm)}"


def _edge(turn: Turn) -> tuple[str, bool]:
    """Return which edge an order speaks of, and whether it goes down.

    It is the upper one; near level, where nobody sees which one that is, the one with the card's
    12, which is the lower one once a cooker is tipped over.
    """
    if turn.kind == "tip-over" or _near_level(turn):
        return "edge with 12", turn.tilt_deg > 0
    return "upper edge", (turn.tilt_deg > 0) != turn.over


def _short(event: Event, turn: Turn) -> str:
    """Return what moves, the larger movement first, in the few words that a table has room for."""
    if turn.kind == "aim":
        return f"set on the sun, {_where_12_goes(turn)}" if _near_level(turn) else "set on the sun"
    if turn.kind == "hold":
        return "still holds"
    side = "right" if turn.turn_deg > 0 else "left"
    swing = f"{side} {span(event, turn.rim_cm)}" if turn.rim_cm >= SEEN_CM else ""
    if turn.kind == "turn-round":
        swing = _swing(event, turn)
    edge, down = _edge(turn)
    tilt = f"{edge} {'down' if down else 'up'} {span(event, turn.tip_cm)}"
    tilt = tilt if turn.tip_cm >= SEEN_CM else ""
    over = "over" if turn.kind == "tip-over" else ""
    parts = (swing, tilt) if turn.kind in ("turn", "turn-round") else (over, tilt, swing)
    return ", ".join(part for part in parts if part)


def _shadow_short(turn: Turn) -> str:
    if turn.ring_min is None:
        return f"towards {hour_name(turn.clock_hour or 12.0)}"
    if turn.ring_min == 0:
        return "none left"
    inner, outer = _rings(turn.ring_min)
    ring = f"{inner} to {outer}" if inner else f"halfway to {outer}"
    ring = f"ring {inner}" if inner == outer else ring
    return ring if turn.clock_hour is None else f"{ring} at {hour_name(turn.clock_hour)}"


def _arrow(turn: Turn) -> Arrow:
    if turn.kind == "tip-over":
        return "over"
    if turn.kind == "turn-round":
        return "round"
    if turn.kind == "turn":
        return "right" if turn.turn_deg > 0 else "left"
    if turn.kind == "tilt":
        return "down" if _edge(turn)[1] else "up"
    return ""


def _near_level(turn: Turn) -> bool:
    high = turn.to_elevation_deg
    return turn.ring_min is not None and high is not None and high >= NEAR_LEVEL_DEG


def _where_12_goes(turn: Turn) -> str:
    """Return which edge is the one with the card's 12 when a cooker is set on the sun."""
    if turn.ring_min is None:
        return "12 at its back"
    if not _near_level(turn):
        return "12 at its upper edge"
    return f"its edge with 12 towards the {WINDS[round((turn.to_azimuth_deg + 180) / 45) % 8]}"


def shadow_place(turn: Turn) -> str:
    """Return where on the aiming card the shadow's tip goes: ring 10, at 8 o’clock.

    Of a cooker that can't be tilted only the hour counts: towards 11¾ o’clock.
    """
    if turn.ring_min is None:
        return f"towards {hour_name(turn.clock_hour or 12.0)} o’clock"
    if turn.ring_min == 0:
        return "no shadow left"
    ring = ring_name(turn.ring_min)
    return ring if turn.clock_hour is None else f"{ring}, at {hour_name(turn.clock_hour)} o’clock"


def first_aim(turn: Turn) -> str:
    """Return how to aim a cooker that is set on the sun."""
    level = f", {_where_12_goes(turn)}" if _near_level(turn) else ""
    return f"Aim it. Shadow tip: {shadow_place(turn)}{level}"


def ring_name(ring_min: float) -> str:
    """Return a ring of the card, or the two that a place lies between."""
    inner, outer = _rings(ring_min)
    if inner == outer:
        return f"ring {inner}"
    return f"between rings {inner} and {outer}" if inner else f"halfway to ring {outer}"


def _rings(ring_min: float) -> tuple[int, int]:
    """Return the printed rings that a place lies on or between; 0 is the pin."""
    marks = (0, *RINGS_MIN)
    inner = max(r for r in marks if r <= ring_min)
    return inner, min((r for r in marks if r >= ring_min), default=marks[-1])


def hour_name(hour: float) -> str:
    """Return an hour of the card: 8, or 8½ for halfway to 9."""
    return f"{int(hour) or 12}{QUARTERS[round(hour % 1 * 4)]}"


def turn_cautions(cooker: Cooker, turn: Turn) -> tuple[str, ...]:
    """Return what to mind in a turn: lying almost level and tilting have cautions of their own."""
    level = caution(cooker, "turn level")
    if level and (turn.kind == "tip-over" or _near_level(turn)):
        return (level,)
    every = (caution(cooker, "turn"), caution(cooker, "tilt") if turn.tip_cm >= SEEN_CM else "")
    return tuple(text for text in every if text)
