"""The commands about how far the stock goes: limits, uses of a lot, donor machines."""

from __future__ import annotations

from typing import Annotated

import typer

from fitter.opening import open_shed, watched
from fitter.options import Asked, RecipeName, asked, pairs
from fitter.printing import print_answer

app = typer.Typer()


@app.command("limits")
@asked
def limits_command(
    asked: Asked,
    recipe: RecipeName,
    demand: Annotated[
        str, typer.Argument(metavar="DEMAND", help="Taken as far as it goes", show_default=False)
    ],
    second: Annotated[
        str | None, typer.Argument(metavar="[DEMAND]", help="For a table beside values of another demand")
    ] = None,
) -> None:
    """How far a demand goes with the stock alone."""
    from fitter.reach.answers import limits
    from fitter.show import reach as show

    shed, settings = open_shed(asked), pairs(asked.settings, "--set")
    with watched(shed):
        answer = limits(shed, recipe, demand, second, settings)
    print_answer(answer, asked.json, lambda: show.limits(answer))


@app.command("uses")
@asked
def uses_command(
    asked: Asked,
    lot: Annotated[
        str | None, typer.Argument(metavar="[LOT]", help="Id of a lot; what to pass on when left out")
    ] = None,
) -> None:
    """What a part is good for; without one, what no project needs."""
    from fitter.reach.pass_on import pass_on
    from fitter.reach.uses import uses
    from fitter.show import reach as show

    shed, settings = open_shed(asked), pairs(asked.settings, "--set")
    if lot is None:
        with watched(shed):
            found = pass_on(shed, settings)
        print_answer(found, asked.json, lambda: show.pass_on(found))
        return
    with watched(shed):
        answer = uses(shed, shed.lot(lot), settings)
    print_answer(answer, asked.json, lambda: show.uses(answer))


@app.command("donors")
@asked
def donors_command(
    asked: Asked,
    names: Annotated[
        list[str] | None, typer.Argument(metavar="[RECIPE ...]", help="All when left out", show_default=False)
    ] = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="MACHINE", help="What to take out of this machine")
    ] = None,
    top: Annotated[int, typer.Option("--top", metavar="N", min=1, max=100, help="How many machines")] = 5,
) -> None:
    """Which discarded machines to look for, or what to take out."""
    from fitter.reach.donors import donors, pull_list
    from fitter.show import reach as show
    from fitter.side_by_side import cores

    shed, settings = open_shed(asked), pairs(asked.settings, "--set")
    if at is not None:
        with watched(shed):
            pulls = pull_list(shed, at, names or (), settings, cores())
        print_answer(pulls, asked.json, lambda: show.pull_list(pulls))
        return
    with watched(shed):
        answer = donors(shed, names or (), settings, cores())
    print_answer(answer, asked.json, lambda: show.donors(answer, top))
