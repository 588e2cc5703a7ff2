"""Hostile files: each is refused at once, and no answer is larger than a page."""

from __future__ import annotations

import json

import pytest

from events.errors import FaultyEvent
from events.reading.event_file import read_event, read_json
from events.reading.limits import BYTES_MOST, FAULTS_MOST, TEXT_LONGEST, oversize
from events.reading.samples import sample_names, sample_text
from events.reading.schema import ROWS_MOST
from events.reading.write import write_event
from service.text.faults import said
from tests.scale import grown

DOTS = "a." * 50
HEAD = 'title = "x"\ndate = 2026-11-28\n[site]\nlatitude_deg = 1\nlongitude_deg = 1\n'


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        # As measured on 0.2: 32 kB of dots stopped every page for 37 s, 800 kB took 15 GB.
        (".".join(["a"] * 16_000) + " = 1", "dots in one key"),
        (" . ".join(['"a"'] * 16_000) + " = 1", "dots in one key"),
        (f"a = {'9' * 100_000}", "letters in one number"),
        (f"a = 0x1{'0' * 5_000}", "letters in one number"),
        (f"a = {'[' * 10_000}", "brackets inside each other"),
        ("\n".join(f"k{n} = 1" for n in range(30_000)), "keys"),
        ("[[dish]]\n" * 11_000, "tables"),
        (f"a = [{'[1, 2], ' * 35_000}]", "commas"),
        ("a = [\n" + "1\n" * 61_000, "numbers and names"),
        # These took a reader 0.4 s and 100 MB each.
        (f'a = "{"b" * (TEXT_LONGEST + 1)}"', "letters in one text"),
        (f"a = '{'b' * (TEXT_LONGEST + 1)}'", "letters in one text"),
        (f'a = """{"b " * TEXT_LONGEST}""" # and so on', "letters in one text"),
        ("a = '''" + "b" * TEXT_LONGEST, "letters in one text"),
        (f'a = "{"b" * BYTES_MOST}"', "bytes"),
    ],
    ids=lambda value: value[:24],
)
def test_what_would_take_long_to_read_is_refused_before_it_is_read(text: str, limit: str) -> None:
    with pytest.raises(FaultyEvent) as refused:
        read_event(text)

    (fault,) = refused.value.faults
    assert said(fault).limit.startswith(limit)
    assert len(said(fault).value) < 20


def test_the_file_of_a_festival_is_read() -> None:
    festival = grown(300, 120, 30)

    assert read_event(write_event(festival)) == festival


def test_quotes_and_comments_are_no_keys() -> None:
    dots, deep = "a." * 50, "[" * 50

    assert oversize(f"a = \"{dots}{deep}\"  # {dots}{deep}\nb = '''\n{dots}\n{deep}'''") is None


@pytest.mark.parametrize("quotes", ['a = """' + '\\"""' * 100_000, 'a = "' + '\\"' * 200_000])
def test_quotes_that_never_close_are_looked_at_once(quotes: str) -> None:
    fault = oversize(quotes)

    assert fault is not None
    assert said(fault).limit.startswith("letters in one text")


@pytest.mark.parametrize(
    ("text", "dots_seen"),
    [
        (f'"{DOTS}"', False),
        (f"'{DOTS}'", False),
        (f'"""{DOTS}"", "{DOTS}\n\\"""{DOTS}"""', False),
        (f"'''{DOTS}''{DOTS}'''", False),
        (f'"" {DOTS}', True),
        (f'"\\"" {DOTS}', True),
        (f'"no end\n{DOTS}', True),
        (f'"""x""" {DOTS}', True),
        (f"'''x''' {DOTS}", True),
    ],
)
def test_quotes_end_where_they_end(text: str, *, dots_seen: bool) -> None:
    assert (oversize(f"a = {text}") is not None) == dots_seen


@pytest.mark.parametrize(
    "keys", [[f"k{n}" for n in range(9_000)], [f"k{n}" * 20 for n in range(2_000)]]
)
def test_nobody_is_given_more_faults_than_can_be_mended_at_once(keys: list[str]) -> None:
    with pytest.raises(FaultyEvent) as refused:
        read_event("".join(f"{key} = 1\n" for key in keys) + HEAD)

    assert len(refused.value.faults) == FAULTS_MOST
    assert len(str(refused.value)) < 20_000


@pytest.mark.parametrize(
    ("text", "key", "limit"),
    [
        ("[[dish]]\n" * (ROWS_MOST["dish"] + 1), "", f"{ROWS_MOST['dish']} is the most"),
        (f"[[station]]\nid = 's'\nskyline = [{'[1, 2], ' * 3000}]", "skyline", "720"),
        (f'[weather]\nsource = "{"a" * 19_000}"', "source", "200"),
    ],
    ids=["dishes", "skyline", "words"],
)
def test_a_table_that_is_too_long_says_its_limit(text: str, key: str, limit: str) -> None:
    with pytest.raises(FaultyEvent) as refused:
        read_event(HEAD + text)

    (fault,) = [f for f in refused.value.faults if f.key == key and limit in said(f).limit]
    assert len(said(fault).value) <= 201


@pytest.mark.parametrize(
    "body", ["[" * 100_000, json.dumps({f"k{n}": 1 for n in range(30_000)}), '{"a": ' + "9" * 5_000]
)
def test_hostile_json_is_refused(body: str) -> None:
    with pytest.raises(FaultyEvent):
        read_json(body, source="the body")


def test_the_largest_days_are_far_below_the_limits() -> None:
    for name in sample_names():
        assert oversize(sample_text(name)) is None
    assert oversize(write_event(grown(100, 40, 20))) is None
