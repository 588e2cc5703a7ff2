"""Paper: every figure is the plan's; cards are true to scale; any name can stand on it."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Sequence
from datetime import datetime
from functools import cache
from typing import Any

import numpy as np
import pytest
from pypdf import PageObject, PdfReader
from pypdf._text_extraction import mult

from events.model import Event
from events.table import changed
from service.paper.content import PARTS, facts
from service.paper.lists import lists
from service.paper.pdf import pdf
from service.paper.standalone_pages import pages
from service.paper.station_card import aiming
from service.text import formatting, turn_orders
from service.text.cookers import cautions
from service.text.messages import probe_least
from service.text.run_sheet import items_of_cooker, items_of_helper, run_sheet_items
from solver.policy import RINGS_MIN
from solver.solar.tracking import declination_deg
from tests.conftest import SAMPLES, plan_of, sample_event, sample_plan
from tests.service.paper.odd_names import odd_event

pytestmark = pytest.mark.slow

POINT_MM = 25.4 / 72
HARVEST = "harvest-lunch"


def reader(event: Event, paper: str = "a4", parts: Sequence[str] = PARTS) -> PdfReader:
    plan, base = plan_of(event), "https://here.example/e/x"
    made = pdf(event, plan, paper=paper, parts=parts, base_url=base)  # type: ignore[arg-type]
    return PdfReader(io.BytesIO(made))


@cache
def whole_paper(sample: str) -> PdfReader:
    return reader(sample_event(sample))


@pytest.fixture(scope="module")
def harvest_pdf() -> PdfReader:
    return whole_paper(HARVEST)


def text_of(page: PageObject) -> str:
    """Return what stands on a page, which is read out once: that takes long."""
    if not hasattr(page, "words_read"):
        page.words_read = re.sub(r"\s+", " ", page.extract_text())
    return str(page.words_read)


def page_with(found: PdfReader, words_there: str) -> PageObject:
    return next(p for p in found.pages if words_there in text_of(p))


def test_the_run_sheet_has_every_job_at_its_time(harvest_pdf: PdfReader) -> None:
    event, plan = sample_event(HARVEST), sample_plan(HARVEST)
    sheet = " ".join(text_of(p) for p in harvest_pdf.pages[:3])

    for d in run_sheet_items(event, plan):
        assert formatting.clock(event, d.at) in sheet
        assert (d.title.upper() if d.kind == "serve" else d.title) in sheet
    for rescue in plan.rescues:
        assert f"Under {rescue.below_c:.0f} °C" in sheet


@pytest.mark.parametrize("name", SAMPLES)
def test_what_is_eaten_is_probed_and_lifted_before_the_meal_by_somebody_named(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)

    rows: list[dict[str, Any]] = facts(event, plan)["rows"]  # type: ignore[assignment]

    ids = [r["id"] for r in rows]
    lifts = {i: j for j in plan.jobs if j.kind == "lift" for i in j.placement_ids}
    for meal in event.meals:
        dishes = {p.dish_id for p in plan.placements if event.dish(p.dish_id).meal == meal.id}
        probed = {event.dish(d).name for d in dishes if probe_least(event, event.dish(d))}
        if not probed:
            continue
        look = rows[ids.index(f"look-{meal.id}")]
        assert {p["food"] for p in look["probes"]} == probed
        assert all(p["least"] for p in look["probes"])
        assert look["who"]
        serve = ids.index(f"serve-{meal.id}")
        assert ids.index(f"look-{meal.id}") < serve
        for p in plan.placements:
            if p.dish_id in dishes and p.lifted_at <= p.served_at and p.id in lifts:
                assert ids.index(lifts[p.id].id) < serve


def test_each_helper_probes_what_they_lift_and_all_is_probed_by_one(harvest_pdf: PdfReader) -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")

    helpers: list[dict[str, Any]] = facts(event, plan)["helpers"]  # type: ignore[assignment]

    probed = [p["food"] for h in helpers for r in h["rows"] for p in r["probes"]]
    every = [d.name for d in event.dishes if probe_least(event, d)]
    assert sorted(probed) == sorted(every)


def test_what_is_prepared_and_set_up_is_somebodys_and_never_a_childs() -> None:
    event, plan = sample_event("school-day"), sample_plan("school-day")
    young = {h.name for h in event.helpers if not h.adult}

    told = lists(event, plan)

    rows = [*told["prepare"], *told["set_up"], *told["pack_down"]]  # type: ignore[misc]
    names = {r["who"] for r in rows}
    assert names - {"before the crew’s hours"} <= {h.name for h in event.helpers} - young
    assert len(names) > 1, "shared"
    for helper in event.helpers:
        if not helper.adult:
            kinds = {i.kind for i in items_of_helper(event, plan, helper.id)}
            assert not kinds & {"set-up", "pack-down", "load", "lift", "walk"}


def card_pages(found: PdfReader, name: str) -> list[PageObject]:
    """Return a cooker's card: its first side and those that go on."""
    return [
        p
        for p in found.pages
        if text_of(p).startswith((f"{name}, side", f"{name} "))
        and float(p.mediabox.width) * POINT_MM < 150
    ]


