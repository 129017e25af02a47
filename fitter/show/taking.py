"""Parts set aside, on a terminal: what to fetch, what goes back into which box, what is held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fitter.show.terminal import _STATE_STYLE, console
from fitter.units import show
from fitter.words import measure_line

if TYPE_CHECKING:
    from fitter.taking.models import (
        HeldBuild,
        HeldPart,
        PutBackAnswer,
        SetAsideAnswer,
        TakenAnswer,
        UsedUpAnswer,
    )


def taken(answer: TakenAnswer) -> None:
    """What to fetch from which bin, and what is still to be done."""
    build = answer.build
    _lines(f"Set aside as {build.name}: set {answer.set_number} of {build.recipe}", build.state)
    console().print(_table(build.parts))
    _to_do(build)
    print(f"Written to {answer.file}. When it is done: fitter stock used-up {_word(build.name)}")


def put_back(answer: PutBackAnswer) -> None:
    """What goes back into which bin."""
    if answer.parts:
        _lines(f"{answer.name} is put back: these are free again")
        console().print(_table(answer.parts))
    for lot in answer.faulty:
        print(f"{lot}: one piece is faulty and is not used again")


def used_up(answer: UsedUpAnswer) -> None:
    """What is gone, and what is left of the lots."""
    _lines(f"{answer.name}: these have left the stock")
    console().print(_table(answer.parts))
    if answer.removed:
        _line(f"No more of: {', '.join(answer.removed)}")
    if answer.left:
        _line("Left: " + ", ".join(f"{count} x {lot}" for lot, count in answer.left.items()))
    for note in answer.notes:
        _line(note)
    if answer.still_held:
        _line(f"Still set aside for {answer.name}: {', '.join(p.role for p in answer.still_held)}")


def set_aside(answer: SetAsideAnswer) -> None:
    """Builds with what they hold, and the history."""
    if not answer.builds:
        print("Nothing is set aside.")
    for build in answer.builds:
        demands = f" with {build.demands}" if build.demands else ""
        _lines(f"{build.name}: {build.recipe}{demands}, since {build.date}", build.state)
        console().print(_table(build.parts))
        _to_do(build)
    for line in answer.mismatches:
        _line(f"look at this: {line}")
    if answer.history:
        _lines("History")
    for event in answer.history:
        named = "" if event.build == event.recipe else f" ({event.recipe})"
        _line(f"{event.date} {event.what}: {event.build}{named}: {event.parts}")


def _to_do(build: HeldBuild) -> None:
    for each in build.to_buy:
        _line(f"to buy: {each.role}: {each.what}")
    for path in build.to_measure:
        _line(measure_line(path))


def _table(parts: Sequence[HeldPart]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("role", no_wrap=True)
    table.add_column("part")
    table.add_column("bin")
    for part in parts:
        name = f": {part.name}" if part.name else ""
        table.add_row(part.role, Text(f"{_amount(part)}{part.lot}{name}{_use(part)}"), Text(part.bin))
    return table


def _amount(part: HeldPart) -> str:
    return f"{part.count} x " if part.count > 1 else ""


def _use(part: HeldPart) -> str:
    """The way a part is used, and what is kept of a supply that others may draw on."""
    offer = f", {part.offer}" if part.offer else ""
    if part.gone:
        return f"{offer}, gone with {part.gone}"
    if part.current is not None:
        return f"{offer}, {show(part.current, 'current')} of it"
    return offer


def _lines(title: str, state: str = "") -> None:
    console().print(
        Text.assemble((title, "bold"), "  " if state else "", (state, _STATE_STYLE.get(state, "")))
    )


def _line(text: str) -> None:
    console().print(Padding(Text(text), (0, 0, 0, 2)))


def _word(name: str) -> str:
    """A name as it is typed on a command line."""
    return name if name.replace("-", "").replace("_", "").isalnum() else f'"{name}"'
