"""The stock on a terminal: lots, one lot in full, and what is wrong with the files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

from fitter import words
from fitter.show.entering import short
from fitter.show.terminal import _plain, _refused, console, indent

if TYPE_CHECKING:
    from fitter.labels.models import LabelsAnswer
    from fitter.listings import LotAnswer, MissingAnswer, RatingAnswer, StockAnswer, StockCheckAnswer
    from fitter.lot_views import LotViewAnswer

_NAMED = 10  # ids in one line
_HEADINGS = ("lot", "kind", "count", "bin", "known")
_MOST_IN_TABLE = 500  # rows; more than anybody reads on a terminal, and most likely filtered by a program
_WIDEST = 24  # characters of a column
_GAP = "  "  # between two
_Row = tuple[str, ...]


def stock(answer: StockAnswer) -> None:
    """All lots, one line each with what is known; those that only may be asked for are marked."""
    out = console()
    rows = [(lot.id, lot.kind, str(lot.count), lot.bin, "; ".join(_known(lot))) for lot in answer.lots]
    if len(rows) > _MOST_IN_TABLE:
        out.out("\n".join(_columns([_HEADINGS, *rows], out.width)), highlight=False)
    elif rows:
        out.print(_table(rows))
    pieces = sum(lot.count for lot in answer.lots)
    possible = sum(lot.possibly for lot in answer.lots)
    marked = f"; {possible} of them only possibly, and marked so" if possible else ""
    out.print(f"{len(answer.lots)} lots, {pieces} pieces{marked}")
    if answer.unknown:
        out.print(_plain(f"not known of {len(answer.unknown)} more: {some(answer.unknown)}"))


def _table(rows: Sequence[_Row]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in _HEADINGS:
        table.add_column(name, justify="right" if name == "count" else "left")
    for row in rows:
        table.add_row(*map(_plain, row))
    return table


def _columns(rows: Sequence[_Row], width: int) -> Iterator[str]:
    """The same without the library, which takes milliseconds a row: columns as wide as they need be."""
    widest = [min(max(map(len, column)), _WIDEST) for column in zip(*rows, strict=True)]
    widest[-1] = max(width - sum(widest[:-1]) - len(_GAP) * (len(widest) - 1), _WIDEST)
    for row in rows:
        cells = [
            wrap(cell, most) if len(cell) > most else [cell] for cell, most in zip(row, widest, strict=True)
        ]
        for line in zip_longest(*cells, fillvalue=""):
            padded = (
                cell.rjust(most) if name == "count" else cell.ljust(most)
                for name, cell, most in zip(_HEADINGS, line, widest, strict=True)
            )
            yield _GAP.join(padded).rstrip()


def some(ids: Sequence[str]) -> str:
    """The first of many ids, and how many more there are."""
    rest = len(ids) - _NAMED
    return ", ".join(ids[:_NAMED]) + (f" and {rest} more" if rest > 0 else "")


def _known(lot: LotAnswer) -> Iterator[str]:
    if lot.possibly or lot.asked:
        yield ": ".join(["possibly"] * lot.possibly + [", ".join(lot.asked)] * bool(lot.asked))
    if lot.set_aside:
        yield f"SET ASIDE: {', '.join(lot.set_aside)}"
    if lot.condition != "working":
        yield lot.condition
    if lot.refused:
        yield f"NEVER PLACED: {lot.refused.removesuffix(': never placed')}"
    yield from stated(lot)


def stated(lot: LotAnswer) -> Iterator[str]:
    """Each rating in the words of the file; both ends of a window are written as one."""
    for name, rating in lot.ratings.items():
        if not name.endswith(".max"):
            yield f"{words.rating_words(name.removesuffix('.min'))} {rating.shown}"


def one(answer: LotViewAnswer) -> None:
    """One lot: what is stated, estimated and open, how it can be used, and what to measure next."""
    out = console()
    lot = answer.lot
    out.print(_plain(f"{lot.id}: {lot.count} x {lot.kind}" + (f", {lot.name}" if lot.name else ""), "bold"))
    for line in _about(answer):
        out.print(indent(_plain(line)))
    _lines(out, "Set aside:", lot.set_aside)
    _lines(out, "Stated:", _stated_with_ranges(lot))
    _lines(out, "Estimated from it:", [short(each.sentence) for each in answer.estimates])
    _lines(
        out,
        "Not known:",
        [f"{words.rating_words(each.rating)}, usually {each.usual}" for each in answer.open],
    )
    _lines(out, "Can be used as:", answer.uses)
    _lines(out, "Cannot be used as:", answer.ruled_out)
    _lines(out, "Look again:", answer.contradictions)
    _lines(out, "Take care:", list(answer.cautions.values()))
    if lot.refused:
        out.print(_plain(f"Never placed in a build: {lot.refused}", "bold yellow"))
    if answer.measure_next:
        out.print(_plain(f"Measure next: {answer.measure_next}"))


def _about(answer: LotViewAnswer) -> Iterator[str]:
    lot = answer.lot
    origin = [f"bin {lot.bin}"] * bool(lot.bin) + [f"from {lot.donor}"] * bool(lot.donor) + [lot.condition]
    origin += [f"{answer.mass * 1000:g} g"] if answer.mass is not None else []
    origin += [f"{answer.price_new:g} EUR new"] if answer.price_new is not None else []
    yield ", ".join(origin)
    if answer.note:
        yield f"note: {answer.note}"
    yield f"written in {answer.file}:{answer.line}"


def _stated_with_ranges(lot: LotAnswer) -> list[str]:
    """Each rating as written, with the range that is taken from it."""
    return [
        f"{words.rating_words(name.removesuffix('.min'))} {rating.shown}{_taken(name, rating)}"
        for name, rating in lot.ratings.items()
        if not name.endswith(".max")
    ]


def _taken(name: str, rating: RatingAnswer) -> str:
    """The range a value stands for, where that is more than the value itself; a window says its own."""
    plain = name.endswith(".min") or rating.min == rating.max or rating.taken == rating.shown
    return "" if plain or not rating.taken else f" ({rating.taken})"


def _lines(out: Console, title: str, lines: Sequence[str]) -> None:
    if lines:
        out.print(title)
        for line in lines:
            out.print(indent(_plain(line)))


def stock_check(answer: StockCheckAnswer) -> None:
    """Errors with their places, then contradictions, what is never placed, and what to measure first."""
    out = console()
    for error in answer.errors:
        out.print(_plain(error), soft_wrap=True)
    for each in answer.contradictions:
        strength = "cannot be" if each.certain else "look again"
        place = f"{each.file}:{each.line}: lot {each.lot}"
        out.print(_plain(f"{place}: {strength}: {each.problem}"), soft_wrap=True)
        out.print(indent(_plain(f"likely: {each.cause}")))
    for line in answer.set_aside:
        out.print(_plain(f"set aside: {line}"), soft_wrap=True)
    counts = f"{len(answer.errors)} error(s), {len(answer.contradictions)} contradiction(s)"
    out.print(f"{answer.lots} lots in {answer.files} file(s), {counts}")
    _lines(out, "Missing figures that matter most:", [_missing(each) for each in answer.missing])
    _refused(out, answer.refused)


def _missing(each: MissingAnswer) -> str:
    how = f" ({each.how.rstrip('.')})" if each.how else ""
    return (
        f"{words.rating_words(each.rating)} of {each.kind} {some(each.lots)}: {each.minutes:g} min each{how}"
    )


def labels(answer: LabelsAnswer) -> None:
    """What was written."""
    number, sheets = len(answer.labels), f"{answer.sheets} sheet{'s' if answer.sheets != 1 else ''} of A4"
    console().print(_plain(f"{number} label{'s' if number != 1 else ''} on {sheets}: {answer.file}"))
