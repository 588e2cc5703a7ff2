"""What would help a dish that found no place: it helps when it is done."""

from __future__ import annotations

import pytest

from events.reading.event_file import read_event
from events.reading.write import write_event
from events.table import changed
from solver.feasibility.changes import apply
from solver.feasibility.improvements import improvements
from solver.planning.pipeline import make_plan
from tests.conftest import sample_event
from tests.scale import grown


@pytest.mark.slow
def test_what_is_offered_helps_when_it_is_taken() -> None:
    sample = sample_event("winter-refusal")
    event = changed(sample, cookers=tuple(c for c in sample.cookers if c.kind != "insulated"))

    offered = improvements(event, make_plan(event))

    assert offered
    for fix in offered[:2]:
        after = apply(event, fix.id)
        assert after is not None
        new = make_plan(after)
        assert fix.dish_id in {p.dish_id for p in new.placements}
        assert len({p.dish_id for p in new.placements}) == fix.placed
    assert apply(event, "soup-nonsense") is None


@pytest.mark.slow
def test_one_more_cooker_is_offered_where_cookers_are_few() -> None:
    event = grown(5, 2, 2)
    lone = tuple(c for c in event.cookers if c.kind != "burner")
    whole = tuple(changed(d, batches_max=1) for d in event.dishes)
    event = changed(event, cookers=lone, dishes=whole)

    offered = {f.id: f for f in improvements(event, make_plan(event))}

    fix = next(f for f in offered.values() if f.id.endswith("-cooker"))
    after = apply(event, fix.id)
    assert after is not None
    assert len(after.cookers) == 2
    again = apply(after, fix.id)  # the same change once more: another id, a file that is sound
    assert again is not None
    assert read_event(write_event(again)) == again
    assert fix.dish_id in {p.dish_id for p in make_plan(after).placements}