def test_every_card_has_its_loads_turns_and_cautions(harvest_pdf: PdfReader) -> None:
    event, plan = sample_event(HARVEST), sample_plan(HARVEST)

    for cooker in event.cookers:
        sides = card_pages(harvest_pdf, cooker.name)
        card = " ".join(text_of(p) for p in sides)
        assert 1 <= len(sides) <= 3, "two sides, and a second card for a mirror of three loads"
        assert all("Burns: cool running water" in text_of(p) for p in sides)
        for p in plan.placements:
            if p.cooker_id == cooker.id:
                for at in (p.loaded_at, p.lifted_at, p.served_at):
                    assert formatting.clock(event, at) in card
        for t in plan.turns:
            if t.cooker_id == cooker.id:
                assert formatting.clock(event, t.at) in card
                assert turn_orders.turn_order(event, t).shadow_short in card
        if cooker.kind == "parabolic":
            assert "look into the bowl" in card


# Each sample on one size; the largest and the README's own on the other as well.
SIZES = [*((name, "a4") for name in SAMPLES), *((n, "us-letter") for n in ("cook-off", HARVEST))]


@pytest.mark.parametrize(("name", "paper"), SIZES)
def test_cards_are_read_at_arms_length_and_nothing_is_split(name: str, paper: str) -> None:
    event = sample_event(name)
    found = reader(event, paper, parts=("cards",))

    for page in found.pages:
        sizes: set[float] = set()

        def visit(
            text: str,
            cm: list[float],
            tm: list[float],
            _font: object,
            size: float,
            sizes: set[float] = sizes,
        ) -> None:
            del _font
            scale = abs(mult(tm, cm)[3])
            if re.search(r"[a-z]{3}", text):  # "am" and "°C" stand small beside a time
                sizes.add(round(size * scale, 1))

        page.extract_text(visitor_text=visit)
        assert min(sizes) >= 14, text_of(page)
    assert [c.name for c in event.cookers if not card_pages(found, c.name)] == []
    # Every tick has its time beside it: no row goes on overleaf.
    for cooker in event.cookers:
        for page in card_pages(found, cooker.name):
            assert not re.match(r".{0,24}Do Tip\W*(Read|Probe:|in the middle)", text_of(page))


@pytest.mark.parametrize(("name", "paper"), SIZES)
def test_no_page_holds_a_few_words_alone(name: str, paper: str) -> None:
    parts = ("run-sheet", "helpers", "aiming", "before", "food")

    for page in reader(sample_event(name), paper, parts).pages:
        assert len(text_of(page)) > 150, text_of(page)


def test_only_the_parts_that_are_asked_for_are_printed() -> None:
    event = sample_event("school-day")

    found = reader(event, "a4", parts=("gas", "food"))

    assert [text_of(p).split(" ")[0] for p in found.pages] == ["Allergens", "Gas"]


def test_all_of_it_can_be_a5() -> None:
    found = reader(sample_event("winter-refusal"), "a5")

    assert {round(float(p.mediabox.width) * POINT_MM) for p in found.pages} == {148}


def test_a_pot_that_is_moved_stands_on_the_card_of_its_second_cooker() -> None:
    event, plan = sample_event("winter-refusal"), sample_plan("winter-refusal")
    moved = next(p for p in plan.placements if p.then_cooker_id)

    items = items_of_cooker(event, plan, event.cooker(moved.then_cooker_id or ""))

    assert event.dish(moved.dish_id).name in {i.food for i in items}


def test_cards_are_a5_and_sheets_a4_or_letter(harvest_pdf: PdfReader) -> None:
    letter = reader(sample_event("school-day"), "us-letter")

    def size(page: PageObject) -> tuple[int, int]:
        return round(float(page.mediabox.width) * POINT_MM), round(
            float(page.mediabox.height) * POINT_MM
        )

    assert size(harvest_pdf.pages[0]) == (210, 297)
    assert (148, 210) in {size(p) for p in harvest_pdf.pages}
    assert size(letter.pages[0]) == (216, 279)
    assert harvest_pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]  # type: ignore[index]  # tagged


@pytest.mark.parametrize("pin_cm", [10, 20])
def test_rings_and_ruler_are_true_to_two_tenths_of_a_millimetre(
    harvest_pdf: PdfReader, pin_cm: int
) -> None:
    event = sample_event(HARVEST)
    page = page_with(harvest_pdf, f"Aiming card, pin {pin_cm} cm")
    drawn = page.get_contents()
    assert drawn is not None
    code = drawn.get_data().decode("latin-1")

    radii = [
        float(r) * POINT_MM for r in re.findall(r" 0 ([\d.]+) m 0 [\d.]+ [\d.]+ 0 \1 0 c", code)
    ]
    ruler = max(float(w) * POINT_MM for w in re.findall(r" 0 0 m ([\d.]+) 0 l\nS", code))

    cosine = math.cos(math.radians(declination_deg(event.date)))
    assert len(RINGS_MIN) >= 3
    trues = [0.0]
    for minutes in RINGS_MIN:
        # 2 asin(cos d sin(7.5 deg/h t)) is the sun's way; the pin's shadow is its tangent.
        way = 2 * math.asin(cosine * math.sin(math.radians(7.5 * minutes / 60)))
        true_mm = 10 * pin_cm * math.tan(way)
        assert min(abs(r - true_mm) for r in radii) < 0.2, minutes
        trues.append(true_mm)
    assert min(np.diff(trues)) >= 3  # a blurred tip can be told from the next ring's
    assert ruler == pytest.approx(100, abs=0.2)


