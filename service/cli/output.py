"""Where commands print: results on one stream, what is under way on the other."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import Annotated, TypeVar

import typer
from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

out = Console()
err = Console(stderr=True)
T = TypeVar("T")
SHOWN_AFTER_S = 1.0  # anything longer shows that it is at work
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
OutFile = Annotated[Path | None, typer.Option("--out", help="Write to a file instead.")]


def write(text: str, file: Path | None = None) -> None:
    """Write a text to a file, else to the output as it stands."""
    if file is None:
        sys.stdout.write(text + "\n")
    else:
        file.write_text(text + "\n", encoding="utf-8")


def write_json(document: object, file: Path | None = None) -> None:
    """Write one JSON document."""
    write(json.dumps(document, indent=1), file)


def at_work(words: str, work: Callable[[], T]) -> T:
    """Run something; after a second, show on the error stream that it is at work."""
    began = monotonic()
    with ThreadPoolExecutor(1) as pool:
        future = pool.submit(work)
        with suppress(TimeoutError):
            return future.result(timeout=SHOWN_AFTER_S)
        columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
        with Progress(*columns, console=err, transient=True) as bar:
            task = bar.add_task(words, total=None)
            while not future.done():
                with suppress(TimeoutError):
                    future.result(timeout=0.2)
                bar.update(task, description=f"{words} {monotonic() - began:.0f} s")
        return future.result()
