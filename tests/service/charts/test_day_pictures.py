"""The day's pictures: what is in a cooker at once stands in rows, and no label on another."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from events.model import Event
from events.table import changed
from service.charts.canvas import rows_of, stays_of
from service.charts.day_lane import MARGIN_X, ROW, lanes_of
from service.charts.day_timeline import day_wide
from service.charts.day_timeline_phone import day_phone
from solver.plan import Plan, Stretch
from tests.conftest import sample_event, sample_plan


def on_one_ring() -> tuple[Event, Plan, str]:
    """Return a lunch of which a pot is moved to a ring while another cooks on it."""
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    ring = next(c.id for c in event.cookers if c.on_gas)
    first, second = plan.placements[:2]
    at = first.loaded_at
    cooks = changed(
        first, cooker_id=ring, then_cooker_id=None, lifted_at=at + timedelta(minutes=60)
    )
    moved = changed(
        second,
        cooker_id="mirror-1",
        then_cooker_id=ring,
        lifted_at=at + timedelta(minutes=30),
        off_at=at + timedelta(minutes=90),
        served_at=at + timedelta(minutes=120),
    )
    return event, changed(plan, placements=(cooks, moved)), ring


def test_a_pot_that_is_moved_to_a_ring_hides_none_that_cooks_there() -> None:
    event, plan, ring = on_one_ring()

    lane = next(lane for lane in lanes_of(event, plan, 0.0) if lane.cooker.id == ring)

    assert [[stay.is_moved for stay in row] for row in lane.rows] == [[False], [True]]
    assert lane.bottom - lane.top >= 2 * ROW
    ends = [s.ends_at - s.starts_at for s in stays_of(plan, ring) if s.is_moved]
    assert ends == [timedelta(minutes=60)]  # until it leaves the ring, not until it is served
    names = [event.dish(p.dish_id).name for p in plan.placements]
    for picture in (day_wide(event, plan, None), day_phone(event, plan, None)[0][1]):
        assert all(f">{name[:3]}" in picture for name in names)


def test_what_comes_one_after_another_shares_a_row() -> None:
    _, plan, ring = on_one_ring()
    first, moved = plan.placements
    later = changed(
        moved,
        lifted_at=first.lifted_at,
        off_at=first.lifted_at + timedelta(minutes=5),
    )

    assert len(rows_of(stays_of(changed(plan, placements=(first, later)), ring))) == 1


@pytest.mark.parametrize(("hours", "labels"), [(6.0, 2), (2.5, 1), (0.5, 1)])
def test_a_short_stretch_of_sun_has_one_label(hours: float, labels: int) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    start = plan.sun[0].at + timedelta(hours=1)
    sunny = Stretch(starts_at=start, ends_at=start + timedelta(hours=hours))
    plan = changed(plan, windows=(changed(plan.windows[0], stretches=(sunny,)), *plan.windows[1:]))

    picture = day_wide(event, plan, None)

    said = re.findall(r">sun (?:from |until )?\d\d:\d\d(?:–\d\d:\d\d)?<", picture)
    assert len(said) == labels
    assert ("–" in said[0]) == (labels == 1)


def test_a_late_meals_label_leaves_the_margin_free() -> None:
    """The cook-off's supper is near the day's end: its label stands before its line there."""
    picture = day_wide(sample_event("cook-off"), sample_plan("cook-off"), None)

    boxes = re.findall(r'<rect class="ink" x="([\d.]+)" y="104(?:\.0)?" width="([\d.]+)"', picture)
    assert len(boxes) == 2
    assert all(float(x) + float(wide) <= MARGIN_X for x, wide in boxes)


def test_only_those_who_walk_are_named_beside_the_walks() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    young = changed(event.helpers[0], id="tilly", name="Tilly", adult=False, may=())
    crew = changed(event, helpers=(*event.helpers, young))

    assert "Tilly" not in day_wide(crew, plan, None)
    assert event.helper(plan.walks[0].helper_id).name in day_wide(crew, plan, None)


def test_a_day_without_walks_has_no_row_for_them() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")

    assert ">Walks<" in day_wide(event, plan, None)
    assert ">Walks<" not in day_wide(event, changed(plan, walks=()), None)
