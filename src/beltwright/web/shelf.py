"""The static files: each under an address that carries its own content's mark, so that a browser keeps it for good.

The one style sheet is cut into parts by topic under `static/sheet`; a page loads them as one file, in the order of
their names.
"""

from __future__ import annotations

import hashlib
from functools import cached_property
from importlib.resources import files
from pathlib import Path
from typing import Final

from fastapi.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

SHEET: Final = "sheet.css"
_PARTS: Final = "sheet"
_ASKED_BY: Final = ("GET", "HEAD")
_FOR_GOOD: Final = "public, max-age=31536000, immutable"
_ASK_AGAIN: Final = "no-cache"
_MARK: Final = 12   # letters of the digest that stand in an address


class Shelf(StaticFiles):
    """The files below `static`, with their marks."""

    def __init__(self) -> None:
        self._root = files("beltwright.web") / "static"
        super().__init__(directory=str(self._root))
        self._marks: dict[str, str] = {}

    def address(self, name: str) -> str:
        """Where a file is fetched: another address when its content is another."""
        if name not in self._marks:
            data = self.sheet() if name == SHEET else self._root.joinpath(*name.split("/")).read_bytes()
            self._marks[name] = hashlib.sha256(data).hexdigest()[:_MARK]
        return f"/static/{name}?{self._marks[name]}"

    def sheet(self) -> bytes:
        """The style sheet whole."""
        parts = (part for part in self._root.joinpath(_PARTS).iterdir() if part.name.endswith(".css"))
        return b"".join(part.read_bytes() for part in sorted(parts, key=lambda part: part.name))

    @cached_property
    def version(self) -> str:
        """The mark of all files together: a page says which it was made with, so that an old one is told."""
        texts = sorted(path for path in Path(str(self._root)).rglob("*") if path.is_file())
        return hashlib.sha256(b"".join(path.read_bytes() for path in texts)).hexdigest()[:_MARK]

    async def get_response(self, path: str, scope: Scope) -> Response:
        """A file; to be kept for good when it was asked for by its mark."""
        answer = (Response(self.sheet(), media_type="text/css") if path == SHEET and scope["method"] in _ASKED_BY
                  else await super().get_response(path, scope))
        mark = scope.get("query_string", b"").decode("ascii", "replace")
        answer.headers["Cache-Control"] = _FOR_GOOD if mark and mark == self._marks.get(path) else _ASK_AGAIN
        return answer
