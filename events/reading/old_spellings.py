"""What older files say in other words, turned into today's, so that they stay readable."""

from __future__ import annotations

from events.table import RawTable

RETIRED = {"pot": ("lid",)}  # every pot has a lid; nothing ever read the key
# How the text of a mark began, and the kind of source it stood for; the first that fits.
_BEGINNINGS = (
    ("given", "given"),
    ("measured on the day, ", "learnt"),
    ("measured", "measured"),
    ("computed", "computed"),
    ("by its", "geometry"),
    ("common practice: ", "practice"),
    ("fitted to: ", "fitted"),
    ("published: ", "published"),
    ("typical: ", "typical"),
)
_SCALED = ", scaled by aperture"


def modern(table: str, row: RawTable) -> RawTable:
    """Return a file's row without retired keys, its `marks` as `provenance`."""
    renewed = {k: v for k, v in row.items() if k not in RETIRED.get(table, ())}
    marks = renewed.pop("marks", None)
    if isinstance(marks, dict):
        given = renewed.get("provenance")
        own = given if isinstance(given, dict) else {}
        renewed["provenance"] = {k: provenance_of(str(v)) for k, v in marks.items()} | own
    return renewed


def provenance_of(mark: str) -> RawTable:
    """Return the record that an old mark's text stood for."""
    if mark.endswith(_SCALED):
        return {"kind": "scaled", "note": provenance_of(mark.removesuffix(_SCALED))["note"]}
    for beginning, kind in _BEGINNINGS:
        if mark.startswith(beginning):
            note = mark if kind == "geometry" else mark.removeprefix(beginning).strip()
            return {"kind": kind, "note": note[:200]}
    return {"kind": "typical", "note": "" if mark == "typical" else mark[:200]}
