"""Scripts and sheets by content: their address holds a hash of them all, so a phone keeps them.

Templates write `/static/style.css`; pages and the worker get `/static/<hash>/style.css`. Another
release has another hash; a page from before still gets its files, but asks for them each time.
"""

from __future__ import annotations

import hashlib
import re
from importlib.resources import files

from fastapi import Response
from fastapi.staticfiles import StaticFiles
from starlette.types import Scope

FOLDER = files("service") / "web" / "static"
_OWN = re.compile(r'(["`])/static/')
_HASH = re.compile(r"[0-9a-f]{10}")
_YEAR_S = 365 * 24 * 3600


def _content_hash() -> str:
    found = hashlib.sha256()
    for file in sorted(FOLDER.iterdir(), key=lambda f: f.name):
        found.update(file.name.encode() + file.read_bytes())
    return found.hexdigest()[:10]


STATIC_HASH = _content_hash()


def with_static_hash(text: str) -> str:
    """Return a page or script whose addresses of scripts and sheets hold their hash."""
    return _OWN.sub(rf"\1/static/{STATIC_HASH}/", text)


class StaticByContent(StaticFiles):
    """Serves scripts and sheets; those asked for by their hash need never be asked for again."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Return a file, whatever hash it is asked by."""
        first, _, rest = path.partition("/")
        named = bool(_HASH.fullmatch(first))
        response = await super().get_response(rest if named else path, scope)
        newest = first == STATIC_HASH
        lasting = f"public, max-age={_YEAR_S}, immutable"
        response.headers["cache-control"] = lasting if newest else "no-cache"
        return response
