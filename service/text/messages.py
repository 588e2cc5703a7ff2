"""All words that people read: orders, cautions, places, times. One place for each sentence."""

from __future__ import annotations

import io
import math
import re
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import segno
from markupsafe import Markup

from events.diary import EntryKind
from events.model import Cooker, Dish, Event
from events.reading.event_file import zone_of
from solver.plan import Placement, Plan, Turn
from solver.solar.tracking import declination_deg, travel_deg
from solver.thermal.food import FOOD_RULES

PIN_CM = 10.0  # the aiming card's pin

KIND = {
    "parabolic": "mirror",
    "box": "box",
    "panel": "panel",
    "insulated": "insulated box",
    "burner": "gas ring",
}
# What to do, then what not; by kind and by the work of the hand. Common practice.
CAUTION = {
    ("parabolic", "turn"): "Stay behind it, in its shade. Don’t look into the bowl.",
    ("parabolic", "load"): "Load it turned away from the sun. Nobody in front of the bowl.",
    ("parabolic", "lift"): "Turn the mirror away first, then lift. Gloves to the elbow.",
    ("parabolic", "stir"): "Stir from behind, in its shade. Gloves to the elbow.",
    ("box", "turn"): "Metal and glass burn. Gloves on. Don’t open the lid.",
    ("box", "load"): "Open the lid away from your face. Gloves on.",
    ("box", "lift"): "Lid away from your face. No cold water on hot glass.",
    ("panel", "turn"): "Look at the pot, not into the wings. The pot burns.",
    ("panel", "load"): "Look at the pot, not into the wings. Cover shut.",
    ("panel", "lift"): "Steam under the cover burns. Gloves on.",
    ("panel", "stir"): "Steam under the cover burns. Gloves on.",
    ("burner", "load"): "Clear ground round the flame. Sleeves up, hair tied.",
    ("burner", "lift"): "Flame off first. Gloves on.",
    ("burner", "stir"): "Sleeves up, hair tied. Gloves on.",
    ("insulated", "lift"): "Two hands, gloves, lid on. Don’t open it until serving.",
}
PRESSED: dict[EntryKind, str] = {
    "aimed": "Turned",
    "loaded": "Loaded",
    "stirred": "Stirred",
    "lid-opened": "Lid opened",
    "probed": "Probed",
    "done": "Done",
    "lifted": "Lifted",
    "served": "Served",
    "held": "Held hot",
    "discarded": "Thrown away",
    "cloud": "Cloud over the sun",
    "sun": "Sun again",
    "late": "Late",
    "out-of-action": "Out of action",
    "parked": "Turned away and covered",
    "gone": "Has gone",
    "to-burner": "Moved to the gas ring",
    "note": "Note",
    "seen": "Has seen the plan",
    "undo": "Undone",
}
# What the big press is called after, and which entry it makes, by kind of job.
PRESS: dict[str, tuple[str, EntryKind]] = {
    "walk": ("Turned", "aimed"),
    "preheat": ("It is on the sun", "aimed"),
    "load": ("Loaded", "loaded"),
    "stir": ("Stirred", "stirred"),
    "probe": ("Lifted", "lifted"),
    "lift": ("Lifted", "lifted"),
    "insulate": ("Moved", "lifted"),
    "move": ("Moved", "to-burner"),
    "talk": ("Done", "done"),
    "serve": ("Served", "served"),
    "set-up": ("Ready", "done"),
    "pack-down": ("Packed", "done"),
}
CHILDREN = "Children only with a named adult. Nobody inside the rope line."
PROBE = "Times are computed. A probe in the middle of the food decides."
BURNS = "Burns: cool running water, then qualified help."
TIP = "Shadow tip: turn until the pin’s shadow ends on this ring, on the side marked AHEAD."
NO_SHADOW = (
    "No shadow? Turn by the ruler, at the set times, lids shut. No sun for 20 min: say so "
    "to whoever runs the day, who decides about gas. Sun back: aim by the shadow again."
)
TOO_NEAR = "Somebody comes too near? Say stop. Turn it away from the sun."
LOCAL = "Local rules and licensed practice come first."


