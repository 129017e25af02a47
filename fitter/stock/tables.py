"""Reading stock tables: CSV files as spreadsheets write them, one row a lot.

The first row holds the headings: the names that a stock file uses (``id``, ``kind``, ``count``,
``bin`` and so on, and any rating), in any order and case, with spaces or underscores. A heading may
carry a unit, ``rated_current [A]``, which then holds for every number of that column that has none
of its own. Ratings without a column of their own stand in a column ``ratings`` as
``name=value; name=value``. Rails of a supply and secondaries of a transformer stand there too, or in
a column ``rails`` or ``secondaries``::

    rails=24 V 3 A | 5 V 2 A isolated; total_power=90 W, nameplate

Each rail is a voltage, then a current if it is known, then ``isolated`` if it is; evidence after
the last value of a rail holds for the whole of it.

Cells are separated by semicolons, tabs or commas, whichever the headings show; a first row ``sep=;``
is understood. Decimal commas are read. An empty cell or a dash says nothing.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from fitter.documents import (
    Bad,
    Fields,
    Items,
    Node,
    Text,
    add,
    clean,
    nearest,
    one_line,
    text_of,
)
from fitter.errors import FitterError, FitterErrors
from fitter.kinds import KINDS, Spec
from fitter.ratings import Evidence
from fitter.stock.entries import PLAIN
from fitter.stock.yaml_edit import COMMENT
from fitter.units import parse

TABLES = (".csv", ".tsv")
RATINGS = "ratings"
_SEPARATORS = (";", "\t", ",")
_NOTHING = ("", "-", "–", "—")
_EVIDENCE = "|".join(e.value for e in Evidence if e is not Evidence.UNKNOWN)
_HEADING = re.compile(r"(.*?) ?(?:\[(.*)\]|\((.*)\))?")
_WITH_EVIDENCE = re.compile(rf"(.*?)((?: ?[,;] ?| )(?:{_EVIDENCE}))?", re.IGNORECASE)
_TOLERANCE = re.compile(r" ?(\+ ?/? ?[-−]|±) ?")
_ENTRY = re.compile(r"\s*([^=<>≤≥]*?)\s*(?:=|(?=[<>≤≥]))(.*)", re.DOTALL)
_MARGIN = r"(?: ?(?:\+ ?/? ?-|±) ?[0-9.,]+ ?%)?"
_RAIL = re.compile(
    rf"(?P<voltage>[^|]*?[0-9] ?m?V(?: ?[AD]C)?{_MARGIN})(?P<first>,? ?(?:{_EVIDENCE}))?"
    rf"(?: ?[,/@]? ?(?P<current>[^|]*[0-9] ?m?A{_MARGIN}))?(?: ?,? ?(?P<isolated>(?:not )?isolated))?"
    rf"(?P<last> ?,? ?(?:{_EVIDENCE}))?",
    re.IGNORECASE,
)
_FIRST_ROW = "the first row holds the headings, such as id;kind;count;ratings"
_EXAMPLE = "`rails=24 V 3 A | 5 V 2 A`"
_FORMULA = re.compile(r"'*[=+@\t\r-]")
_NAMED = re.compile(r"\s*[A-Za-z_]+\s*=")
_STATED = re.compile(" ?[,;] ?stated$", re.IGNORECASE)
_EVIDENCE_AT_END = re.compile(r"(.*?)([,;] ?[a-z]+)?", re.IGNORECASE)


@dataclass(frozen=True)
class Column:
    """A heading: the name it stands for and the unit it carries."""

    name: str
    unit: str
    written: str


def table_of(content: bytes, name: str) -> list[Node]:
    """The rows of a table as entries of a stock file.

    Args:
        content: The bytes of the file.
        name: The file as shown in errors.

    Raises:
        FitterError: It is no text.
        FitterErrors: What is wrong with its headings.
    """
    text = text_of(content, name)
    try:
        rows = rows_of(text)
        line, headings = next(rows, (0, []))
        if not headings:
            raise FitterError("the file is empty", expected=_FIRST_ROW)
        columns = _columns(headings, name, line)
        return [entry_of(columns, cells, line) for line, cells in rows]
    except FitterError as error:
        raise (error if isinstance(error, FitterErrors) else error.at(file=name)) from error


def rows_of(content: str, *, counted: bool = False) -> Iterator[tuple[int, list[str]]]:
    """Line and cells of every row that is not empty.

    Args:
        content: The text of the table.
        counted: Give the number of the row, as a spreadsheet shows it, in the place of the line.

    Raises:
        FitterError: Quotes that do not match.
    """
    separator, skip = separator_of(content)
    reader = csv.reader(
        io.StringIO(content, newline=""), delimiter=separator, strict=True, skipinitialspace=True
    )
    line = 1
    try:
        for number, cells in enumerate(reader, start=1):
            if line > skip and any(cell.strip() for cell in cells):
                yield number if counted else line, [as_meant(clean(cell)) for cell in cells]
            line = reader.line_num + 1
    except csv.Error as error:
        problem = f"not a table: {error}"
        raise FitterError(
            problem, line=line, expected="check the quotes in this row and those after it"
        ) from error


def harmless(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: what starts like one gets an apostrophe before it.

    >>> harmless("=1+1"), harmless("-5..40 °C"), as_meant(harmless("'=1")), harmless("don't")
    ("'=1+1", "'-5..40 °C", "'=1", "don't")
    """
    return f"'{cell}" if _FORMULA.match(cell) else cell


