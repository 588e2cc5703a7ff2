"""Templates and sheets as their readers meet them: short lines, and no class that nothing uses."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import service

ROOM = Path(service.__file__).parent
TEMPLATES = sorted((ROOM / "web" / "templates").iterdir())
STATIC = sorted((ROOM / "web" / "static").iterdir())
LONGEST_LINE = 140
CLASSES = re.compile(r"[a-z][a-z0-9-]*(?: [a-z][a-z0-9-]*)*")  # as they stand in an attribute


def text_of(*endings: str) -> str:
    return "\n".join(p.read_text() for p in (*TEMPLATES, *STATIC) if p.suffix in endings)


def strings_of(room: str) -> set[str]:
    """Return the strings in a room's Python that could be classes: charts and states have them."""
    nodes = (n for p in (ROOM / room).rglob("*.py") for n in ast.walk(ast.parse(p.read_text())))
    held = (n.value for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str))
    return {s for s in held if CLASSES.fullmatch(s)}


def used_classes() -> set[str]:
    markup = text_of(".html") + "".join(p.read_text() for p in (ROOM / "text").glob("*.py"))
    in_markup = re.findall(r'class="([^"]*)"', markup)
    in_scripts = re.findall(r"""(["'`])(.*?)\1""", text_of(".js"))
    strings = {*in_markup, *(s for _, s in in_scripts), *strings_of("charts"), *strings_of("web")}
    return {word for s in strings for word in re.findall(r"[a-z][a-z0-9-]*", s)}


def test_no_line_of_a_template_is_over_140_characters() -> None:
    lines = [(p.name, n, s) for p in TEMPLATES for n, s in enumerate(p.read_text().split("\n"), 1)]

    assert [(name, n) for name, n, line in lines if len(line) > LONGEST_LINE] == []


def test_every_class_of_the_sheets_is_used() -> None:
    sheets = re.sub(r"/\*.*?\*/", "", text_of(".css"), flags=re.DOTALL)
    named = set(re.findall(r"\.([a-z][a-z0-9-]*)", sheets))

    assert len(named) > 100  # they were found at all
    assert named - used_classes() == set()
