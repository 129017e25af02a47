"""Changes of tables that touch one cell: separators, quotes, decimal commas and line ends stay."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fitter.documents import Fields, Text
from fitter.errors import FitterError
from fitter.stock.tables import RATINGS, _column, _name, _rails, _separator
from fitter.stock.yaml_edit import Value, newline_of

_END = re.compile("\r\n|\n|\r")
_EVIDENCE = re.compile(r"(.*?)(, ?[a-z]+)?", re.IGNORECASE)
_EVIDENCE_AT_END = re.compile(r"[,;] ?[a-z]+$", re.IGNORECASE)


@dataclass(frozen=True)
class Cell:
    """A cell: its place with its quotes, and what it says."""

    start: int
    end: int
    said: str


@dataclass
class Table:
    """A table as rows of cells with their places."""

    text: str
    separator: str
    names: list[str]
    rows: list[list[Cell]]

    @property
    def heading(self) -> list[Cell]:
        """The cells of the first row."""
        return self.rows[0]

    def row(self, lot: str) -> list[Cell]:
        """The row of a lot.

        Raises:
            FitterError: There is none.
        """
        place = self.names.index("id") if "id" in self.names else -1
        for row in self.rows[1:]:
            if 0 <= place < len(row) and row[place].said.strip() == lot:
                return row
        raise FitterError(f"no lot {lot!r} in this file", expected="run `fitter stock check`")

    def written(self, said: str) -> str:
        """What a cell says as this table writes it."""
        if self.decimal_commas:
            said = re.sub(r"(?<=[0-9])\.(?=[0-9])", ",", said)
        risky = (self.separator, '"', "\n", "\r")
        quoted = any(sign in said for sign in risky) or said != said.strip()
        return '"' + said.replace('"', '""') + '"' if quoted else said

    @property
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
    separator, skip = _separator(text)
    body = 0
    for _ in range(skip):
        found = _END.search(text, body)
        body = found.end() if found else len(text)
    rows = [row for row in _rows(text, body, separator) if any(cell.said.strip() for cell in row)]
    if not rows:
        raise FitterError("the file is empty", expected="the first row holds the headings")
    return Table(text, separator, [_column(cell.said).name for cell in rows[0]], rows)


def _rows(text: str, at: int, separator: str) -> Iterator[list[Cell]]:
    """Rows as spreadsheets mean them: blanks before a cell count for nothing, quotes hold separators."""
    row: list[Cell] = []
    while at <= len(text):
        while text[at : at + 1] == " ":
            at += 1
        start = at
        at = _quoted_end(text, at) if text[at : at + 1] == '"' else at
        while at < len(text) and text[at] != separator and text[at] not in "\r\n":
            at += 1
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
    at += 1
    while at < len(text):
        if text[at] == '"':
            if text[at + 1 : at + 2] != '"':
                return at + 1
            at += 1
        at += 1
    raise FitterError("the quotes in this table do not match", expected="run `fitter stock check`")


def _unquoted(raw: str) -> str:
    return raw[1:-1].replace('""', '"') if len(raw) > 1 and raw[0] == raw[-1] == '"' else raw


# ---------------------------------------------------------------- fields


def set_field(text: str, lot: str, path: Sequence[str | int], value: str) -> str:
    """A text in which one field of a lot has another value.

    It is put where it stands now, else into the column of its name, else into the column ``ratings``,
    for which a heading is added where there is none.

    Raises:
        FitterError: There is no such lot or rail.
    """
    at = table(text)
    row = at.row(lot)
    name = str(path[0])
    if len(path) > 1:
        value = _rail_changed(_said(at, row, name), int(path[1]), str(path[2]), value, lot)
    if _stands_in_ratings(at, row, name):
        return _put(at, row, RATINGS, _entry_changed(_cell(at, row, RATINGS), name, value))
    if name in at.names or name == "note":
        return _put(at, row, name, value)
    return _put(at, row, RATINGS, _entry_changed(_cell(at, row, RATINGS), name, value))


def _cell(at: Table, row: list[Cell], name: str) -> str:
    """What stands in a column; nothing where there is no such column or cell."""
    place = at.names.index(name) if name in at.names else len(row)
    return row[place].said if place < len(row) else ""


def _entries(said: str) -> list[tuple[str, str]]:
    """The entries of a cell ``ratings``, each with the name it is for."""
    return [
        (_name(re.split("[=<>≤≥]", entry, maxsplit=1)[0]), entry)
        for entry in said.split(";")
        if entry.strip()
    ]


def _stands_in_ratings(at: Table, row: list[Cell], name: str) -> bool:
    return any(each == name for each, _ in _entries(_cell(at, row, RATINGS)))


def _said(at: Table, row: list[Cell], name: str) -> str:
    """What a row says under a name, in its own column or among the ratings."""
    found = dict(_entries(_cell(at, row, RATINGS))).get(name)
    return found.partition("=")[2].strip() if found else _cell(at, row, name)


def _entry_changed(said: str, name: str, value: str) -> str:
    """A cell ``ratings`` with one entry set."""
    written = f"{name}={value}"
    entries = _entries(said)
    if any(each == name for each, _ in entries):
        return "; ".join(written if each == name else entry.strip() for each, entry in entries)
    return "; ".join([*(entry.strip() for _, entry in entries), written])


def _put(at: Table, row: list[Cell], name: str, said: str) -> str:
    """The text with one cell set; a row too short for it, or a missing heading, is made longer."""
    text = at.text
    new_heading = name not in at.names
    place = len(at.names) if new_heading else at.names.index(name)
    written = at.written(said)
    if place < len(row):
        cell = row[place]
        text = text[: cell.start] + written + text[cell.end :]
    else:
        missing = at.separator * (place - len(row) + 1)
        text = text[: row[-1].end] + missing + written + text[row[-1].end :]
    if new_heading:
        end = at.heading[-1].end
        text = text[:end] + at.separator + name + text[end:]
    return text


def _rail_changed(said: str, number: int, name: str, value: str, lot: str) -> str:
    """A cell of rails in which one figure of one rail is set."""
    rails = said.split("|")
    read = _rails(said, 0)
    if not 0 <= number < len(rails) or number >= len(read) or not isinstance(read[number], Fields):
        raise FitterError(f"no rail {number + 1}", lot=lot, expected="change it by hand")
    fields = read[number]
    assert isinstance(fields, Fields)
    figures = {n: v.text for n, v in fields.items() if isinstance(v, Text)}
    figures[name] = value
    rails[number] = f" {_rail_written(figures)} "
    return "|".join(rails).strip()


def _rail_written(figures: Mapping[str, str]) -> str:
    """A rail on one line: voltage, current and whether it is isolated, evidence after each figure."""
    isolated = {"yes": " isolated", "no": " not isolated"}.get(figures.get("isolated", ""), "")
    if "current" not in figures:
        return figures["voltage"] + isolated
    match = _EVIDENCE.fullmatch(figures["current"])
    assert match is not None
    volts = figures["voltage"]
    if match[2] and not _EVIDENCE_AT_END.search(volts):
        volts += ", stated"  # else the evidence of the current would count for both
    return f"{volts} {match[1]}{isolated}{match[2] or ''}"


# ---------------------------------------------------------------- lots


def add_lot(text: str, fields: Mapping[str, Value]) -> str:
    """A text with one row more, at the end."""
    at = table(text)
    row = ["" for _ in at.names]
    ratings = [f"{n}={_flat(v)}" for n, v in fields.items() if n not in at.names]
    for name, value in fields.items():
        if name in at.names:
            row[at.names.index(name)] = _flat(value)
    if ratings and RATINGS in at.names:
        row[at.names.index(RATINGS)] = "; ".join(ratings)
    elif ratings:
        end = at.heading[-1].end
        return add_lot(text[:end] + at.separator + RATINGS + text[end:], fields)
    newline = newline_of(text)
    gap = "" if text.endswith(("\n", "\r")) else newline
    return text + gap + at.separator.join(map(at.written, row)) + newline


def remove_lot(text: str, lot: str) -> str:
    """A text without the row of one lot."""
    row = table(text).row(lot)
    before = max(text.rfind("\n", 0, row[0].start), text.rfind("\r", 0, row[0].start)) + 1
    found = _END.match(text, row[-1].end)
    return text[:before] + text[found.end() if found else len(text) :]


def _flat(value: Value) -> str:
    return value if isinstance(value, str) else " | ".join(_rail_written(rail) for rail in value)
