"""How many cells a workbook has, told from its files without building any."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping
from xml.parsers import expat

from fitter.errors import FitterError

_CELL = re.compile(rb"<(?:\w+:)?c\b(?=[^>]*[^/]>)[^>]*?\br=[\"']([A-Z]{1,3})([0-9]{1,7})[\"']")


def check_extent(content: bytes, most: int) -> None:
    """Refuse a workbook whose sheets span more cells than that, most of them empty perhaps.

    Raises:
        FitterError: They do; or what is inside is not as workbooks are.
    """
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        for name in packed.namelist():
            of_ods = name == "content.xml"
            if not of_ods and not (name.startswith("xl/") and "sheet" in name and name.endswith(".xml")):
                continue
            inside = packed.read(name)
            if b"<!DOCTYPE" in inside or b"<!ENTITY" in inside:
                raise FitterError("not a plain workbook", expected="save it again as .xlsx or .ods")
            if (_repeated(inside) if of_ods else _spanned(inside)) > most:
                raise FitterError(
                    "the workbook has cells far beyond the others",
                    expected="delete the empty rows and columns",
                )


def _spanned(inside: bytes) -> int:
    """Rows times columns of a sheet of the .xlsx sort."""
    places = [(_number(m[1]), int(m[2])) for m in _CELL.finditer(inside)]
    return max((p[0] for p in places), default=0) * max((p[1] for p in places), default=0)


def _number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _repeated(inside: bytes) -> int:
    """Rows times columns of the largest sheet of the .ods sort, where rows and cells may stand for many."""
    counter = _Counter()
    parser = expat.ParserCreate()
    parser.StartElementHandler = counter.start
    parser.EndElementHandler = counter.end
    try:
        parser.Parse(inside, True)
    except expat.ExpatError as error:
        raise FitterError("not a workbook: what is inside is damaged", expected="save it again") from error
    return counter.most


class _Counter:
    """Counts cells up to the last that says something."""

    def __init__(self) -> None:
        self.most = self.rows = self.filled_rows = self.widest = self.width = self.filled = 0

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "table:table":
            self.rows = self.filled_rows = self.widest = 0
        elif name == "table:table-row":
            self.width = self.filled = 0
            self.rows += _times(attributes, "table:number-rows-repeated")
        elif name in ("table:table-cell", "table:covered-table-cell"):
            self.width += _times(attributes, "table:number-columns-repeated")
            if any(key.endswith(("value-type", ":formula")) for key in attributes):
                self.filled = self.width
        elif name == "text:p":
            self.filled = self.width

    def end(self, name: str) -> None:
        if name == "table:table-row" and self.filled:
            self.filled_rows, self.widest = self.rows, max(self.widest, self.filled)
            self.most = max(self.most, self.filled_rows * self.widest)


def _times(attributes: Mapping[str, str], name: str) -> int:
    word = attributes.get(name, "1")
    return int(word) if word.isascii() and word.isdigit() and len(word) < 10 else 1
