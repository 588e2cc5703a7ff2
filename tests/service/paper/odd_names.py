"""A harvest lunch whose names hold anything a person may type."""

from __future__ import annotations

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text

ODD = (
    (
        'title = "Harvest lunch"',
        "title = '<b>#set text(red)</b> ארוחת צהריים غداء $x^2$ \\ *bold*'",
    ),
    ('name = "Mirror 1"', "name = 'Мирор с очень длинным именем, у насоса за домом, справа'"),
    ('name = "Tea water"', "name = '#panic(\"no\") ماء للشاي @ref `code`'"),
    ('name = "Asta"', "name = 'אסטה'"),
)


def odd_event() -> Event:
    text = sample_text("harvest-lunch")
    for old, new in ODD:
        assert old in text
        text = text.replace(old, new)
    return read_event(text)
