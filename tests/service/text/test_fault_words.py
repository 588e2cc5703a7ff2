"""Each kind of fault has its words, each word its figures; nobody else writes such a sentence."""

from __future__ import annotations

import ast
import string
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import events
import service
import solver
from events.fault_kinds import FaultKind
from events.kinds import COOKER_KINDS, DONE_MODES
from events.reading.model_faults import FIGURES, KINDS, OTHER
from service.text.event_fault_words import HOW_TO_KNOW
from service.text.faults import WORDS

ROOMS = [Path(room.__file__ or "").parent for room in (events, solver, service)]
KNOWN = {"table", "key", "value", "how_to_know"}  # in every sentence
MAKERS = {"fault", "refuse", "_refuse", "_too", "_CantBe", "_incomplete"}  # of a fault of a kind


def calls() -> Iterator[tuple[FaultKind, ast.Call, list[ast.expr]]]:
    """Yield each call that makes a fault: its kind, and the positional arguments."""
    for file in (f for room in ROOMS for f in room.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and name_of(node.func) in MAKERS:
                args = [a for arg in node.args for a in unpacked(arg)]
                for part in (p for arg in args for p in ast.walk(arg)):
                    if isinstance(part, ast.Constant) and part.value in WORDS:
                        yield part.value, node, args


def name_of(function: ast.expr) -> str:
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def unpacked(arg: ast.expr) -> list[ast.expr]:
    starred = isinstance(arg, ast.Starred) and isinstance(arg.value, ast.Tuple)
    return arg.value.elts if starred else [arg]  # type: ignore[attr-defined]


def figures_in(kind: FaultKind) -> set[str]:
    parts = [part for words in WORDS[kind] for part in string.Formatter().parse(words)]
    return {name for _, name, _, _ in parts if name} - KNOWN


def test_every_kind_has_its_words_and_every_word_its_kind() -> None:
    assert set(WORDS) == set(get_args(FaultKind))
    assert all(words.limit for words in WORDS.values())


def test_no_kind_is_unused() -> None:
    used = {kind for kind, _, _ in calls()} | {*KINDS.values(), OTHER}

    assert set(WORDS) - used == set()


def test_every_fault_is_given_the_figures_that_its_words_say() -> None:
    for kind, call, _ in calls():
        given = {str(k.arg) for k in call.keywords}
        if name_of(call.func) == "_too":
            given = {"most"}
        assert figures_in(kind) <= given, (kind, figures_in(kind) - given)
    for kind in set(KINDS.values()):
        assert figures_in(kind) <= set(FIGURES.values())


def test_every_figure_that_must_be_given_says_how_it_is_known() -> None:
    needed = {key for of in (*COOKER_KINDS.values(), *DONE_MODES.values()) for key in of.requires}

    assert needed == set(HOW_TO_KNOW)


def test_nobody_but_the_words_writes_a_sentence_for_a_fault() -> None:
    """A form's label may have blanks; a value and the figures are no words of ours."""
    for kind, call, args in calls():
        for part in (*args[1:], *(k.value for k in call.keywords)):
            for node in ast.walk(part):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    assert " " not in node.value.strip(", "), (kind, node.value)