def as_meant(cell: str) -> str:
    """A cell without the apostrophe that :func:`harmless` puts before it."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def separator_of(content: str) -> tuple[str, int]:
    """What separates cells, and how many rows come before the headings."""
    first, *_ = content.split("\n", 1)
    if match := re.fullmatch(r'"?sep=(.)"?', first.strip("\r\n ")):
        return match[1], 1
    heads = next((line for line in content.splitlines() if line.strip()), "")
    return max(_SEPARATORS, key=lambda s: (_known_in(heads, s), heads.count(s))), 0


def _known_in(heads: str, separator: str) -> int:
    """How many headings are understood with this separator."""
    return sum(column_of(cell.strip('" ')).name in known_names() for cell in heads.split(separator))


@cache
def known_names() -> dict[str, tuple[Spec, ...]]:
    """All names that a heading may have, with the ratings of any kind that they stand for."""
    found: dict[str, tuple[Spec, ...]] = dict.fromkeys((*PLAIN, RATINGS, COMMENT), ())
    for kind in KINDS.values():
        if kind.rails is not None:
            found.setdefault(kind.rails_name, ())
        for name, spec in kind.ratings.items():
            found[name] = (*found.get(name, ()), spec)
    return found


@cache
def rails_names() -> frozenset[str]:
    return frozenset(kind.rails_name for kind in KINDS.values() if kind.rails is not None)


def name_of(text: str) -> str:
    """A name as ratings are called, whatever its case and spaces."""
    return re.sub(r"[\s-]+", "_", text.strip()).casefold()


def column_of(heading: str) -> Column:
    match = _HEADING.fullmatch(one_line(heading))
    assert match is not None
    return Column(name_of(match[1]), (match[2] or match[3] or "").strip(), one_line(heading))


# ---------------------------------------------------------------- headings


def _columns(headings: list[str], file: str, line: int) -> list[Column]:
    """The columns of a table.

    Raises:
        FitterErrors: Headings that are unknown, stand twice or have a wrong unit.
    """
    columns = [column_of(heading) for heading in headings]
    names = [c.name for c in columns if c.name]
    wrong = [
        error.at(file=file, line=line, field=c.written)
        for c in columns
        if c.name and (error := _wrong_heading(c, names)) is not None
    ]
    if not {"id", "kind"} & set(names):
        wrong = [FitterError("no headings `id` and `kind`", file=file, line=line, expected=_FIRST_ROW)]
    if wrong:
        raise FitterErrors(wrong)
    return columns


def _wrong_heading(column: Column, names: list[str]) -> FitterError | None:
    if column.name not in known_names():
        return FitterError("unknown heading", expected=nearest(column.name, known_names()))
    if names.count(column.name) > 1:
        return FitterError("this heading stands twice", expected="keep one of them")
    return wrong_unit(column) if column.unit else None


def wrong_unit(column: Column) -> FitterError | None:
    """What is wrong with the unit of a heading, if no kind has such a rating in it."""
    if column.name == "price_new":
        euro = column.unit.casefold() in ("eur", "€", "euro")
        return None if euro else FitterError("prices are in euro", expected="`price_new [EUR]`")
    quantities = [s.quantity for s in known_names()[column.name] if not s.choices and s.quantity != "count"]
    error = FitterError("no unit belongs here", expected=f"the heading `{column.name}`")
    for quantity in ["mass"] if column.name == "mass" else quantities:
        try:
            parse(f"1 {column.unit}", quantity)
            return None
        except FitterError as found:
            error = FitterError(found.problem, expected=found.expected)
    return error


# ---------------------------------------------------------------- rows


def entry_of(columns: list[Column], cells: list[str], line: int) -> Fields:
    """One row as the fields of a lot."""
    fields = Fields(line)
    for number, cell in enumerate(cells):
        column = columns[number] if number < len(columns) else None
        if cell in _NOTHING or (column is not None and column.name == COMMENT):
            continue
        if column is None or not column.name:
            remedy = (
                "put a cell in quotes when it holds the sign that separates cells, such as a decimal comma"
            )
            fields[f"cell {number + 1}"] = Bad(
                FitterError(f"no heading above {cell[:40]!r}", expected=remedy), line
            )
        elif column.name == RATINGS:
            _add_ratings(fields, cell, line)
        else:
            add(fields, Text(column.name, line), _value(column, cell, line), line)
    return fields


def _value(column: Column, cell: str, line: int) -> Node:
    if column.name in rails_names():
        return rails_of(cell, line)
    if column.unit and column.name != "price_new":
        cell = with_unit(cell, column.unit)
    return Text(cell, line)


def with_unit(cell: str, unit: str) -> str:
    """A cell with the unit of its heading after every number that has none of its own.

    >>> with_unit("1,4 +- 0,1, measured", "A"), with_unit("1400 mA", "A"), with_unit("unknown", "A")
    ('1,4 A +- 0,1 A, measured', '1400 mA', 'unknown')
    """
    match = _WITH_EVIDENCE.fullmatch(" ".join(cell.split()))
    assert match is not None
    pieces = _TOLERANCE.split(match[1])
    pieces[0] = _unit_added(pieces[0], unit)
    if len(pieces) == 3:
        pieces[1:] = [" +- ", _unit_added(pieces[2], unit)]
    return "".join(pieces) + (match[2] or "")


def _unit_added(value: str, unit: str) -> str:
    return f"{value} {unit}" if value[-1:].isdigit() else value


def _add_ratings(fields: Fields, cell: str, line: int) -> None:
    """The entries of a column ``ratings``."""
    for text in cell.split(";"):
        if not text.strip():
            continue
        match = _ENTRY.fullmatch(text)
        if match is None or not match[1]:
            remedy = "`name=value; name=value`, such as `resistance=2.8 ohm, measured`"
            problem = FitterError(f"cannot read {one_line(text)[:40]!r}", expected=remedy)
            fields[f"{RATINGS} ({one_line(text)[:20]})"] = Bad(problem, line)
            continue
        name, value = name_of(match[1]), match[2].strip()
        node = rails_of(value, line) if name in rails_names() else Text(value, line)
        add(fields, Text(name, line), node, line)


def rails_of(text: str, line: int) -> Items:
    """Rails written as ``24 V 3 A | 5 V 2 A``."""
    rails = Items(line)
    rails.extend(_rail(piece.strip(), line) for piece in text.split("|") if piece.strip())
    return rails


def _rail(text: str, line: int) -> Node:
    if _NAMED.match(text):
        return _named_rail(text, line)
    match = _RAIL.fullmatch(" ".join(text.split()))
    if match is None:
        return Bad(FitterError("not a rail", got=text[:40], expected=_EXAMPLE), line)
    rail = Fields(line)
    last = match["last"] or ""
    rail["voltage"] = Text(match["voltage"] + _comma(match["first"] or last), line)
    if match["current"]:
        rail["current"] = Text(match["current"] + _comma(last), line)
    if match["isolated"]:
        rail["isolated"] = Text("no" if match["isolated"].casefold().startswith("not") else "yes", line)
    return rail


def _named_rail(text: str, line: int) -> Node:
    """A rail with the name of each figure: ``voltage=24 V & isolated=yes, measured``."""
    rail = Fields(line)
    for piece in text.split("&"):
        name, _, value = piece.partition("=")
        add(rail, Text(name_of(name), line), Text(value.strip(), line), line)
    return rail


def rail_written(figures: Mapping[str, str]) -> str:
    """A rail on one line, in short where that says all of it, else with the name of each figure.

    >>> rail_written({"voltage": "24 V", "current": "3 A, measured", "isolated": "yes"})
    '24 V, stated 3 A isolated, measured'
    >>> rail_written({"voltage": "24 V", "current": "unknown"})
    'voltage=24 V & current=unknown'
    """
    short = _rail_in_short(figures)
    read = _rail(short, 0)
    said = {n: v.text for n, v in read.items() if isinstance(v, Text)} if isinstance(read, Fields) else {}
    same = {n: _STATED.sub("", v) for n, v in said.items()} == dict(figures)
    return short if same else " & ".join(f"{name}={value}" for name, value in figures.items())


def _rail_in_short(figures: Mapping[str, str]) -> str:
    """Voltage, current and whether it is isolated, evidence after each figure."""
    isolated = {"yes": " isolated", "no": " not isolated"}.get(figures.get("isolated", ""), "")
    volts = figures.get("voltage", "")
    if "current" not in figures:
        return volts + isolated
    match = _EVIDENCE_AT_END.fullmatch(figures["current"])
    assert match is not None
    if match[2] and not (_EVIDENCE_AT_END.fullmatch(volts) or match)[2]:
        volts += ", stated"  # else the evidence of the current would count for both
    return f"{volts} {match[1]}{isolated}{match[2] or ''}"


def _comma(evidence: str) -> str:
    """Evidence with one comma before it."""
    return f", {evidence.strip(' ,')}" if evidence else ""
