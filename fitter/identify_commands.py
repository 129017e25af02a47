"""The commands that tell parts apart: `fitter identify wires`, `board` and `supply`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitter.errors import FitterError
from fitter.options import Json, pairs
from fitter.printing import print_answer

if TYPE_CHECKING:
    from fitter.identify import WiresAnswer

app = typer.Typer(help="Which wire is which; boards and supplies without a label.")
Given = Annotated[
    list[str] | None,
    typer.Argument(metavar="[READING=VALUE]...", help="Readings taken so far, such as open_voltage=17.6V"),
]


@app.command("wires")
def wires_command(
    readings: Annotated[
        list[str] | None,
        typer.Argument(metavar="[WIRE-WIRE=OHMS]...", help="Such as 1-2=3.1 1-3=open; - for standard input"),
    ] = None,
    file: Annotated[
        Path | None, typer.Option("--file", metavar="PATH", help="A file of readings, any number a line")
    ] = None,
    count: Annotated[
        int | None, typer.Option("--wires", metavar="N", min=2, max=8, help="How many wires there are")
    ] = None,
    leads: Annotated[
        str | None,
        typer.Option("--leads", metavar="OHMS", help="The meter with its leads held together"),
    ] = None,
    meter: Annotated[
        float, typer.Option("--meter", metavar="PERCENT", min=0.1, max=20, help="How far it may be off")
    ] = 5.0,
    json: Json = False,
) -> None:
    """Coils and taps of a motor, from the ohms between its wires."""
    from fitter import identify

    off = identify.ohms_of(leads) if leads else None
    words = [*_typed(readings or []), *_from_file(file)]
    if words:
        found = identify.identify_wires(words, count=count, meter=meter / 100, leads=off)
    elif sys.stdin.isatty() and not json:
        try:
            found = _asked_for(count, meter / 100, off)
        except typer.Abort as stopped:
            raise KeyboardInterrupt from stopped
    else:
        expected = "give them as 1-2=3.1 1-3=open ..., in a --file, or run it on a terminal to be asked"
        raise FitterError("no readings", field="WIRE-WIRE=OHMS", expected=expected)
    _show(found, json)


def _show(found: WiresAnswer, json: bool) -> None:
    def shown() -> None:
        from fitter.show import identify as show

        show.wires(found)

    print_answer(found, json, shown)


def _typed(words: list[str]) -> list[str]:
    """The words, a lone dash replaced by what stands on standard input."""
    from fitter.identify import readings_of_text

    return [w for word in words for w in (readings_of_text(sys.stdin.read()) if word == "-" else [word])]


def _from_file(file: Path | None) -> list[str]:
    from fitter.documents import read_text
    from fitter.identify import readings_of_text

    return readings_of_text(read_text(file)) if file else []


def _asked_for(count: int | None, meter: float, leads: float | None) -> WiresAnswer:
    """Asks for the readings that decide, one at a time; what is not understood is asked for again."""
    from fitter import identify

    if count is None:
        count = int(typer.prompt("How many wires", type=int, err=True))
    names = [str(n) for n in range(1, count + 1)]
    table: dict[frozenset[str], float] = {}
    typer.echo("Number the wires 1, 2, 3 ... Answer with the ohms, or open.", err=True)
    found = identify.answer_of(names, table, meter=meter, leads=leads)
    while found.measure_next:
        pair = found.measure_next[0]
        try:
            table[frozenset(pair.split("-"))] = identify.ohms_of(str(typer.prompt(pair, err=True)).strip())
        except FitterError as error:
            typer.echo(str(error), err=True)
            continue
        found = identify.answer_of(names, table, meter=meter, leads=leads)
    return found


@app.command("board")
def board_command(readings: Given = None, json: Json = False) -> None:
    """A card for a brushless motor with a board: which pin does what."""
    _card("board", readings, json)


@app.command("supply")
def supply_command(readings: Given = None, json: Json = False) -> None:
    """A card for a supply without a label: rails, pins, what they give."""
    _card("supply", readings, json)


def _card(name: str, readings: list[str] | None, json: bool) -> None:
    from fitter import identify

    found = identify.card(name, pairs(readings, "READING=VALUE", "open_voltage=17.6V"))

    def shown() -> None:
        from fitter.show import identify as show

        show.card(found)

    print_answer(found, json, shown)
