"""What a file may be at most, looked at before it is read: bytes, keys, depth, words, faults.

A reader's time can rise with the square of what it is given (a key of many dots, tomllib); these
limits are far above any day that can be planned, and below what hurts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import SupportsIndex

from events.errors import WHOLE_FILE, Fault
from events.fault_kinds import FaultKind

BYTES_MOST = 600_000
KEYS_MOST = 25_000  # three hundred dishes, every figure written out, have 22,400
TABLES_MOST = 10_000
DOTS_MOST = 8  # in one key; our own have none
DEPTH_MOST = 12  # brackets and braces inside each other
WORDS_MOST = 60_000  # numbers and bare keys; the largest day that the rows allow has 36,000
WORD_LONGEST = 100  # a number or a bare key
TEXT_LONGEST = 20_000  # in quotes; no field takes as much
FAULTS_MOST = 50  # whoever has more mends these first

# Text in quotes, comments, and the few signs that count. What matches nothing is passed over.
# A quote that never closes runs to its end, and none is tried twice: each letter is looked at once.
_PARTS = re.compile(
    r'(?P<text>"""(?>[^"\\]++|\\.|""?(?!"))*+(?:"""|\Z)?'
    r"|'''.*?(?:'''|\Z)"
    r'|"(?>[^"\\\n]++|\\.)*+"?'
    r"|'[^'\n]*+'?)"
    r"|\#[^\n]*+"
    r"|(?P<word>[A-Za-z0-9_+-]+)"
    r"|(?P<sign>[][{}=.,\n])",
    re.DOTALL,
)


class TooManyFaults(Exception):
    """There are more faults than anybody mends at once."""


class Faults(list[Fault]):
    """The faults of one file; raises TooManyFaults at the fiftieth."""

    def append(self, fault: Fault, /) -> None:
        """Add a fault."""
        self.extend((fault,))

    def extend(self, faults: Iterable[Fault], /) -> None:
        """Add faults, as many as are wanted."""
        for fault in faults:
            super().append(fault)
            if len(self) >= FAULTS_MOST:
                raise TooManyFaults

    def __iadd__(self, faults: Iterable[Fault], /) -> Faults:  # type: ignore[override, misc]
        self.extend(faults)
        return self

    def insert(self, _at: SupportsIndex, fault: Fault, /) -> None:
        """Add a fault; their order says nothing."""
        self.append(fault)


def oversize(text: str) -> Fault | None:
    """Return in what a file's text is too large to be read, or None."""
    size = len(text.encode())
    if size > BYTES_MOST:
        return _too("too-many-bytes", size, BYTES_MOST)
    tables = text.count("[[")
    if tables > TABLES_MOST:
        return _too("too-many-tables", tables, TABLES_MOST)
    commas = text.count(",")  # far faster than finding each word; texts in quotes have few
    if commas > WORDS_MOST:
        return _too("too-many-commas", commas, WORDS_MOST)
    dots = depth = keys = words = 0
    for part in _PARTS.finditer(text):
        sign, word, quoted = part["sign"], part["word"], part["text"]
        if quoted is not None and len(quoted) > TEXT_LONGEST:
            return _too("too-long-quoted", len(quoted), TEXT_LONGEST)
        words += word is not None
        if words > WORDS_MOST:
            return _too("too-many-words", words, WORDS_MOST)
        if word is not None and len(word) > WORD_LONGEST:
            return _too("too-long-word", len(word), WORD_LONGEST)
        if sign == ".":
            dots += 1
            if dots > DOTS_MOST:
                return _too("too-many-dots", dots, DOTS_MOST)
        elif sign is not None:
            dots = 0
            keys += sign == "="
            depth = max(0, depth + (sign in "[{") - (sign in "]}"))
            if depth > DEPTH_MOST:
                return _too("too-deep", depth, DEPTH_MOST)
    return _too("too-many-keys", keys, KEYS_MOST) if keys > KEYS_MOST else None


def oversize_json(text: str) -> Fault | None:
    """Return in what a JSON text is too large to be read, or None."""
    size = len(text.encode())
    if size > BYTES_MOST:
        return _too("too-many-bytes", size, BYTES_MOST)
    keys = text.count('":') + text.count('" :')
    return _too("too-many-keys", keys, KEYS_MOST) if keys > KEYS_MOST else None


def _too(kind: FaultKind, given: int, most: int) -> Fault:
    return WHOLE_FILE.fault("", given, kind, most=most)
