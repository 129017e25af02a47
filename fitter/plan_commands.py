"""The command about several builds from one stock."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fitter.opening import open_shed, watched
from fitter.options import Asked, asked, pairs
from fitter.printing import print_answer

app = typer.Typer()
Shopping = Annotated[
    Path | None,
    typer.Option("--shopping", metavar="FILE", help="Also write what to buy, as .md, .csv or .json"),
]


@app.command("plan")
@asked
def plan_command(
    asked: Asked,
    names: Annotated[
        list[str] | None, typer.Argument(metavar="[RECIPE ...]", help="All when left out", show_default=False)
    ] = None,
    shopping: Shopping = None,
) -> None:
    """Several builds from one stock, and what to buy for all."""
    from fitter import shopping as lists
    from fitter.planning.answers import plan
    from fitter.show import planning as show

    lists.check_name(shopping)
    shed, settings = open_shed(asked), pairs(asked.settings, "--set")
    with watched(shed):
        answer = plan(shed, names or (), settings)
    if shopping is not None:
        typer.echo(lists.write(shopping, answer.shopping), err=True)
    print_answer(answer, asked.json, lambda: show.plan(answer))