def test_at_the_equinox_rings_have_the_printed_radii() -> None:
    # 10 cm pin, tan(0.25 deg x minutes): 10 min 4.4 mm, 20 8.7, 30 13.2.
    event = changed(sample_event(HARVEST), date=datetime(2027, 3, 21).date())

    pins = aiming(event)["pins"]

    assert isinstance(pins, list)
    rings = {r["min"]: r["r"] for r in pins[0]["rings"]}
    assert [round(rings[m], 1) for m in ("10", "20", "30")] == [4.4, 8.7, 13.2]


def hours_on(page: PageObject) -> dict[str, tuple[float, float]]:
    """Return where the hours of an aiming card stand on a page, in points."""
    places: dict[str, tuple[float, float]] = {}

    def visit(text: str, cm: list[float], tm: list[float], _font: object, _size: float) -> None:
        x, y = mult(tm, cm)[4:]
        if text.strip() in map(str, range(1, 13)):
            # Ring names come last and never stand where an hour does: the first is the hour.
            places.setdefault(text.strip(), (float(x), float(y)))

    page.extract_text(visitor_text=visit)
    return places


def test_the_card_has_twelve_hours_and_each_lies_behind_itself(harvest_pdf: PdfReader) -> None:
    front = hours_on(page_with(harvest_pdf, "Aiming card, pin 10 cm"))
    back = hours_on(page_with(harvest_pdf, "Back of the aiming card, pin 10 cm"))

    assert len(front) == len(back) == 12
    assert front["12"][1] > front["3"][1] > front["6"][1]
    assert front["9"][0] < front["12"][0] < front["3"][0]
    middle = float(harvest_pdf.pages[0].mediabox.width) / 2
    for hour, (x, y) in front.items():  # turned over like a page; a digit is 4 pt wide or so
        assert back[hour] == (pytest.approx(2 * middle - x, abs=25), pytest.approx(y, abs=0.5))


@pytest.mark.parametrize("name", SAMPLES)
def test_every_order_names_rings_that_are_printed(name: str) -> None:
    for turn in sample_plan(name).turns:
        assert turn.ring_min in {0, 5, 10, 15, 20, 25, 30}
        assert turn.clock_hour is not None
        assert 0.5 <= turn.clock_hour <= 12


def test_how_the_card_sits_is_drawn_for_each_kind(harvest_pdf: PdfReader) -> None:
    page = page_with(harvest_pdf, "How the aiming card sits")

    for kind in ("Mirror.", "Box.", "Panel."):
        assert kind in text_of(page)
    assert text_of(page).count("12") >= 5  # twice in words, once on each card that is drawn


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_has_its_paper(name: str) -> None:
    whole = " ".join(text_of(p) for p in whole_paper(name).pages)
    assert "Stay behind the rope." in whole
    for u in sample_plan(name).unplaced:
        dish = next(d.name for d in sample_event(name).dishes if d.id == u.dish_id)
        assert f"Not placed: {dish}" in whole


def test_any_name_can_stand_on_paper_and_none_is_taken_for_source() -> None:
    event = odd_event()

    found = reader(event)

    whole = " ".join(text_of(p) for p in found.pages)
    assert "#set text(red)" in whole
    assert '#panic("no")' in whole
    for page in pages(event, plan_of(event)).values():
        assert "<b>#set" not in page
        assert "&lt;b&gt;#set" in page


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_each_cooker_is_shown_on_one_page_with_what_to_ask_and_beware_of(paper: str) -> None:
    event = sample_event("school-rounds")
    found = reader(event, paper, ("show",))

    assert len(found.pages) == len(event.cookers)
    for cooker, page in zip(event.cookers, found.pages, strict=True):
        words = text_of(page)
        assert words.startswith(f"{cooker.name}: what to show and say")
        assert all(caution in words for caution in cautions(cooker))
        for part in ("Ask the pupils", "Arrives", "Lost to the air", "To build one", "Sources"):
            assert part in words


def test_no_page_of_a5_is_nearly_empty() -> None:
    event = sample_event(HARVEST)
    shown, aimed, sheets = (
        [text_of(page) for page in reader(event, "a5", [part]).pages]
        for part in ("show", "aiming", "helpers")
    )

    assert len(shown) == len(event.cookers)  # one for each: its sources do not stand alone
    assert "How the aiming card sits" in aimed[-1]
    assert "Left and right, upper edge" in aimed[-1]
    assert min(map(len, sheets)) > 0.55 * max(map(len, sheets))
