"""Pictures of lots, carried inside the page: only real PNG and JPEG files that lie with the stock."""

from __future__ import annotations

import base64
import os
from pathlib import Path

from fitter.stock.lots import Lot

LARGEST = 150_000  # bytes of one picture
LARGEST_TOGETHER = 450_000  # bytes of all pictures of a page
_MAGIC = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}


class Album:
    """The pictures of one page: what is shown, and why the rest is not."""

    def __init__(self, stock: Path) -> None:
        self.folder = (stock if stock.is_dir() else stock.parent).resolve()
        self.room = LARGEST_TOGETHER
        self._seen: dict[str, tuple[str, str]] = {}

    def of(self, lot: Lot) -> tuple[str, str]:
        """The picture of a lot as a data address, and why it is not shown; one of both is empty."""
        if not lot.photo:
            return "", ""
        if lot.id not in self._seen:
            self._seen[lot.id] = self._read(lot)
        return self._seen[lot.id]

    def _read(self, lot: Lot) -> tuple[str, str]:
        try:
            path = (Path(os.path.abspath(lot.file)).parent / lot.photo).resolve()
            if not path.is_relative_to(self.folder):
                return "", "lies outside the folder of the stock"
            if not path.is_file():
                return "", "is not there"
            with path.open("rb") as file:
                content = file.read(LARGEST + 1)
        except (OSError, ValueError):
            return "", "cannot be read"
        kind = next((kind for magic, kind in _MAGIC.items() if content.startswith(magic)), "")
        if not kind:
            return "", "is neither PNG nor JPEG"
        if len(content) > LARGEST:
            return "", f"is larger than {LARGEST // 1000} kB"
        if len(content) > self.room:
            return "", "has no room left on the page"
        self.room -= len(content)
        return f"data:{kind};base64,{base64.b64encode(content).decode('ascii')}", ""
