"""A link as a square code: for a page, and for paper."""

from __future__ import annotations

import io
from dataclasses import dataclass

import segno
from markupsafe import Markup


@dataclass(frozen=True)
class QrCode:
    """A link just made, and its code as SVG."""

    url: str

    @property
    def code(self) -> Markup:
        """Return the link as a square code."""
        out = io.BytesIO()
        segno.make(self.url, error="m").save(
            out,
            kind="svg",
            border=2,
            xmldecl=False,
            svgclass="qr",
            lineclass=None,
            omitsize=True,  # as large as its place
        )
        return Markup(out.getvalue().decode())  # segno writes no words into it


def qr_on_paper(url: str) -> str:
    """Return a link's code as SVG in millimetres; paper is its quiet border."""
    out = io.BytesIO()
    segno.make(url, error="m").save(out, kind="svg", border=0, xmldecl=False, unit="mm")
    return out.getvalue().decode()