def clock(event: Event, at: datetime) -> str:
    """Return an instant as local time: 14:05, or 2:05 pm where the event says so."""
    return hour(event, at.astimezone(zone_of(event)).time())


@dataclass(frozen=True)
class QrCode:
    """A link just made, and its code as SVG."""

    url: str

    @property
    def code(self) -> Markup:
        """Return the link as a square code."""
        out = io.BytesIO()
        segno.make(self.url, error="m").save(
            out, kind="svg", border=2, xmldecl=False, svgclass="qr", lineclass=None
        )
        return Markup(out.getvalue().decode())  # segno writes no words into it


def day_clock(event: Event, at: datetime) -> str:
    """Return an instant as day and local time: Fri 27 Nov, 18:00."""
    local = at.astimezone(zone_of(event))
    day, month = _DAYS[local.weekday()][:3], _MONTHS[local.month - 1][:3]
    return f"{day} {local.day} {month}, {clock(event, at)}"


def tick(event: Event, at: datetime) -> str:
    """Return an instant as short as an axis has room for: 08:30, or 8:30, or 8 am."""
    if event.clock_h == 24:
        return clock(event, at)
    whole, half = clock(event, at).split(" ")
    return f"{whole.removesuffix(':00')} {half}" if whole.endswith(":00") else whole


def hour(event: Event, at: time) -> str:
    """Return a local clock time as the event says it."""
    if event.clock_h == 24:
        return f"{at:%H:%M}"
    return f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


# How the solver's sentences say figures, and what they are in US units. Longer patterns first.
_US_SAID = (
    (r"(\d+) and (\d+) °C", lambda a, b: f"{_f(a):.0f} and {_f(b):.0f} °F"),
    (r"(-?\d+(?:\.\d+)?) °C", lambda c: f"{_f(c):.0f} °F"),
    (r"(\d+(?:\.\d+)?) kg\b", lambda kg: f"{float(kg) / 0.45359237:.1f} lb"),
    (r"(\d+(?:\.\d+)?) litres\b", lambda litres: f"{float(litres) / 0.946352946:.1f} qt"),
    (r"(\d+(?:\.\d+)?) m/s", lambda m_s: f"{float(m_s) / 0.44704:.0f} mph"),
)
_CLOCK = re.compile(r"\b([01]\d|2[0-3]):([0-5]\d)\b(?! [ap]m)")


def _f(at_c: str) -> float:
    return float(at_c) * 9 / 5 + 32


def said(event: Event, text: str) -> str:
    """Return a sentence of the solver's with its figures as the event says them."""
    if event.clock_h != 24:
        text = _CLOCK.sub(lambda m: hour(event, time(int(m[1]), int(m[2]))), text)
    if event.units == "us":
        for pattern, other in _US_SAID:
            text = re.sub(pattern, lambda m, other=other: other(*m.groups()), text)  # type: ignore[misc]
    return text


def plan_said(event: Event, plan: Plan) -> Plan:
    """Return a plan whose sentences say figures as the event does."""
    if event.units == "metric" and event.clock_h == 24:
        return plan
    return plan.model_copy(
        update={
            "warnings": tuple(said(event, w) for w in plan.warnings),
            "reasons": tuple(said(event, r) for r in plan.reasons),
            "changes": tuple(
                c.model_copy(update={"text": said(event, c.text)}) for c in plan.changes
            ),
            "unplaced": tuple(
                u.model_copy(
                    update={
                        "reasons": tuple(
                            r.model_copy(update={"text": said(event, r.text)}) for r in u.reasons
                        )
                    }
                )
                for u in plan.unplaced
            ),
        }
    )


def same_day(event: Event, at: datetime) -> bool:
    """Return whether an instant lies on the event's local day."""
    return local_date(at, zone_of(event)) == event.date


def temp(event: Event, at_c: float) -> str:
    """Return a temperature in the event's units."""
    if event.units == "us":
        return f"{at_c * 9 / 5 + 32:.0f} °F"
    return f"{at_c:.0f} °C"


def mass(event: Event, kg: float) -> str:
    """Return a mass in the event's units."""
    if event.units == "us":
        pounds = kg / 0.45359237
        return f"{pounds:.1f} lb" if pounds >= 0.95 else f"{pounds * 16:.0f} oz"
    return f"{kg:.1f} kg" if kg >= 0.95 else f"{kg * 1000:.0f} g"


