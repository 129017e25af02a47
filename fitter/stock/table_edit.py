"""Changes of tables that touch one cell: separators, quotes, decimal commas and line ends stay."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from fitter.documents import Fields, Text
from fitter.errors import FitterError
from fitter.stock.entries import PLAIN, WORDS
from fitter.stock.tables import (
    RATINGS,
    as_meant,
    column_of,
    harmless,
    name_of,
    rail_written,
    rails_of,
    separator_of,
)
from fitter.stock.yaml_edit import COMMENT, FieldSet, Splice, Value, newline_of, spliced

_END = re.compile("\r\n|\n|\r")
_QUOTED = re.compile('"[^"]*+(?:""[^"]*+)*+"')


@dataclass(frozen=True)
class Cell:
    """A cell: its place with its quotes, and what it says."""

    start: int
    end: int
    said: str


@dataclass
class Table:
    """A table as rows of cells with their places, and what is to stand in them."""

    text: str
    separator: str
    names: list[str]
    rows: list[list[Cell]]
    changes: dict[tuple[int, int], str] = field(default_factory=dict)

    @cached_property
    def places(self) -> dict[str, int]:
        """The number of the row of each lot."""
        place = self.names.index("id") if "id" in self.names else len(self.names)
        found: dict[str, int] = {}
        for number, row in enumerate(self.rows[1:], start=1):
            if place < len(row):
                found.setdefault(row[place].said.strip(), number)
        return found

    def row(self, lot: str) -> int:
        """The number of the row of a lot.

        Raises:
            FitterError: There is none.
        """
        if lot not in self.places:
            raise FitterError(f"no lot {lot!r} in this file", expected="run `fitter stock check`")
        return self.places[lot]

    def said(self, row: int, name: str) -> str:
        """What stands, or is to stand, in a column; nothing where there is no such column or cell."""
        if name not in self.names:
            return ""
        place = self.names.index(name)
        cells = self.rows[row]
        return self.changes.get((row, place), cells[place].said if place < len(cells) else "")

    def put(self, row: int, name: str, said: str) -> None:
        """Say what is to stand in a cell; a heading that is missing is added."""
        if name not in self.names:
            self.names.append(name)
        self.changes[row, self.names.index(name)] = said

    def changed(self) -> str:
        """The text with all of that in it."""
        splices, longer = [], dict[int, dict[int, str]]()
        for (row, place), said in self.changes.items():
            cells, written = self.rows[row], self.written(self.names[place], said)
            if place < len(cells):
                splices.append(Splice(cells[place].start, cells[place].end, written))
            else:
                longer.setdefault(row, {})[place] = written
        for row, new in longer.items():
            cells = self.rows[row]
            splices.append(self._appended(cells, [new.get(p, "") for p in range(len(cells), max(new) + 1)]))
        if len(self.names) > len(self.rows[0]):
            splices.append(self._appended(self.rows[0], self.names[len(self.rows[0]) :]))
        return spliced(self.text, splices)

    def _appended(self, cells: Sequence[Cell], more: Sequence[str]) -> Splice:
        """Cells at the end of a row."""
        return Splice(cells[-1].end, cells[-1].end, "".join(self.separator + each for each in more))

    def written(self, name: str, said: str) -> str:
        """What a cell of a column says as this table writes it."""
        if self.decimal_commas and name not in (*WORDS, "id", "kind", COMMENT):
            said = re.sub(r"(?<=[0-9])\.(?=[0-9])", ",", said)
        said = harmless(said)
        risky = (self.separator, '"', "\n", "\r")
        quoted = any(sign in said for sign in risky) or said != said.strip()
        return '"' + said.replace('"', '""') + '"' if quoted else said

    @cached_property
    def decimal_commas(self) -> bool:
        """Whether numbers of this table have commas."""
        cells = [cell.said for row in self.rows[1:] for cell in row]
        commas = any(re.search(r"[0-9],[0-9]", said) for said in cells)
        return commas and not any(re.search(r"[0-9]\.[0-9]", said) for said in cells)


def table(text: str) -> Table:
    """A text as a table.

    Raises:
        FitterError: It has no rows.
    """
    separator, skip = separator_of(text)
    body = 0
    for _ in range(skip):
        found = _END.search(text, body)
        body = found.end() if found else len(text)
    rows = [row for row in _rows(text, body, separator) if any(cell.said.strip() for cell in row)]
    if not rows:
        raise FitterError("the file is empty", expected="the first row holds the headings")
    return Table(text, separator, [column_of(cell.said).name for cell in rows[0]], rows)


def _rows(text: str, at: int, separator: str) -> Iterator[list[Cell]]:
    """Rows as spreadsheets mean them: blanks before a cell count for nothing, quotes hold separators."""
    row: list[Cell] = []
    cell_end = re.compile(f"[{re.escape(separator)}\r\n]")
    while at <= len(text):
        while text[at : at + 1] == " ":
            at += 1
        start = at
        at = _quoted_end(text, at) if text[at : at + 1] == '"' else at
        found = cell_end.search(text, at)
        at = found.start() if found else len(text)
        row.append(Cell(start, at, _unquoted(text[start:at])))
        if text[at : at + 1] == separator:
            at += 1
            continue
        yield row
        row = []
        found = _END.match(text, at)
        if found is None:
            return
        at = found.end()


def _quoted_end(text: str, at: int) -> int:
    """The place after a quoted text."""
    found = _QUOTED.match(text, at)
    if found is None:
        raise FitterError("the quotes in this table do not match", expected="run `fitter stock check`")
    return found.end()


def _unquoted(raw: str) -> str:
    inner = raw[1:-1].replace('""', '"') if len(raw) > 1 and raw[0] == raw[-1] == '"' else raw
    return as_meant(inner)


# ---------------------------------------------------------------- fields


def set_fields(text: str, sets: Iterable[FieldSet]) -> str:
    """A text in which fields of lots have other values.

    Each is put where it stands now, else into the column of its name, else into the column ``ratings``,
    for which a heading is added where there is none.

    Raises:
        FitterError: There is no such lot or rail.
    """
    at = table(text)
    for lot, path, value in sets:
        row, name = at.row(lot), str(path[0])
        if len(path) > 1:
            value = _rail_changed(_said(at, row, name), int(path[1]), str(path[2]), value, lot)
        ratings = at.said(row, RATINGS)
        in_ratings = any(each == name for each, _ in _entries(ratings))
        if not in_ratings and (name in at.names or name == "note"):
            at.put(row, name, value)
        else:
            at.put(row, RATINGS, _entry_changed(ratings, name, value))
    return at.changed()


def _entries(said: str) -> list[tuple[str, str]]:
    """The entries of a cell ``ratings``, each with the name it is for."""
    return [
        (name_of(re.split("[=<>≤≥]", entry, maxsplit=1)[0]), entry)
        for entry in said.split(";")
        if entry.strip()
    ]


def _said(at: Table, row: int, name: str) -> str:
    """What a row says under a name, in its own column or among the ratings."""
    found = dict(_entries(at.said(row, RATINGS))).get(name)
    return found.partition("=")[2].strip() if found else at.said(row, name)


def _entry_changed(said: str, name: str, value: str) -> str:
    """A cell ``ratings`` with one entry set."""
    written = f"{name}={value}"
    entries = _entries(said)
    if any(each == name for each, _ in entries):
        return "; ".join(written if each == name else entry.strip() for each, entry in entries)
    return "; ".join([*(entry.strip() for _, entry in entries), written])


def _rail_changed(said: str, number: int, name: str, value: str, lot: str) -> str:
    """A cell of rails in which one figure of one rail is set."""
    rails = said.split("|")
    read = rails_of(said, 0)
    if not 0 <= number < len(rails) or number >= len(read) or not isinstance(read[number], Fields):
        raise FitterError(f"no rail {number + 1}", lot=lot, expected="change it by hand")
    fields = read[number]
    assert isinstance(fields, Fields)
    figures = {n: v.text for n, v in fields.items() if isinstance(v, Text)}
    figures[name] = value
    rails[number] = f" {rail_written(figures)} "
    return "|".join(rails).strip()


# ---------------------------------------------------------------- lots


def add_lots(text: str, lots: Sequence[Mapping[str, Value]]) -> str:
    """A text with some rows more, at the end."""
    if not text.strip():
        names = dict.fromkeys(name for lot in lots for name in lot)
        text = ",".join(names) + newline_of(text)
    at = table(text)
    flat = [{name: _flat(value) for name, value in lot.items()} for lot in lots]
    rows = [_as_row(at, lot) for lot in flat]
    newline = newline_of(text)
    head = at.changed()
    gap = "" if head.endswith(("\n", "\r")) else newline
    return head + gap + "".join(at.separator.join(row) + newline for row in rows)


def _as_row(at: Table, lot: Mapping[str, str]) -> list[str]:
    """The cells of a lot; a heading for what has no column is added."""
    ratings = "; ".join(f"{n}={v}" for n, v in lot.items() if n not in (*at.names, COMMENT, *PLAIN))
    if ratings:
        lot = {**lot, RATINGS: ratings}
    at.names += [n for n in lot if n not in at.names and n in (RATINGS, COMMENT, *PLAIN)]
    return [at.written(name, lot.get(name, "")) for name in at.names]


def remove_lot(text: str, lot: str) -> str:
    """A text without the row of one lot."""
    at = table(text)
    row = at.rows[at.row(lot)]
    before = max(text.rfind("\n", 0, row[0].start), text.rfind("\r", 0, row[0].start)) + 1
    found = _END.match(text, row[-1].end)
    return text[:before] + text[found.end() if found else len(text) :]


def _flat(value: Value) -> str:
    return value if isinstance(value, str) else " | ".join(map(rail_written, value))
