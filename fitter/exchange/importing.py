"""A sheet held against a stock: what each row would add or change, and all of it written or nothing.

A row is the lot of its id. A new id is a new lot; a row without id is the lot that says just the same, where
there is one, else a new lot with an id made for it. An empty cell says nothing and changes nothing.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from fitter.documents import Fields, Items, Node, Text, is_there, one_line, read_bytes, shown_path
from fitter.entering.lexicon import kind_words
from fitter.entering.places import free_id
from fitter.errors import FitterError, FitterErrors
from fitter.exchange.comparing import no_longer_measured, same_figures
from fitter.exchange.headings import Heading, are_headings, headings, kind_named
from fitter.exchange.models import ImportAnswer, ImportedField, ImportedRow, Outcome
from fitter.exchange.sheets import Sheet, letters, read_sheet
from fitter.kinds import Kind, kind_key
from fitter.stock.edit import AddLot, Change, SetField, edit_files, said_of
from fitter.stock.entries import PLAIN, read_lot
from fitter.stock.files import (
    SET_ASIDE,
    State,
    is_begun,
    read_entries,
    state_of,
    stock_files,
    twice,
)
from fitter.stock.lots import Lot
from fitter.stock.replace import meanwhile, stock_locked
from fitter.stock.tables import TABLES, Column, entry_of, rail_written
from fitter.stock.yaml_edit import COMMENT, Value

_FIRST_FIELDS = ("id", "kind", "count", "name", "bin", "donor", "condition", "price_new", "mass")


@dataclass(frozen=True)
class _Kept:
    """A lot that the stock has: as read, as written, and its file."""

    lot: Lot
    entry: Fields
    file: Path


@dataclass
class _Stock:
    """All that a stock has, and what its files held when they were read."""

    kept: dict[str, _Kept] = field(default_factory=dict)
    seen: dict[Path, bytes] = field(default_factory=dict)
    state: State = field(default_factory=list)

    @classmethod
    def read(cls, path: Path) -> _Stock:
        """The stock at a place; none yet where nothing is there.

        Raises:
            FitterErrors: Its files have errors.
        """
        stock, errors = cls(state=state_of(path)), list[FitterError]()
        for file in _files(path):
            stock.seen[file] = read_bytes(file)
            for lot, entry in read_entries(stock.seen[file], file, errors):
                if lot is None:
                    continue
                if lot.id in stock.kept:
                    first = stock.kept[lot.id].lot
                    error = twice(lot.id, f"{first.file}:{first.line}")
                    errors.append(error.at(file=lot.file, line=lot.line))
                stock.kept.setdefault(lot.id, _Kept(lot, entry, file))
        if errors:
            raise FitterErrors(errors)
        return stock

    @cached_property
    def alike(self) -> dict[object, list[str]]:
        """Ids of lots by all that they say but their id."""
        found: dict[object, list[str]] = {}
        for lot, kept in reversed(self.kept.items()):
            found.setdefault(_said_but_id(kept.lot), []).append(lot)
        return found


def _files(path: Path) -> list[Path]:
    return stock_files(path) if is_begun(path) else []


def _said_but_id(lot: Lot) -> object:
    return tuple(sorted((k, v) for k, v in said_of(lot).items() if k != "id" and v is not None))


@dataclass
class _Row:
    """What a row comes to."""

    number: int
    lot: str | None = None
    kind: str | None = None
    outcome: Outcome = "unchanged"
    file: Path | None = None
    changes: list[Change] = field(default_factory=list)
    told: list[ImportedField] = field(default_factory=list)
    errors: list[FitterError] = field(default_factory=list)
    remark: str | None = None


def import_sheet(
    file: Path,
    stock: Path,
    *,
    into: Path | None = None,
    ignore: Sequence[str] = (),
    sheet: str | None = None,
    encoding: str | None = None,
    write: bool = False,
) -> ImportAnswer:
    """Hold a sheet against a stock and, if asked to and nothing is wrong, write what it changes.

    Args:
        file: The sheet: CSV, XLSX or ODS.
        stock: File or folder of the stock.
        into: The file for new lots; it may be a new one. Left out: the stock's only file, or one in its
            folder with the name of the sheet.
        ignore: Headings of columns to leave out.
        sheet: Name of the sheet within a workbook.
        encoding: Of a text file.
        write: Whether to write.

    Raises:
        FitterErrors: What is wrong with the sheet as a whole, or with the stock.
        FitterError: It cannot be read or written; nothing was written then.
    """
    read = read_sheet(file, are_headings, encoding, sheet)
    columns = headings(read, ignore)
    had = _Stock.read(stock)
    target = _target(file, stock, into)
    rows = list(_Reading(read, columns, had, target).rows())
    changes: dict[Path, list[Change]] = {}
    for row in rows:
        if row.file is not None and row.changes:
            changes.setdefault(row.file, []).extend(row.changes)
    wrong = any(row.errors for row in rows)
    if write and changes and not wrong:
        in_order = {f: sorted(c, key=lambda each: isinstance(each, AddLot)) for f, c in changes.items()}
        with stock_locked(stock):
            if state_of(stock) != had.state:  # a file not changed here may have got a lot of the same id
                raise meanwhile(stock)
            edit_files(in_order, had.seen)
    return _answer(read, rows, list(changes), ignore, written=write and not wrong)


def _target(file: Path, stock: Path, into: Path | None) -> Path:
    """The file that new lots go into.

    Raises:
        FitterError: It is none that a stock is made of, or lies outside of it.
    """
    if (file.stem + ".yaml" if into is None else into.name).endswith(SET_ASIDE):
        problem = "this name is kept for what is set aside for builds"
        raise FitterError(problem, field="--into", expected="another name: --into NAME.yaml")
    if into is None:
        if not is_there(stock) and stock.suffix.casefold() not in (".yaml", ".yml", *TABLES):
            remedy = "make that folder, or name a new file with --stock NAME.yaml"
            raise FitterError("no such stock", file=shown_path(stock), expected=remedy)
        return stock / f"{file.stem}.yaml" if stock.is_dir() else stock
    if into.suffix.casefold() not in (".yaml", ".yml", *TABLES) or into.name.startswith("."):
        raise FitterError("not a stock file", field="--into", got=into.name, expected="NAME.yaml or NAME.csv")
    if stock.is_dir() and into.name == str(into):
        into = stock / into  # a bare name is one in the stock
    inside = Path(os.path.abspath(into)).is_relative_to(os.path.abspath(stock))
    if stock.exists() and not inside:
        problem = "this file would not belong to the stock"
        raise FitterError(problem, field="--into", got=str(into), expected=f"a file in {shown_path(stock)}")
    return into


class _Reading:
    """Goes through the rows of a sheet; ids are remembered, so that none is used twice."""

    def __init__(self, sheet: Sheet, columns: Sequence[Heading], stock: _Stock, target: Path) -> None:
        self.sheet, self.columns, self.stock, self.target = sheet, columns, stock, target
        self.used: dict[str, int] = {}
        self.numbers: dict[str, int] = {}
        self.by_kind: dict[str, tuple[list[Column], dict[str, str]]] = {}
        first = {heading.names[0]: heading.place for heading in columns}
        self.id_at, self.kind_at = first.get("id"), first.get("kind")
        self.named = {self._said(cells, self.id_at) for _, cells in sheet.rows[1:]} - {""}

    @staticmethod
    def _said(cells: Sequence[str], place: int | None) -> str:
        return one_line(cells[place]) if place is not None and place < len(cells) else ""

    def rows(self) -> Iterator[_Row]:
        """Each row below the headings."""
        for number, cells in self.sheet.rows[1:]:
            yield self._row(number, cells)

    def _row(self, number: int, cells: list[str]) -> _Row:
        row = _Row(number)
        lot, word = self._said(cells, self.id_at) or None, self._said(cells, self.kind_at)
        kept = self.stock.kept.get(lot) if lot else None
        kind = kept.lot.kind_of_part if kept and not word else self._kind(word, row)
        columns, places = self._columns(kind)
        entry = self._entry(columns, cells, number, kind)
        row.lot, row.kind = lot, kind.name if kind else None
        if lot in self.used:
            row.errors.append(FitterError(f"the id {lot!r} stands in row {self.used[lot]} too", field="id"))
        elif lot is not None:
            self.used[lot] = number
        if row.errors:
            pass  # said already
        elif kept is not None:
            self._update(row, entry, kept)
        else:
            self._add(row, entry)
        if row.errors:
            row.outcome, row.changes, row.told = "error", [], []
            row.errors = [self._placed(e, row, places) for e in row.errors]
        return row

    @staticmethod
    def _kind(word: str, row: _Row) -> Kind | None:
        try:
            return kind_named(word)
        except FitterError as error:
            row.errors.append(error)
            return None

    def _columns(self, kind: Kind | None) -> tuple[list[Column], dict[str, str]]:
        """The columns for a kind by place, and where each field stands."""
        key = kind.name if kind else ""
        if key not in self.by_kind:
            made = [Column("", "", "")] * (max(h.place for h in self.columns) + 1)
            for heading in self.columns:
                made[heading.place] = heading.of(kind)
            places = {column.name: letters(n) for n, column in enumerate(made) if column.name}
            self.by_kind[key] = made, places
        return self.by_kind[key]

    @staticmethod
    def _entry(columns: list[Column], cells: list[str], number: int, kind: Kind | None) -> Fields:
        """A row as the fields of a lot; cells of columns that are ignored are left out."""
        named = [c if n < len(columns) and columns[n].name else "" for n, c in enumerate(cells)]
        entry = entry_of(columns, named, number)
        if kind is not None:
            if "kind" in entry:
                entry["kind"] = Text(kind.name, number)
            _make_rail(entry, kind, number)
        for column, cell in zip(columns, named, strict=False):
            if column.name == COMMENT and cell:
                entry[COMMENT] = Text(cell, number)
        return entry

    def _placed(self, error: FitterError, row: _Row, places: Mapping[str, str]) -> FitterError:
        """An error with sheet, row and column."""
        name = re.split(r"[.\[]", error.field or "")[0]
        where = f"{error.field} (column {places[name]})" if name in places else error.field
        return FitterError(
            error.problem,
            expected=error.expected,
            got=error.got,
            file=self.sheet.place,
            line=row.number,
            lot=row.lot,
            field=where,
        )

    # ---------------------------------------------------------------- lots that are there

    def _update(self, row: _Row, entry: Fields, kept: _Kept) -> None:
        row.file, row.lot = kept.file, kept.lot.id
        entry.pop(COMMENT, None)  # comments of a lot that is there are changed in its file
        both = Fields(row.number)
        both.update(kept.entry)
        both.update(entry)
        lot = read_lot(both, self.sheet.place, row.errors)
        if lot is None or row.errors:
            return
        old, new = said_of(kept.lot), said_of(lot)
        for name, node in entry.items():
            if isinstance(node, Items):
                self._update_rails(row, name, node, kept, lot)
            elif isinstance(node, Text) and not same_figures(name, old, new):
                before = kept.entry.get(name)
                self._set(row, name, before.text if isinstance(before, Text) else None, node.text)
        row.outcome = "update" if row.changes else "unchanged"
        row.remark = no_longer_measured([c.field for c in row.told], old, new)

    def _update_rails(self, row: _Row, name: str, rails: Items, kept: _Kept, lot: Lot) -> None:
        had = kept.entry.get(name)
        if len(lot.rails) != len(kept.lot.rails) or not isinstance(had, Items):
            problem = f"{len(lot.rails)} {name} where the stock has {len(kept.lot.rails)}"
            row.errors.append(
                FitterError(problem, field=name, expected="change it in the stock file by hand")
            )
            return
        old, new = said_of(kept.lot), said_of(lot)
        for number, (rail, before) in enumerate(zip(rails, had, strict=True), start=1):
            for figure, node in rail.items() if isinstance(rail, Fields) else ():
                path = f"{name}[{number}].{figure}"
                if isinstance(node, Text) and not same_figures(path, old, new):
                    was = before.get(figure) if isinstance(before, Fields) else None
                    self._set(row, path, was.text if isinstance(was, Text) else None, node.text)

    @staticmethod
    def _set(row: _Row, name: str, old: str | None, new: str) -> None:
        assert row.lot is not None
        row.changes.append(SetField(row.lot, name, one_line(new)))
        row.told.append(ImportedField(field=name, old=old, new=one_line(new)))

    # ---------------------------------------------------------------- new lots

    def _add(self, row: _Row, entry: Fields) -> None:
        comment = entry.pop(COMMENT, None)
        given = row.lot
        entry["id"] = Text(given or "new", row.number)
        lot = read_lot(entry, self.sheet.place, row.errors)
        if lot is None or row.errors:
            return
        if given is None and self._is_there(row, lot):
            return
        row.lot = given or self._made_id(lot)
        row.remark = None if given else "id made; write it on the bag"
        row.outcome, row.file = "add", self.target
        entry["id"], entry["kind"] = Text(row.lot, row.number), Text(lot.kind, row.number)
        if comment is not None:
            entry[COMMENT] = comment
        fields = fields_of(entry)
        row.changes = [AddLot(fields)]
        row.told = [
            ImportedField(field=name, old=None, new=shown_value(entry[name]))
            for name in fields
            if name not in ("id", "kind", COMMENT)
        ]

    def _is_there(self, row: _Row, lot: Lot) -> bool:
        """Whether a lot of the stock says just what a row without id says; each stands for one row."""
        same = self.stock.alike.get(_said_but_id(lot), [])
        while same and (same[-1] in self.named or same[-1] in self.used):
            same.pop()
        if not same:
            return False
        row.lot = same.pop()
        self.used[row.lot] = row.number
        row.remark = "no id; says just what this lot says"
        return True

    def _made_id(self, lot: Lot) -> str:
        prefix = kind_words(kind_key(lot.kind)).prefix
        if prefix not in self.numbers:
            taken = {*self.stock.kept, *self.named}
            self.numbers[prefix] = int(free_id(kind_words(kind_key(lot.kind)), taken).removeprefix(prefix))
        made = f"{prefix}{self.numbers[prefix]}"
        self.numbers[prefix] += 1
        return made


def _make_rail(entry: Fields, kind: Kind, line: int) -> None:
    """Volts and amps of a kind that has rails are one rail, where no rails are given."""
    if kind.rails is None:
        return
    given = {name: entry.pop(name) for name in ("voltage", "current") if name in entry}
    if given and kind.rails_name not in entry:
        rail, rails = Fields(line), Items(line)
        rail.update(given)
        rails.append(rail)
        entry[kind.rails_name] = rails


def fields_of(entry: Mapping[str, Node]) -> dict[str, Value]:
    """The fields of a lot in the order in which they are written: what it is first, its note last."""
    names = [n for n in _FIRST_FIELDS if n in entry]
    names += [n for n in entry if n not in PLAIN and n != COMMENT]
    names += [n for n in ("note", COMMENT) if n in entry]
    return {name: _value(entry[name]) for name in names}


def _value(node: Node) -> Value:
    if isinstance(node, Items):
        return [{n: one_line(f.text) for n, f in rail.items() if isinstance(f, Text)} for rail in node
                if isinstance(rail, Fields)]  # fmt: skip
    return node.text if isinstance(node, Text) else ""


def shown_value(node: Node) -> str:
    """A field as a cell says it."""
    value = _value(node)
    return value if isinstance(value, str) else " | ".join(map(rail_written, value))


def _answer(
    sheet: Sheet, rows: Sequence[_Row], files: Sequence[Path], ignored: Sequence[str], *, written: bool
) -> ImportAnswer:
    outcomes = [row.outcome for row in rows]
    return ImportAnswer(
        file=sheet.file,
        sheet=sheet.name or None,
        other_sheets=list(sheet.others),
        read_as=sheet.said,
        written=written,
        added=outcomes.count("add"),
        updated=outcomes.count("update"),
        unchanged=outcomes.count("unchanged"),
        wrong=outcomes.count("error"),
        ignored=list(ignored),
        files=[shown_path(file) for file in files],
        rows=[
            ImportedRow(
                row=row.number,
                lot=row.lot,
                kind=row.kind,
                outcome=row.outcome,
                file=None if row.file is None else shown_path(row.file),
                changes=row.told,
                errors=[str(error) for error in row.errors],
                remark=row.remark,
            )
            for row in rows
        ],
    )
