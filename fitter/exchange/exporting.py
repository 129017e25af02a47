"""A stock as one table, one row a lot, from which an import makes the same lots again.

Every field stands as it is written in the stock, a column for each rating that any lot has. Rails stand in
one cell, comments beside a lot in the column ``file_comment``. What no table carries is said: comments at the
head and foot of files, the order and layout of fields, in which file of a folder a lot stands, and what is
set aside for builds, which has a file of its own.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from fitter.documents import read_bytes, shown_path, text_of
from fitter.errors import FitterError, FitterErrors
from fitter.exchange.importing import fields_of, shown_value
from fitter.exchange.models import ExportAnswer
from fitter.kinds import KINDS
from fitter.stock import table_edit
from fitter.stock.comments import comments_of
from fitter.stock.entries import PLAIN
from fitter.stock.files import read_entries, stock_files, twice
from fitter.stock.replace import changed_all
from fitter.stock.tables import TABLES, harmless
from fitter.stock.yaml_edit import COMMENT

WRITTEN = (".csv", ".xlsx")
_NOT_CARRIED = (
    "comments at the head and foot of files, order and layout of fields, and which file a lot is in",
)
Lines = Sequence[Sequence[str]]


def export(stock: Path, file: Path) -> ExportAnswer:
    """Write a stock as a table; a file that is there is kept as ``NAME.bak``.

    Args:
        stock: File or folder of the stock.
        file: What to write; ends in ``.csv`` or ``.xlsx``.

    Raises:
        FitterErrors: What is wrong with the stock.
        FitterError: A file of another sort, within the stock, or one that cannot be written.
    """
    _check_target(file, stock)
    lots = lots_of(stock)
    columns = columns_of(lots)
    lines = [columns, *([lot.get(name, "") for name in columns] for lot in lots)]
    content = as_csv(lines) if file.suffix.casefold() == ".csv" else as_xlsx(lines)
    changed_all({file: lambda _: content}, may_be_new=[file])
    return ExportAnswer(
        file=shown_path(file), lots=len(lots), columns=columns, not_carried=list(_NOT_CARRIED)
    )


def _check_target(file: Path, stock: Path) -> None:
    if file.suffix.casefold() not in WRITTEN:
        raise FitterError("not a table by its name", got=file.name, expected="NAME.csv or NAME.xlsx")
    inside = Path(os.path.realpath(file)).is_relative_to(os.path.realpath(stock))
    if inside and file.suffix.casefold() in TABLES:
        problem = "this file would be read as a part of the stock, every lot twice"
        raise FitterError(problem, file=shown_path(file), expected="write it to another folder")


def lots_of(stock: Path) -> list[dict[str, str]]:
    """Each lot as the cells of its row, by the name of the column.

    Raises:
        FitterErrors: What is wrong with the stock.
    """
    errors: list[FitterError] = []
    found: list[dict[str, str]] = []
    places: dict[str, str] = {}
    for file in stock_files(stock):
        content = read_bytes(file)
        comments = _comments(content, file)
        for lot, entry in read_entries(content, file, errors):
            if lot is None:
                continue
            if lot.id in places:
                errors.append(twice(lot.id, places[lot.id]).at(file=lot.file, line=lot.line))
            places[lot.id] = f"{lot.file}:{lot.line}"
            row = {name: shown_value(entry[name]) for name in fields_of(entry)}
            found.append({**row, COMMENT: comments[lot.id]} if lot.id in comments else row)
    if errors:
        raise FitterErrors(errors)
    return found


def _comments(content: bytes, file: Path) -> Mapping[str, str]:
    """The comments beside the lots of a file; none where it is written in a way that is not edited."""
    try:
        text = text_of(content, shown_path(file))
        if file.suffix.casefold() not in TABLES:
            return comments_of(text)
        table = table_edit.table(text)
    except FitterError:
        return {}
    said = {lot: table.said(row, COMMENT) for lot, row in table.places.items()}
    return {lot: comment for lot, comment in said.items() if comment}


def columns_of(lots: Sequence[Mapping[str, str]]) -> list[str]:
    """Headings in the order of fields: what a lot is, ratings in the order of their kinds, note, comments."""
    used = {name for lot in lots for name in lot} | {"id", "kind", "count"}
    ratings = {name: None for kind in KINDS.values() for name in (*kind.ratings, kind.rails_name)}
    plain = [name for name in PLAIN if name != "note"]
    return [name for name in (*plain, *ratings, "note", COMMENT) if name in used]


def as_csv(lines: Lines) -> bytes:
    """A table with commas between its cells, in UTF-8 with the mark by which spreadsheets know it."""
    out = io.StringIO()
    csv.writer(out).writerows([harmless(cell) for cell in line] for line in lines)
    return out.getvalue().encode("utf-8-sig")


def as_xlsx(lines: Lines) -> bytes:
    """A workbook of one sheet; every cell is text, whatever it starts with, but for counts."""
    import openpyxl  # takes time to load, and few commands need it
    from openpyxl.cell import WriteOnlyCell

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("stock")
    sheet.freeze_panes = "B2"
    for number, line in enumerate(lines):
        cells = []
        for name, text in zip(lines[0], line, strict=True):
            counted = number > 0 and name == "count" and text.isdecimal() and text.isascii()
            cell = WriteOnlyCell(sheet, int(text) if counted else text or None)
            if text and not counted:
                cell.data_type = "s"
                cell.quotePrefix = harmless(text) != text  # it stays text when somebody edits the cell
            cells.append(cell)
        sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
