"""Dishes made safe for guests at risk: hotter, held for less long, or left out."""

from __future__ import annotations

from events.food_rules import FOOD_RULES
from events.reading.event_file import read_table
from events.reading.food_safety import food_faults
from events.table import changed
from service.forms.at_risk import Mend, mend_words, mended, mends_of
from service.forms.event_form import table_of
from tests.conftest import sample_event

AT_RISK = changed(sample_event("cook-off"), vulnerable_guests=True)


def test_what_is_mended_breaks_no_rule_of_food() -> None:
    """Eggs are firm at the strictest middle: AU, NZ and Scotland ask for 75 °C (food_rules.py)."""
    soft = tuple(
        changed(d, core_c=66.0) if "eggs" in d.id and d.core_c else d for d in AT_RISK.dishes
    )
    event = changed(AT_RISK, dishes=soft)
    mends = mends_of(list(food_faults(event)))
    assert any(m.key == "core_c" for m in mends)

    safe = read_table(mended(table_of(event), mends), source="here")

    assert not list(food_faults(safe))
    eggs = next(d for d in safe.dishes if "eggs" in d.id)
    assert eggs.core_c == FOOD_RULES["strictest"].middle_c
    assert mend_words(event, Mend(eggs.id, "core_c", 75.0)) == (
        f"{eggs.name}: 167 °F in the middle, at least"
    )


def test_raw_kidney_beans_are_left_out_and_never_called_tinned() -> None:
    beans = next(d for d in AT_RISK.dishes if d.like == "bean-stew")
    raw = changed(beans, kidney_beans="raw", done="boil", hold_min=40)
    event = changed(AT_RISK, dishes=tuple(raw if d is beans else d for d in AT_RISK.dishes))
    mends = mends_of(list(food_faults(event)))

    safe = read_table(mended(table_of(event), mends), source="here")

    assert Mend(beans.id) in mends
    assert "left out" in mend_words(event, Mend(beans.id))
    assert beans.id not in {d.id for d in safe.dishes}
    assert not list(food_faults(safe))


def test_nothing_is_offered_for_a_fault_of_another_kind() -> None:
    dry = changed(AT_RISK.dishes[0], hazardous=False)
    event = changed(AT_RISK, dishes=(dry, *AT_RISK.dishes[1:]))
    faults = list(food_faults(event))

    assert {"cooked-is-hazardous", "held-for-the-vulnerable"} == {f.kind for f in faults}
    assert mends_of(faults) == []
