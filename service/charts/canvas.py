"""Small pieces that every picture is made of: a canvas of SVG parts, symbols, the time axis."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from markupsafe import Markup, escape

from solver.plan import Placement, Plan

# How hot is drawn: a bar rises from half height when loaded to full height when hot.
RISE_STEPS = 12


@dataclass
class Canvas:
    """SVG parts in drawing order; every word is escaped on its way in."""

    parts: list[str] = field(default_factory=list)

    def path(self, kind: str, d: str, **more: str) -> None:
        """Draw a path of a class of the sheet."""
        self._put("path", {"class": kind, "d": d, **more})

    def rect(self, kind: str, x: float, y: float, w: float, h: float, **more: str) -> None:
        """Draw a rectangle."""
        size = {"x": f"{x:.1f}", "y": f"{y:.1f}", "width": f"{max(w, 0):.1f}"}
        self._put("rect", {"class": kind, **size, "height": f"{max(h, 0):.1f}", **more})

    def circle(self, kind: str, x: float, y: float, r: float, **more: str) -> None:
        """Draw a circle."""
        self._put(
            "circle", {"class": kind, "cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": f"{r:g}", **more}
        )

    def text(self, kind: str, x: float, y: float, words: str, **more: str) -> None:
        """Write words."""
        self.parts.append(
            f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}"{_more(more)}>{escape(words)}</text>'
        )

    def symbol(self, name: str, x: float, y: float, size: float) -> None:
        """Place one of the page's symbols."""
        self.parts.append(
            f'<use href="#i-{name}" x="{x:.1f}" y="{y:.1f}" width="{size:g}" height="{size:g}"/>'
        )

    def open_link(self, to: str, words: str) -> None:
        """Begin a link: what is drawn until it is closed leads to another page."""
        self.parts.append(f'<a href="{escape(to)}" aria-label="{escape(words)}">')

    def close_link(self) -> None:
        """End a link."""
        self.parts.append("</a>")

    def _put(self, tag: str, keys: dict[str, str]) -> None:
        self.parts.append(f"<{tag}{_more(keys)}/>")

    def svg(
        self, width: float, height: float, label: str, *, kind: str = "", role: str = "img"
    ) -> Markup:
        """Return the picture, with the words that stand for it."""
        named = f' class="{kind}"' if kind else ""
        return Markup(  # every word in parts was escaped when it was put in
            f'<svg{named} viewBox="0 0 {width:.0f} {height:.0f}" role="{role}" '
            f'aria-label="{escape(label)}">{"".join(self.parts)}</svg>'
        )


def _more(keys: dict[str, str]) -> str:
    return "".join(f' {k.replace("_", "-")}="{escape(v)}"' for k, v in keys.items())


@dataclass(frozen=True)
class Axis:
    """Time along a line: instants to places on the picture."""

    start: datetime
    end: datetime
    low: float
    high: float

    def at(self, instant: datetime) -> float:
        """Return where an instant lies, kept on the axis."""
        share = (instant - self.start) / (self.end - self.start)
        return self.low + (self.high - self.low) * min(max(share, 0.0), 1.0)

    def hours(self, grain: timedelta) -> list[datetime]:
        """Return the marks of the axis."""
        out, at = [], self.start
        while at <= self.end:
            out.append(at)
            at += grain
        return out


def rise(share: float) -> float:
    """Return how high a warming bar stands, 0.5 to 1, at a share of its way to hot."""
    return 0.5 + 0.5 * (1 - (1 - share) ** 2)


@dataclass(frozen=True)
class Stay:
    """A batch in a cooker for a while: in the one it is loaded into, or moved on to."""

    batch: Placement
    starts_at: datetime
    ends_at: datetime
    is_moved: bool


def stays_of(plan: Plan, cooker_id: str) -> list[Stay]:
    """Return all stays in a cooker."""
    loaded = [
        Stay(p, p.loaded_at, p.lifted_at, is_moved=False)
        for p in plan.placements
        if p.cooker_id == cooker_id
    ]
    return loaded + [
        Stay(p, p.lifted_at, p.off_at or p.served_at, is_moved=True)
        for p in plan.placements
        if p.then_cooker_id == cooker_id
    ]


def rows_of(stays: list[Stay]) -> list[list[Stay]]:
    """Return stays in rows so that none in a row overlap: a cooker may hold several at once."""
    rows: list[list[Stay]] = []
    for stay in sorted(stays, key=lambda s: (s.starts_at, s.batch.id)):
        row = next((r for r in rows if r[-1].ends_at <= stay.starts_at), None)
        if row is None:
            rows.append([stay])
        else:
            row.append(stay)
    return rows


def clip(words: str, width: float, *, letter: float) -> str:
    """Return words that fit a width, cut with an ellipsis; nothing where not even three fit."""
    room = int(width / letter)
    if len(words) <= room:
        return words
    return words[: room - 1].rstrip() + "…" if room > 3 else ""
