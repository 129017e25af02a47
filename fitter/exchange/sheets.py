"""Reading sheets: tables of text, whatever file they are in and however it is encoded.

Workbooks are read by a library that takes all of a sheet into memory. What it would make of a file is
bounded before it is called: a workbook is a packed file, and a few bytes can claim a million rows.
"""

from __future__ import annotations

import codecs
import datetime
import io
import zipfile
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitter.documents import clean, nearest, one_line, read_bytes, shown_path, text_of
from fitter.errors import FitterError
from fitter.exchange.extent import check_extent
from fitter.stock.tables import TABLES, as_meant, rows_of

WORKBOOKS = (".xlsx", ".xlsm", ".ods")
LARGEST_UNPACKED = 256 * 2**20
MOST_ROWS, MOST_COLUMNS = 200_000, 400
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8 with a mark at its start"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
Row = tuple[int, list[str]]  # number as a spreadsheet shows it, and cells


@dataclass(frozen=True)
class Sheet:
    """A table of text: ``said`` is how it was read, ``others`` the names of sheets that were not."""

    file: str
    name: str
    said: str
    rows: Sequence[Row]
    others: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """File and sheet, as errors name them."""
        return f"{self.file}[{self.name}]" if self.name else self.file


def read_sheet(
    file: Path,
    is_heading: Callable[[Sequence[str]], bool],
    encoding: str | None = None,
    name: str | None = None,
) -> Sheet:
    """The sheet of a file that is asked for, else the first whose first row is one of headings.

    Args:
        file: Ends in ``.csv``, ``.tsv``, ``.xlsx`` or ``.ods``.
        is_heading: Whether the cells of a row are headings.
        encoding: Of a text file; told by its bytes when left out.
        name: Of the sheet.

    Raises:
        FitterError: A file that cannot be read, is none of these, or has no such sheet.
    """
    shown, ending = shown_path(file), file.suffix.casefold()
    if ending not in (*TABLES, *WORKBOOKS):
        raise FitterError(
            "no table or workbook by its name", file=shown, expected="save it as .csv, .xlsx or .ods"
        )
    content = read_bytes(file)
    try:
        if ending in TABLES:
            return _text_sheet(content, shown, encoding, name)
        return _of_workbook(content, shown, is_heading, name)
    except FitterError as error:
        raise error.at(file=shown) from error


# ---------------------------------------------------------------- text


def _text_sheet(content: bytes, file: str, encoding: str | None, name: str | None) -> Sheet:
    if name is not None:
        raise FitterError("a text file has no sheets", field="--sheet", expected="leave it out")
    text, said = decoded(content, encoding)
    rows = []
    for row in rows_of(text_of(text.encode("utf-8", "surrogatepass"), file), counted=True):
        rows.append(row)
        _check_size(len(rows), len(row[1]))
    return Sheet(file, "", said, rows)


def decoded(content: bytes, encoding: str | None = None) -> tuple[str, str]:
    """The text of bytes, and its encoding in words.

    What is no UTF-8 is taken for Windows-1252, which spreadsheets on Windows write; it has a few bytes that
    mean nothing, so that not everything passes for it.

    Raises:
        FitterError: The encoding is unknown, or the bytes are not of it.

    >>> decoded("2,1 Ω".encode())[1], decoded("Stück".encode("cp1252"))
    ('UTF-8', ('Stück', 'Windows-1252'))
    """
    if encoding is not None:
        return _by_name(content, encoding)
    for mark, codec, said in _MARKS:
        if content.startswith(mark):
            return _strictly(content, codec, said)
    try:
        return content.decode("utf-8"), "plain ASCII" if content.isascii() else "UTF-8"
    except UnicodeDecodeError:
        return _strictly(content, "cp1252", "Windows-1252")


def _by_name(content: bytes, encoding: str) -> tuple[str, str]:
    try:
        codec = codecs.lookup(encoding)
        _ = b"a".decode(encoding)  # some codecs give no text
    except (LookupError, ValueError) as error:
        remedy = "such as utf-8, windows-1252, iso-8859-15 or mac-roman"
        raise FitterError(
            f"unknown encoding {encoding[:40]!r}", field="--encoding", expected=remedy
        ) from error
    return _strictly(content, "utf-8-sig" if codec.name == "utf-8" else encoding, codec.name)


def _strictly(content: bytes, codec: str, said: str) -> tuple[str, str]:
    try:
        return content.decode(codec), said
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        problem = f"not {said} text (byte {content[error.start]:#04x})"
        raise FitterError(problem, line=line, expected="name its encoding with --encoding") from error


