"""A small day whose plan is laid by hand, minute by minute: no solver made it.

Two stews for two waves come out of a mirror, one into an insulated box, one on to a ring; rice and
lentils share a box until the last plate; bread bakes in an oven that is preheated; tea boils on the
ring. The check must find nothing wrong with it, and name whatever a test changes.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from events.model import Cooker, Dish, Event, Helper, Meal, Pot, Talk
from events.site import Site, Weather, WeatherHour
from solver.notices import Refusal
from solver.plan import (
    CurvePoint,
    GasDay,
    Job,
    JobKind,
    Level,
    Placement,
    Plan,
    Stretch,
    Turn,
    Unplaced,
    Walk,
    Window,
)

DATE = date(2027, 6, 21)


def at(clock: str) -> datetime:
    """Return a clock time of the day; its zone is UTC."""
    return datetime.combine(DATE, time.fromisoformat(clock), tzinfo=UTC)


def minutes(count: float) -> timedelta:
    return timedelta(minutes=count)


def _cooker(name: str, kind: str, **values: object) -> Cooker:
    row = {"id": name, "name": name, "kind": kind, "litres": 10.0, **values}
    return Cooker.model_validate(row)


def _dish(name: str, **values: object) -> Dish:
    row = {
        "id": name,
        "name": name,
        "meal": "lunch",
        "portions": 20,
        "portion_kg": 0.2,
        "composition": {"water": 0.8, "carbohydrate": 0.2},
        "done": "core",
        "core_c": 75.0,
        "holding_max_min": 180,
        **values,
    }
    return Dish.model_validate(row)


EVENT = Event(
    title="Yard",
    date=DATE,
    site=Site(
        name="Yard",
        latitude_deg=40.0,
        longitude_deg=0.0,
        timezone="UTC",
        opens=time(8),
        closes=time(16),
        visitors_from=time(10, 30),
    ),
    weather=Weather(
        hours=(
            WeatherHour(start=time(6), air_c=20.0, wind_m_s=1.0),
            WeatherHour(start=time(12), air_c=25.0, wind_m_s=4.0),
            WeatherHour(start=time(14), air_c=22.0, wind_m_s=6.0),
        )
    ),
    cookers=(
        _cooker(
            "mirror", "parabolic", aperture_m2=1.5, acceptance_deg=5.0, trained=True, litres=12.0
        ),
        _cooker("box", "box", aperture_m2=0.5, loss_w_k=1.0, acceptance_deg=20.0, pots_max=2),
        _cooker("oven", "box", aperture_m2=0.5, loss_w_k=1.0, acceptance_deg=20.0, litres=5.0),
        _cooker("ring", "burner", power_w=2500.0, pots_max=2, trained=True),
        _cooker("hay", "insulated", loss_w_k=0.4),
    ),
    pots=(
        Pot(id="pot", name="pot", count=2, litres=4.0, wash_min=15),
        Pot(id="small", name="small", count=2, litres=4.0, wash_min=15),
        Pot(id="kettle", name="kettle", litres=3.0, fits=("burner",)),
        Pot(id="tin", name="tin", litres=3.0, holds=("baked",), fits=("box",)),
    ),
    meals=(
        Meal(id="lunch", name="Lunch", start=time(12), end=time(13), portions=20, waves=2),
        Meal(id="late", name="Late", start=time(14), end=time(15), portions=20),
    ),
    dishes=(
        _dish("stew", kinds=("parabolic", "burner"), stir_every_min=30, lift_helpers=2, priority=6),
        _dish("rice"),
        _dish("lentils", portion_kg=0.15, fresh_min=30),
        _dish(
            "bread",
            portion_kg=0.1,
            shape="baked",
            thickness_mm=80.0,
            kinds=("box",),
            needs_body_c=150.0,
            hazardous=False,
            serve_hot=False,
            rest_min=15,
            composition={"water": 0.4, "carbohydrate": 0.6},
        ),
        _dish(
            "tea",
            portion_kg=0.1,
            done="boil",
            core_c=None,
            hazardous=False,
            serve_hot=False,
            rest_min=5,
            composition={"water": 1.0},
        ),
        _dish("soup", meal="late", priority=2),
    ),
    helpers=(
        Helper(
            id="ada", name="Ada", start=time(8), end=time(14), may=("mirrors", "burner", "lift")
        ),
        Helper(id="ben", name="Ben", start=time(8), end=time(16), may=("lift",)),
        Helper(id="cam", name="Cam", start=time(8), end=time(14), may=("mirrors", "lift")),
        Helper(id="kid", name="Kid", start=time(8), end=time(14), adult=False),
    ),
    talks=(
        Talk(
            id="talk",
            name="Talk",
            at=time(11, 5),
            minutes=30,
            speaker="cam",
            dish="stew",
            stage="simmering",
        ),
    ),
)


def curve(
    loaded: str, done: str, until: str, *, body_c: float | None = None, core_c: float = 95.0
) -> tuple[CurvePoint, ...]:
    """Return a core that climbs from 20 °C to what it keeps, by points of ten minutes."""
    points, when = [], at(loaded)
    while True:
        share = min(1.0, (when - at(loaded)) / (at(done) - at(loaded)))
        warm_c = round(20 + (core_c - 20) * share, 1)
        points.append(CurvePoint(at=when, food_c=warm_c, core_c=warm_c, body_c=body_c))
        if when == at(until):
            return tuple(points)
        when = min(when + minutes(10), at(until))


def _placement(
    name: str, cooker: str, pot: str, kg: float, times: str, **values: object
) -> Placement:
    """Return a placement; `times` are loaded, hot, done, lifted."""
    dish, number = name.rsplit("-", 1)
    loaded, hot, done, lifted = times.split()
    held = round((at("12:00") - at(done)).total_seconds() / 60)
    row: dict[str, object] = {
        "id": name,
        "dish_id": dish,
        "batch": int(number),
        "batches": 1,
        "mass_kg": kg,
        "litres": kg,
        "portions": 20,
        "pot_id": pot,
        "cooker_id": cooker,
        "fill": f"{cooker}-{loaded}",
        "route": "sun",
        "then_cooker_id": None,
        "preheat_at": None,
        "loaded_at": at(loaded),
        "hot_at": at(hot),
        "done_at": at(done),
        "fast_at": at(done) - minutes(5),
        "cautious_at": at(done) + minutes(5),
        "lifted_at": at(lifted),
        "off_at": None,
        "promised_at": at("12:00"),
        "served_at": at("12:00"),
        "last_plate_at": at("13:00"),
        "held_min": held,
        "margin_min": held,
        "missed_fraction": 0.06,
        "peak_c": 95.0,
        "between_5_and_60_min": 40,
        "water_lost_kg": 0.1,
        "boil_dry_min": None,
        "curve": curve(loaded, done, "13:00"),
    }
    return Placement.model_validate(row | values)


PLACEMENTS = (
    _placement(
        "stew-1",
        "mirror",
        "pot",
        2.0,
        "09:00 09:30 10:00 10:20",
        batches=2,
        portions=10,
        route="sun+insulated",
        then_cooker_id="hay",
        off_at=at("12:30"),
        last_plate_at=at("12:30"),
        curve=curve("09:00", "10:00", "12:30"),
    ),
    _placement(
        "stew-2",
        "mirror",
        "pot",
        2.0,
        "10:30 11:00 11:30 11:40",
        batches=2,
        portions=10,
        route="sun+burner",
        then_cooker_id="ring",
        off_at=at("12:45"),
        promised_at=at("12:30"),
        served_at=at("12:30"),
        held_min=60,
        margin_min=60,
        curve=curve("10:30", "11:30", "13:00"),
    ),
    _placement(
        "rice-1",
        "box",
        "small",
        4.0,
        "09:30 10:20 11:00 13:00",
        curve=curve("09:30", "11:00", "13:00", body_c=110.0),
    ),
    _placement(
        "lentils-1",
        "box",
        "small",
        3.0,
        "09:30 10:30 11:15 13:00",
        curve=curve("09:30", "11:15", "13:00", body_c=110.0),
        missed_fraction=0.12,
    ),
    _placement(
        "bread-1",
        "oven",
        "tin",
        2.0,
        "09:00 09:40 10:00 10:10",
        preheat_at=at("08:30"),
        margin_min=105,
        missed_fraction=0.0,
        curve=curve("09:00", "10:00", "10:10", body_c=155.0),
    ),
    _placement(
        "tea-1",
        "ring",
        "kettle",
        2.0,
        "11:30 11:40 11:50 12:00",
        route="burner",
        margin_min=5,
        missed_fraction=0.0,
        curve=curve("11:30", "11:50", "12:00"),
    ),
)


def _turn(cooker: str, when: str, until: str, *, first: bool = False) -> Turn:
    return Turn(
        id=f"{cooker}-{when}",
        cooker_id=cooker,
        at=at(when),
        holds_until=at(until),
        ring_min=20.0,
        turn_deg=5.0,
        tilt_deg=1.0,
        rim_cm=5.0,
        from_azimuth_deg=100.0,
        to_azimuth_deg=105.0,
        first=first,
    )


TURNS = (
    _turn("oven", "08:30", "09:10", first=True),
    _turn("oven", "09:10", "09:40"),
    _turn("oven", "09:40", "10:10"),
    _turn("mirror", "09:00", "09:40", first=True),
    _turn("mirror", "09:40", "10:20"),
    _turn("mirror", "10:30", "11:05", first=True),
    _turn("mirror", "11:05", "11:40"),
    _turn("box", "09:30", "10:30", first=True),
    _turn("box", "10:30", "11:30"),
    _turn("box", "11:30", "12:20"),
    _turn("box", "12:20", "13:00"),
)


def _walk(when: str, who: str, *cookers: str) -> Walk:
    turns = tuple(f"{c}-{when}" for c in cookers)
    return Walk(id=f"walk-{when}", at=at(when), minutes=5, helper_id=who, turn_ids=turns)


WALKS = (
    _walk("09:10", "ben", "oven"),
    _walk("09:40", "ada", "mirror", "oven"),
    _walk("10:30", "ben", "box"),
    _walk("11:05", "ada", "mirror"),
    _walk("11:30", "ben", "box"),
    _walk("12:20", "ben", "box"),
)


def _job(kind: JobKind, when: str, who: str, *pots: str, cooker: str | None = None) -> Job:
    return Job(
        id=f"{kind}-{when}-{'+'.join(pots)}",
        kind=kind,
        at=at(when),
        minutes=5,
        helper_ids=tuple(who.split()),
        cooker_id=cooker,
        placement_ids=pots,
    )


JOBS = (
    _job("preheat", "08:30", "ben", "bread-1", cooker="oven"),
    _job("load", "09:00", "ada", "stew-1", cooker="mirror"),
    _job("load", "09:00", "ben", "bread-1", cooker="oven"),
    _job("load", "09:30", "ben", "lentils-1", "rice-1", cooker="box"),
    _job("stir", "09:30", "ada", "stew-1", cooker="mirror"),
    _job("probe", "10:00", "ben", "bread-1", cooker="oven"),
    _job("lift", "10:10", "ben", "bread-1", cooker="oven"),
    _job("insulate", "10:20", "ada ben", "stew-1", cooker="mirror"),
    _job("load", "10:30", "ada", "stew-2", cooker="mirror"),
    _job("greet", "10:50", "ben kid"),
    _job("stir", "11:00", "ada", "stew-2", cooker="mirror"),
    _job("load", "11:30", "ada", "tea-1", cooker="ring"),
    _job("move", "11:40", "ada ben", "stew-2", cooker="mirror"),
    _job("lift", "12:00", "ada", "tea-1", cooker="ring"),
    _job("lift", "12:45", "ada ben", "stew-2", cooker="ring"),
    _job("lift", "13:00", "ben", "lentils-1", "rice-1", cooker="box"),
    Job(id="talk", kind="talk", at=at("11:05"), minutes=30, helper_ids=("cam",), talk_id="talk"),
    Job(id="serve", kind="serve", at=at("12:00"), minutes=60, helper_ids=("ada", "ben")),
)


def _level(key: str, value: int) -> Level:
    return Level.model_validate({"key": key, "value": value, "bound": value, "proven": True})


PLAN = Plan(
    event_id="by-hand",
    title="Yard",
    sky="forecast",
    sun=(),
    windows=tuple(
        Window(cooker_id=c, stretches=(Stretch(starts_at=at("08:00"), ends_at=at("15:00")),))
        for c in (None, "mirror", "box", "oven")
    ),
    placements=PLACEMENTS,
    turns=TURNS,
    walks=WALKS,
    jobs=JOBS,
    unplaced=(Unplaced(dish_id="soup", reasons=(Refusal(kind="no-sun", cooker_id="box"),)),),
    levels=(
        _level("placed", 64 + 32 + 32 + 32 + 32),
        _level("missed", 2 + 2 + 2 + 4 + 4 + 2),  # both stews, rice, lentils; both on gas
        _level("gas", 65 + 30),
        _level("short", 15),
        _level("stale", 60 + 0 + 0 + 15 + 45),
        _level("work", 7),
    ),
    risk=None,
    rescues=(),
    gas_day=GasDay(rings=1, gas_kg=0.0, steps=(), not_on_gas=()),
    warnings=(),
)
