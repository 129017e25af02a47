"""The commands about measuring: what to measure next, the bench card of a part, and readings recorded."""

from __future__ import annotations

from typing import Annotated

import typer

from fitter.opening import open_shed, stock_path, watched
from fitter.options import Asked, asked, pairs
from fitter.printing import print_answer

app = typer.Typer()
Lot = Annotated[str, typer.Argument(metavar="LOT", help="Id of a lot", show_default=False)]


@app.command("measure")
@asked
def measure_command(
    asked: Asked,
    lot: Annotated[
        str | None, typer.Argument(metavar="[LOT]", help="For its bench card; what to measure when left out")
    ] = None,
    top: Annotated[int, typer.Option("--top", metavar="N", min=1, max=100, help="How many")] = 8,
) -> None:
    """What to measure next; with a lot, its bench card."""
    from fitter.show import measuring as show

    shed, settings = open_shed(asked), pairs(asked.settings, "--set")
    if lot is None:
        from fitter.measuring import answers
        from fitter.side_by_side import cores

        with watched(shed):
            found = answers.measure(shed, settings, top, processes=cores())
        print_answer(found, asked.json, lambda: show.measure(found))
        return
    from fitter.measuring.card import card

    with watched(shed):
        made = card(shed, shed.lot(lot), settings)
    print_answer(made, asked.json, lambda: show.card(made))


@app.command("record")
@asked
def record_command(
    asked: Asked,
    lot: Lot,
    values: Annotated[
        list[str],
        typer.Argument(metavar="RATING=VALUE...", help="Ratings, or readings to work them out from"),
    ],
) -> None:
    """Store what was measured, and say what it moves."""
    from fitter.measuring.recording import record
    from fitter.show import measuring as show

    given = pairs(values, "RATING=VALUE", "resistance=2.1ohm")
    settings = pairs(asked.settings, "--set")
    answer = record(stock_path(asked.stock), lambda: open_shed(asked), lot, given, settings)
    print_answer(answer, asked.json, lambda: show.record(answer))