# ---------------------------------------------------------------- workbooks


def _of_workbook(
    content: bytes, file: str, is_heading: Callable[[Sequence[str]], bool], name: str | None
) -> Sheet:
    _check_packed(content)
    check_extent(content, MOST_ROWS * 50)
    book = _guarded(lambda: _opened(content))
    names = [str(each) for each in book.sheet_names]
    if name is not None and name not in names:
        raise FitterError(f"no sheet {name[:40]!r}", field="--sheet", expected=nearest(name, names))
    found: list[Row] = []
    for each in [name] if name is not None else names:
        found = _rows(book, each)
        if name is not None or (found and is_heading(found[0][1])):
            _check_merged(book, each)
            return Sheet(file, each, "a workbook", found, tuple(n for n in names if n != each))
    if len(names) == 1:  # what is wrong with its headings is for others to say
        _check_merged(book, names[0])
        return Sheet(file, names[0], "a workbook", found)
    problem = "no sheet has `kind` or `id` among the headings in its first row"
    raise FitterError(problem, expected=f"name one with --sheet: {', '.join(names)[:200]}")


def _opened(content: bytes) -> Any:
    import python_calamine  # takes time to load, and few commands need it

    return python_calamine.load_workbook(io.BytesIO(content))


def _guarded(work: Callable[[], Any]) -> Any:
    """What a library makes of a file; whatever it stumbles over is wrong with the file."""
    try:
        return work()
    except (KeyboardInterrupt, SystemExit, FitterError):
        raise
    except BaseException as error:  # a panic of the library is not even an Exception
        raise FitterError(
            f"not a workbook: {one_line(str(error))[:80] or type(error).__name__}",
            expected="save it again as .xlsx or .ods",
        ) from error


def _check_packed(content: bytes) -> None:
    """A packed file must be whole and hold no more than it says, which must be bearable."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            too_large = sum(each.file_size for each in packed.infolist()) > LARGEST_UNPACKED
            damaged = None if too_large else packed.testzip()
    except (
        zipfile.BadZipFile,
        EOFError,
        RuntimeError,
        NotImplementedError,
        OSError,
        ValueError,
        zlib.error,
    ) as e:
        raise FitterError(
            "not a workbook, or damaged or locked by a password", expected="save it again"
        ) from e
    if too_large:
        raise FitterError("the workbook is too large", expected=f"at most {LARGEST_UNPACKED >> 20} MB")
    if damaged is not None:
        raise FitterError(f"the workbook is damaged at {damaged[:40]!r}", expected="save it again")


def _rows(book: Any, name: str) -> list[Row]:
    """The rows of a sheet that are not empty."""
    raw = _guarded(lambda: book.get_sheet_by_name(name).to_python(skip_empty_area=False))
    rows: list[Row] = []
    for number, cells in enumerate(raw, start=1):
        texts = [cell_text(cell) for cell in cells]
        while texts and not texts[-1]:
            texts.pop()
        if texts:
            rows.append((number, texts))
            _check_size(len(rows), len(texts))
    return rows


def cell_text(value: Any) -> str:
    """A typed cell as one would write it.

    >>> cell_text(4.0), cell_text(1.4), cell_text(True), cell_text(datetime.datetime(2026, 5, 1))
    ('4', '1.4', 'yes', '2026-05-01')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else f"{value:.15g}"
    if isinstance(value, datetime.datetime):
        return value.isoformat(" ").removesuffix(" 00:00:00")
    return as_meant(clean(str(value)))


def _check_merged(book: Any, name: str) -> None:
    merged = _guarded(lambda: book.get_sheet_by_name(name).merged_cell_ranges) or ()
    for (row, column), (last_row, last_column) in merged:
        place = f"{letters(column)}{row + 1}:{letters(last_column)}{last_row + 1}"
        raise FitterError(
            f"the cells {place} of sheet {name!r} are merged, so it is not clear what belongs to which row",
            line=row + 1,
            expected="undo that, and write one row of headings and one row for each lot",
        )


def letters(column: int) -> str:
    """The name of a column by its number from 0.

    >>> letters(0), letters(25), letters(26), letters(701)
    ('A', 'Z', 'AA', 'ZZ')
    """
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def _check_size(rows: int, columns: int) -> None:
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        expected = f"at most {MOST_ROWS} rows and {MOST_COLUMNS} columns"
        raise FitterError("the sheet is too large", expected=expected)
