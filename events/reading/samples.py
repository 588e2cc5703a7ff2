"""Ready events to look at and to start from."""

from __future__ import annotations

from importlib.resources import files

from events.errors import NotFound


def sample_names() -> list[str]:
    """Return the ready events' names."""
    entries = (files("events") / "samples").iterdir()
    return sorted(f.name.removesuffix(".toml") for f in entries if f.name.endswith(".toml"))


def sample_text(name: str) -> str:
    """Return a ready event's text; raises NotFound with the names there are."""
    if name not in sample_names():
        raise NotFound(kind="no-sample", name=name, known=", ".join(sample_names()))
    return (files("events") / "samples" / f"{name}.toml").read_text(encoding="utf-8")
