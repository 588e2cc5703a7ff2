"""A day with a box that can't be tilted: nobody is told to tilt it, on any page, card or sheet."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from service.paper.calendar import run_sheet_csv
from service.paper.pdf import pdf
from service.paper.standalone_pages import pages
from service.text.run_sheet import run_sheet_items
from service.text.turn_orders import turn_lines
from solver.plan import Plan
from tests.conftest import plan_of, replaced

pytestmark = pytest.mark.slow

TILTS = re.compile(
    r"tilt it|upper edge (up|down)|(raise|lower) the|edge with 12|past level|ring \d"
)


@pytest.fixture(scope="module")
def event() -> Event:
    """All that is on the sun is a box with its glass at 40°."""
    text = replaced(
        sample_text("school-day"),
        ('like = "box-hot"\n', 'like = "box-hot"\nglass_tilt_deg = 40\n'),
    )
    text = re.sub(r'\[\[cooker]]\nid = "(mirror|panel)".*?(?=\n\[\[)', "", text, flags=re.S)
    text = re.sub(r"\[\[talk]].*?(?=\n\[\[|\Z)", "", text, flags=re.S)
    return read_event(text, source="turned only")


@pytest.fixture(scope="module")
def plan(event: Event) -> Plan:
    return plan_of(event)


def test_its_turns_have_an_hour_and_no_ring(event: Event, plan: Plan) -> None:
    assert len(plan.turns) >= 3
    assert {t.ring_min for t in plan.turns} == {None}
    for line in turn_lines(event, plan.turns):
        assert re.fullmatch(
            r"Oven box: (set on the sun|still holds|(left|right).*); towards.*", line
        )


def test_no_page_and_no_sheet_says_to_tilt_it(event: Event, plan: Plan) -> None:
    items = run_sheet_items(event, plan)

    assert "ring_min" in plan.model_dump_json()
    for text in [
        *pages(event, plan).values(),
        run_sheet_csv(event, plan),
        *(f"{i.title} {i.how} {i.second} {i.caution}" for i in items),
    ]:
        assert not TILTS.search(re.sub(r"<style.*?</style>|<svg.*?</svg>", "", text, flags=re.S))


@pytest.mark.parametrize("paper", ["a4", "a5"])
def test_its_paper_has_a_dial_and_no_rings(event: Event, plan: Plan, paper: str) -> None:
    parts = ("cards", "aiming", "run-sheet")
    made = pdf(event, plan, paper=paper, parts=parts, base_url="")  # type: ignore[arg-type]
    found = [re.sub(r"\s+", " ", p.extract_text()) for p in PdfReader(io.BytesIO(made)).pages]

    assert not any("Aiming card, pin" in page for page in found)
    dials = [page for page in found if "Dial for cookers" in page]
    assert len(dials) == 1
    assert all(str(hour) in dials[0] for hour in range(1, 13))
    assert not any(TILTS.search(page) for page in found)
    assert any("on the level dial the pin’s shadow lies towards this hour" in p for p in found)
