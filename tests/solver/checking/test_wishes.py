"""Breaks, wishes and cookers that somebody stays at: each breach is named."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from events.model import Break, Event
from events.table import changed
from solver.checking.rules import check
from solver.planning.pipeline import make_plan
from tests.conftest import sample_event, sample_plan


@pytest.mark.slow
def test_a_plan_keeps_breaks() -> None:
    event = sample_event("harvest-lunch")
    pause = Break(at=time(10, 0), minutes=45)
    tired = tuple(changed(h, breaks=(pause,)) if h.id == "bo" else h for h in event.helpers)
    event = changed(event, helpers=tired)

    plan = make_plan(event)
    start = datetime.combine(event.date, pause.at, ZoneInfo("Africa/Johannesburg"))
    mine = [j.at for j in plan.jobs if "bo" in j.helper_ids and j.kind != "talk"]
    mine += [w.at for w in plan.walks if w.helper_id == "bo"]
    assert mine
    assert not [at for at in mine if start <= at < start + timedelta(minutes=45)]


@pytest.mark.slow
def test_wishes_are_kept_and_a_breach_is_named() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    pot = next(p for p in plan.placements if p.dish_id == "beetroot")

    def wished(**wish: object) -> Event:
        dishes = tuple(changed(d, **wish) if d.id == "beetroot" else d for d in event.dishes)
        return changed(event, dishes=dishes)

    kept_out = wished(not_in=(pot.cooker_id,))
    held = wished(only_in=("mirror-1",), load_at=time(9, 20))
    assert "kept-out-of-this-cooker" in {b.rule for b in check(kept_out, plan)}
    assert {"held-in-another-cooker", "held-at-another-time"} <= {b.rule for b in check(held, plan)}

    new, there = make_plan(kept_out), make_plan(held)

    assert pot.cooker_id not in {p.cooker_id for p in new.placements if p.dish_id == "beetroot"}
    held_pot = next(p for p in there.placements if p.dish_id == "beetroot")
    assert (held_pot.cooker_id, held_pot.loaded_at) == ("mirror-1", event.instant(time(9, 20)))


@pytest.mark.slow
def test_at_an_attended_cooker_one_stays_and_turns_it() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    cookers = tuple(changed(c, attended=c.id == "box-1") for c in event.cookers)
    dishes = tuple(changed(d, only_in=("box-1",)) if d.id == "rice" else d for d in event.dishes)
    shown = changed(event, cookers=cookers, dishes=dishes)
    breaches = check(shown, plan)
    assert any(b.rule == "cooker-not-attended" and "box-1" in b.ids for b in breaches)

    new = make_plan(shown)
    fills = {p.fill for p in new.placements if p.cooker_id == "box-1"}
    stays = [j for j in new.jobs if j.kind == "attend"]
    assert len(stays) == len(fills) > 0
    walkers = {w.helper_id for w in new.walks if any("box-1" in t for t in w.turn_ids)}
    assert walkers <= {j.helper_ids[0] for j in stays}
