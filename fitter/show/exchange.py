"""What import and export did, or would do, on a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

from fitter.show.terminal import console

if TYPE_CHECKING:
    from fitter.exchange.models import ExportAnswer, ImportAnswer, ImportedRow

_STYLE = {"add": "green", "update": "yellow", "error": "red", "unchanged": "dim"}


def imported(answer: ImportAnswer) -> None:
    """A line for each row that adds, changes or is wrong, the others together, and what to do next."""
    out = console()
    sheet = f", sheet {answer.sheet}" if answer.sheet else ""
    out.print(Text(f"{answer.file}{sheet}, read as {answer.read_as}", style="bold"))
    if answer.other_sheets:
        out.print(Text(f"not read: {', '.join(answer.other_sheets)}; name one with --sheet"))
    if answer.ignored:
        out.print(Text(f"ignored: {', '.join(answer.ignored)}"))
    for row in answer.rows:
        for number, line in enumerate(_lines(row)):
            if number == 0 or row.outcome == "error":
                out.print(Text.assemble(f"row {row.row}  ", (row.outcome, _STYLE[row.outcome]), f"  {line}"))
            else:
                out.print(Padding(Text(line), (0, 0, 0, 4), expand=False))
    same = [row.row for row in answer.rows if row.outcome == "unchanged" and not row.remark]
    if same:
        out.print(Text(f"unchanged: row{'s' if len(same) > 1 else ''} {ranges(same)}"))
    out.print(Text(_summary(answer), style="bold"))
    out.print(Text(_next(answer)))


def _lines(row: ImportedRow) -> Iterable[str]:
    remark = f"  ({row.remark})" if row.remark else ""
    if row.errors:
        yield from row.errors
    elif row.outcome == "add":
        yield f"{row.lot}  {row.kind}{remark}"
        yield "; ".join(f"{change.field} {change.new}" for change in row.changes)
    elif row.outcome == "update":
        yield f"{row.lot}{remark}"
        for change in row.changes:
            yield f"{change.field}: {change.old or '(nothing)'} -> {change.new}"
    elif row.remark:
        yield f"{row.lot}{remark}"


def ranges(numbers: Sequence[int]) -> str:
    """Numbers in rising order, those that follow each other together.

    >>> ranges([2, 3, 4, 7])
    '2-4, 7'
    """
    runs = [[n for _, n in run] for _, run in groupby(enumerate(numbers), key=lambda pair: pair[1] - pair[0])]
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)


def _summary(answer: ImportAnswer) -> str:
    done = "" if answer.written else "to "
    parts = [
        f"{answer.added} {done}{'added' if answer.written else 'add'}",
        f"{answer.updated} {done}{'updated' if answer.written else 'update'}",
        f"{answer.unchanged} unchanged",
        f"{answer.wrong} with errors",
    ]
    return ", ".join(parts)


def _next(answer: ImportAnswer) -> str:
    files = ", ".join(answer.files)
    if answer.wrong:
        return "Nothing was written. Mend these rows, or take them out of the sheet, and run it again."
    if not files:
        return "Nothing to write: the stock says all of this."
    if answer.written:
        return f"Written: {files}; a file that was there before is kept beside it as NAME.bak"
    return f"Nothing was written yet. To write {files}: the same command with --write"


def exported(answer: ExportAnswer) -> None:
    """What was written, and what no table carries."""
    out = console()
    out.print(Text(f"{answer.file}: {answer.lots} lots, {len(answer.columns)} columns"))
    out.print(Text(f"Not carried: {'; '.join(answer.not_carried)}."))
    out.print(Text("Edit it, then: fitter stock import " + answer.file))
