"""What the README quotes from the program: `python -m tests.readme` writes it anew.

The table of the API comes from openapi.json, the sample's output from `noonfare plan`.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from service.app import create_app
from service.settings import Settings

README = Path(__file__).resolve().parents[1] / "README.md"
RUN = "from service.cli.main import main; main()"
API = re.compile(r"(?<=<!-- api -->\n).*?(?=<!-- /api -->)", re.DOTALL)
SAMPLE = re.compile(r"(?<=```text\n)Harvest lunch, Saturday.*?(?=\n```)", re.DOTALL)


def api_table() -> str:
    """Return the table of the API: each operation and the first sentence of what it says."""
    with tempfile.TemporaryDirectory() as data:
        paths = create_app(Settings(data_dir=Path(data))).openapi()["paths"]
    rows = [
        f"| `{method.upper()} {path.removeprefix('/api')}` | {_says(operation['description'])} |"
        for path, operations in sorted(paths.items())
        for method, operation in operations.items()
    ]
    return "\n".join(["| under `/api` | |", "|---|---|", *rows, ""])


def _says(description: str) -> str:
    return " ".join(description.partition("\n\n")[0].split()).replace("|", "\\|")


def sample_output() -> str:
    """Return what the terminal shows of the sample's plan."""
    output = subprocess.run(
        [sys.executable, "-c", RUN, "plan", "harvest-lunch"],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "COLUMNS": "90"},
    ).stdout
    return "\n".join(line.rstrip() for line in output.strip().splitlines())


if __name__ == "__main__":
    text = API.sub(lambda _: api_table(), README.read_text(encoding="utf-8"))
    README.write_text(SAMPLE.sub(lambda _: sample_output(), text), encoding="utf-8")
