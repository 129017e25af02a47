"""Which field of a lot a column of a sheet is: by name, by words people use, with units in headings."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from fitter.documents import nearest, one_line, package_data
from fitter.entering.lexicon import kinds_called, plain
from fitter.errors import FitterError, FitterErrors
from fitter.exchange.sheets import Sheet, letters
from fitter.kinds import KINDS, Kind
from fitter.stock.entries import PLAIN
from fitter.stock.tables import RATINGS, Column, column_of, known_names, name_of, wrong_unit
from fitter.stock.yaml_edit import COMMENT

_RAIL_FIGURES = ("voltage", "current")
_LOOKED_AT = 12  # rows at the top in which headings are sought when they are not in the first


@dataclass(frozen=True)
class Heading:
    """A column: its place from 0, the names it may stand for, best first, and the unit of its numbers."""

    place: int
    written: str
    names: tuple[str, ...]
    unit: str = ""

    def of(self, kind: Kind | None) -> Column:
        """The column as it is for lots of a kind."""
        return Column(self._name(kind), self.unit, self.written)

    def _name(self, kind: Kind | None) -> str:
        for name in self.names if kind is not None else ():
            if kind is None or name in (*PLAIN, RATINGS, COMMENT, *kind.ratings):
                return name
            if kind.rails is not None and name in (kind.rails_name, *_RAIL_FIGURES):
                return name
        return self.names[0]


@cache
def _synonyms() -> dict[str, tuple[tuple[str, ...], str]]:
    """Names and unit that a word above a column stands for."""
    found = {}
    for row in package_data("exchange", "headings.yaml"):
        for word in row["words"]:
            found[name_of(str(word))] = tuple(row["names"]), row.get("unit", "")
    return found


def kind_named(word: str) -> Kind | None:
    """The kind that a word stands for; nothing where it stands for none.

    Raises:
        FitterError: It may stand for several.
    """
    found = kinds_called().get(plain(word), ())
    if len(found) > 1:
        names = " or ".join(KINDS[each].name for each in found)
        problem = f"{word[:40]!r} may be a {names}"
        raise FitterError(problem, field="kind", expected="write which")
    return KINDS[found[0]] if found else None


def heading(cell: str, place: int = 0) -> Heading | None:
    """What a cell above a column stands for; nothing where it is not understood.

    >>> heading("rated_current [A]").names, heading("Qty").names, heading("length mm").unit
    (('rated_current',), ('count',), 'mm')
    """
    column = column_of(cell)
    found = _meaning(column.name)
    if found is None and not column.unit:
        words, _, last = re.sub(r"[_\s]+", " ", cell.strip()).rpartition(" ")
        found = _meaning(name_of(words)) if words else None
        column = Column(column.name, last, column.written)
        if found is not None and wrong_unit(Column(found[0][0], last, column.written)) is not None:
            return None
    if found is None:
        return None
    names, unit = found
    return Heading(place, column.written, names, column.unit or unit)


def _meaning(name: str) -> tuple[tuple[str, ...], str] | None:
    if name in known_names():
        more = _synonyms().get(name, ((), ""))[0]
        return tuple(dict.fromkeys((name, *more))), ""
    return _synonyms().get(name)


def are_headings(cells: Sequence[str]) -> bool:
    """Whether a row is one of headings: a kind or an id is among them."""
    found = [heading(cell) for cell in cells]
    return any(each is not None and each.names[0] in ("id", "kind") for each in found)


def headings(sheet: Sheet, ignored: Collection[str] = ()) -> list[Heading]:
    """The columns of a sheet that are understood; those to be ignored are left out.

    Raises:
        FitterErrors: Columns that are not understood, or stand twice; no headings in the first row.
    """
    if not sheet.rows:
        raise FitterErrors([FitterError("the sheet is empty", file=sheet.place, expected=_FIRST)])
    line, cells = sheet.rows[0]
    if not are_headings(cells):
        raise FitterErrors([_no_headings(sheet).at(file=sheet.place, line=line)])
    cells = [one_line(cell) for cell in cells] + [""] * (max(len(row) for _, row in sheet.rows) - len(cells))
    left_out = {name_of(each) for each in ignored}
    strange = left_out - {each for place, cell in enumerate(cells) for each in _calls(place, cell)}
    wrong = [
        FitterError(f"no column {n!r}", field="--ignore", expected=nearest(n, filter(None, cells)))
        for n in sorted(strange)
    ]
    found: list[Heading] = []
    for place, cell in enumerate(cells):
        if left_out & set(_calls(place, cell)) or not (cell or _used(sheet, place)):
            continue
        each = heading(cell, place)
        error = _wrong(cell, each, found)
        if error is not None:
            where = f"column {letters(place)}" + (f" ({cell[:40]})" if cell else "")
            wrong.append(error.at(file=sheet.place, line=line, field=where))
        elif each is not None:
            found.append(each)
    if wrong:
        raise FitterErrors(wrong)
    return found


_FIRST = "the first row holds the headings, such as id, kind, count"


def _calls(place: int, cell: str) -> Iterator[str]:
    """What a column may be called to be ignored: its heading, with or without unit, or its letter."""
    column = column_of(cell)
    yield from (name_of(cell), column.name, name_of(f"column {letters(place)}"), letters(place).casefold())


def _used(sheet: Sheet, place: int) -> bool:
    return any(place < len(cells) and cells[place] for _, cells in sheet.rows[1:])


def _wrong(cell: str, each: Heading | None, others: Sequence[Heading]) -> FitterError | None:
    """What is wrong with a column, if anything is."""
    if not cell:
        remedy = "write a heading, and undo merged headings; or leave it out with --ignore and its letter"
        return FitterError("no heading above this column", expected=remedy)
    if each is None:
        words = [w.replace("_", " ") for w in (*known_names(), *_synonyms()) if len(w) > 2]
        near = nearest(column_of(cell).name.replace("_", " "), words)
        return FitterError("this column is not understood", expected=f"{near}; or --ignore {cell[:40]!r}")
    if any(each.names == other.names for other in others):
        return FitterError(
            f"a second column for {each.names[0]}", expected="keep one, or --ignore its letter"
        )
    return wrong_unit(Column(each.names[0], each.unit, cell)) if each.unit and len(each.names) == 1 else None


def _no_headings(sheet: Sheet) -> FitterError:
    for number, cells in sheet.rows[1:_LOOKED_AT]:
        if are_headings(cells):
            remedy = "delete the rows above them, and undo merged cells"
            return FitterError(f"the headings seem to be in row {number}, not in the first", expected=remedy)
    return FitterError("no heading `kind` or `id` in the first row", expected=_FIRST)