def span(event: Event, cm: float, *, digits: int = 0) -> str:
    """Return a short length in the event's units."""
    if event.units == "us":
        return f"{cm / 2.54:.{digits + 1}f} in"
    return f"{cm:.{digits}f} cm"


_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]


def long_date(day: date) -> str:
    """Return a date as people say it, whatever the machine's locale."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def local_date(at: datetime, zone: ZoneInfo) -> date:
    """Return the local date of an instant."""
    return at.astimezone(zone).date()


def size(cooker: Cooker) -> str:
    """Return how big a cooker is, as people say it for its kind."""
    if cooker.kind == "parabolic":
        return f"{2 * math.sqrt((cooker.aperture_m2 or 0) / math.pi):.1f} m"
    if cooker.kind in ("box", "panel"):
        return f"{cooker.aperture_m2:.2f} m²"
    return f"{cooker.litres:.0f} l"


def part(placement: Placement) -> str:
    """Return " 1 of 2" for a dish that was split, else nothing."""
    return f" {placement.batch} of {placement.batches}" if placement.batches > 1 else ""


def how_to_turn(event: Event, turn: Turn) -> tuple[str, str]:
    """Return (main order, second order) for hands: the rim first, then the tilt."""
    side = "right" if turn.turn_deg > 0 else "left"
    turned = turn.rim_cm >= 1
    first = f"{side} {span(event, turn.rim_cm)} at the rim" if turned else "hold its direction"
    tilt = abs(turn.tilt_deg)
    way = "up" if turn.tilt_deg > 0 else "down"
    if tilt < 0.5:
        return first, "leave its tilt"
    far = f"{span(event, turn.tip_cm)} at the top, " if turn.tip_cm >= 1 else ""
    return first, f"and tip it {way}: {far}{tilt:.0f}°"


def turn_short(event: Event, turn: Turn) -> str:
    """Return the same for a card's table: left 6 cm, top up 5 cm (4°)."""
    side = "right" if turn.turn_deg > 0 else "left"
    way = "up" if turn.tilt_deg > 0 else "down"
    out = f"{side} {span(event, turn.rim_cm)}" if turn.rim_cm >= 1 else "hold its direction"
    if abs(turn.tilt_deg) >= 0.5:
        far = f"{span(event, turn.tip_cm)} " if turn.tip_cm >= 1 else ""
        out += f", top {way} {far}({abs(turn.tilt_deg):.0f}°)"
    return out


def ring_name(ring_min: float) -> str:
    """Return what a ring of the aiming card is called: its minutes of sun, 10 or 12.5."""
    return f"{ring_min:g}"


def shadow_cm(event: Event, turn: Turn) -> float:
    """Return how far the shadow tip of a 10 cm pin lies from its foot, ahead side."""
    angle = travel_deg(turn.ring_min, declination_deg=declination_deg(event.date))
    return PIN_CM * math.tan(math.radians(angle))


def ring(event: Event, turn: Turn) -> str:
    """Return the order for the aiming card: ring and centimetres."""
    return f"ring {ring_name(turn.ring_min)}, {span(event, shadow_cm(event, turn), digits=1)}"


def probe_order(event: Event, dish: Dish) -> str:
    """Return what the probe must read before the dish is served, or nothing."""
    if dish.core_c is not None and not dish.hazardous:
        return f"Middle at {temp(event, dish.core_c)} or more"
    if dish.hazardous:
        rules = FOOD_RULES[event.site.food_rules]
        least = max(rules.middle_c, dish.core_c or 0)
        return (
            f"Probe: {temp(event, least)} or more in the middle, "
            f"then keep over {temp(event, rules.hot_holding_c)}"
        )
    if dish.done == "boil":
        return f"A real boil for {max(dish.hold_min, 1)} min"
    return ""


LIKE = {"preheat": "turn", "walk": "turn", "insulate": "lift", "move": "lift", "probe": "lift"}


def caution(cooker: Cooker, work: str) -> str:
    """Return the caution for a kind of cooker and a work of the hand, or nothing."""
    return CAUTION.get((cooker.kind, LIKE.get(work, work)), "")
