"""Ways to do a function side by side, on a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from fitter import words
from fitter.show.terminal import _STATE_STYLE, console, indent

if TYPE_CHECKING:
    from fitter.comparing.models import CompareAnswer, FunctionWays, WayAnswer

_MOST = 4  # ratings to measure that are named


def compare(answer: CompareAnswer) -> None:
    """A table of each function, then of each way what it uses and wants, or why it does not go."""
    out = console()
    out.print(Text(answer.title, style="bold"))
    if not answer.functions:
        out.print("Each function of this project is done in one way only.")
    for function in answer.functions:
        out.print()
        out.print(Text.assemble((function.function, "bold"), f": {function.about}"))
        out.print(_table(function))
        for way in function.ways:
            out.print(Text(way.principle, style="bold"))
            for line in _lines(way):
                out.print(indent(Text(line)))
    if answer.functions:
        out.print()
        out.print(
            "Each way in the best set of the whole project that has it, the best of these first. "
            "Margin: of the tightest check on the function's own parts.",
            style="dim",
        )


def _table(function: FunctionWays) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    loaded = any(way.holds for way in function.ways)
    for name in ("way", "state", "margin", "noise", *(["holds"] if loaded else []), "to buy"):
        table.add_column(name)
    for way in function.ways:
        cells = [words.margin(way.tightest.margin) if way.tightest else "", way.noise]
        cells += [way.holds or ""] if loaded else []
        cells.append(_bought(way) if way.goes else "")
        table.add_row(Text(way.principle), Text(way.state, style=_STATE_STYLE[way.state]), *cells)
    return table


def _bought(way: WayAnswer) -> str:
    if not way.to_buy:
        return "nothing"
    return f"{len(way.to_buy)}, about {way.price:.0f} EUR" if way.price else str(len(way.to_buy))


def _lines(way: WayAnswer) -> Iterator[str]:
    if not way.goes:
        yield f"does not go: {way.why_not}" if way.outcome == "complete" else f"not known: {way.why_not}"
        return
    if way.tightest:
        yield f"tightest: {way.tightest.check}: {words.need_have(way.tightest)}"
    if way.holds and way.holds_because:
        yield f"holds unpowered: {way.holds}; {way.holds_because}"
    lots = list(dict.fromkeys(lot for lot in way.uses.values() if lot))
    yield f"uses: {', '.join(lots) or 'nothing of yours'}"
    for item in way.to_buy:
        price = f", about {item.price:.0f} EUR" if item.price else ""
        yield f"to buy: {item.count} x {item.example} for {item.role}{price}"
    for path in way.to_measure[:_MOST]:
        yield words.measure_line(path)
    if len(way.to_measure) > _MOST:
        yield f"and {len(way.to_measure) - _MOST} more to measure or try"
    if note := words.search_note(way.stopped_by, stand_in=way.stand_in, passes=True):
        yield note
