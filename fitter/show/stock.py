"""The stock on a terminal: lots, and what is wrong with its files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.table import Table

from fitter import words
from fitter.show.terminal import _plain, _refused, console, indent

if TYPE_CHECKING:
    from fitter.labels.models import LabelsAnswer
    from fitter.listings import StockAnswer, StockCheckAnswer


def stock(answer: StockAnswer) -> None:
    """All lots, one line each with what is known."""
    out = console()
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("lot", "kind", "count", "bin", "known"):
        table.add_column(name, justify="right" if name == "count" else "left")
    for lot in answer.lots:
        known = [lot.condition] if lot.condition != "working" else []
        known += [f"NEVER PLACED: {lot.refused.removesuffix(': never placed')}"] if lot.refused else []
        known += [
            f"{words.rating_words(n.removesuffix('.min'))} {r.shown}"
            for n, r in lot.ratings.items()
            if not n.endswith(".max")  # both ends of a window are written as one
        ]
        table.add_row(_plain(lot.id), lot.kind, str(lot.count), _plain(lot.bin), _plain("; ".join(known)))
    out.print(table)
    out.print(f"{len(answer.lots)} lots, {sum(lot.count for lot in answer.lots)} pieces")


def stock_check(answer: StockCheckAnswer) -> None:
    """Errors with their places, then what is never placed."""
    out = console()
    for error in answer.errors:
        out.print(_plain(error), soft_wrap=True)
    for each in answer.contradictions:
        strength = "cannot be" if each.certain else "look again"
        out.print(
            _plain(f"{each.file}:{each.line}: lot {each.lot}: {strength}: {each.problem}"), soft_wrap=True
        )
        out.print(indent(_plain(f"likely: {each.cause}")))
    counts = f"{len(answer.errors)} error(s), {len(answer.contradictions)} contradiction(s)"
    out.print(f"{answer.lots} lots in {answer.files} file(s), {counts}")
    _refused(out, answer.refused)


def labels(answer: LabelsAnswer) -> None:
    """What was written."""
    number, sheets = len(answer.labels), f"{answer.sheets} sheet{'s' if answer.sheets != 1 else ''} of A4"
    console().print(_plain(f"{number} label{'s' if number != 1 else ''} on {sheets}: {answer.file}"))
