"""What the rule check answers: one record for each broken rule, in codes and figures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

Figure = float | str | datetime | tuple[int, ...] | None


@dataclass(frozen=True)
class Breach:
    """One broken rule: its code, the ids it is about, what the plan has and what is allowed."""

    rule: str
    ids: tuple[str, ...]  # what breaks the rule first, then what it meets
    value: Figure = None
    limit: Figure = None

    def __str__(self) -> str:
        """Return the breach in one line, for the log."""
        line = f"{self.rule} {' '.join(self.ids)}"
        if self.value is not None:
            line += f": {_shown(self.value)}"
        return line if self.limit is None else f"{line}, limit {_shown(self.limit)}"


def _shown(figure: Figure) -> str:
    if isinstance(figure, datetime):
        return figure.strftime("%H:%M UTC")
    return f"{figure:.2f}" if isinstance(figure, float) else str(figure)
