"""The commands about parts set aside for a build."""

from __future__ import annotations

from typing import Annotated

import typer

from fitter.opening import stock_path, watched_openings
from fitter.options import Asked, Json, Order, OrderName, RecipeName, StockPath, With, asked, pairs
from fitter.printing import print_answer

app = typer.Typer()
Name = Annotated[str, typer.Argument(metavar="NAME", help="Name of the build", show_default=False)]


@app.command("take")
@asked
def take_command(
    asked: Asked,
    recipe: RecipeName,
    number: Annotated[
        int, typer.Option("--set-number", metavar="N", min=1, max=100, help="Which set of `fitter match`")
    ] = 1,
    name: Annotated[
        str | None, typer.Option("--as", metavar="NAME", help="Name of the build [default: the recipe's]")
    ] = None,
    order: Order = OrderName.DIVERSE,
    with_: With = None,
) -> None:
    """Set the parts of a build aside: nothing else uses them."""
    from fitter.errors import FitterError
    from fitter.show import taking as show
    from fitter.taking.take import Wanted, take

    if asked.whole:
        remedy = "put that build back first, or leave the option out"
        raise FitterError(
            "what is set aside cannot be taken again", field="--with-set-aside", expected=remedy
        )
    fixed, settings = pairs(with_, "--with", "slide.motor=m1"), pairs(asked.settings, "--set")
    wanted = Wanted(recipe, settings, number, name, fixed, order.value)
    with watched_openings(asked) as opened:
        answer = take(stock_path(asked.stock), opened, wanted)
    print_answer(answer, asked.json, lambda: show.taken(answer))


@app.command("put-back")
def put_back_command(
    name: Name,
    faulty: Annotated[
        list[str] | None, typer.Option("--faulty", metavar="LOT", help="One piece of it broke while building")
    ] = None,
    stock: StockPath = None,
    json: Json = False,
) -> None:
    """Put the parts of a build back: they are free again."""
    from fitter.show import taking as show
    from fitter.taking.leave import put_back

    answer = put_back(stock_path(stock), name, faulty or ())
    print_answer(answer, json, lambda: show.put_back(answer))


@app.command("used-up")
def used_up_command(
    name: Name,
    roles: Annotated[
        list[str] | None, typer.Argument(metavar="[ROLE]...", help="Only these; all when left out")
    ] = None,
    stock: StockPath = None,
    json: Json = False,
) -> None:
    """Take the parts of a finished build out of the stock for good."""
    from fitter.show import taking as show
    from fitter.taking.leave import used_up

    answer = used_up(stock_path(stock), name, roles or ())
    print_answer(answer, json, lambda: show.used_up(answer))


@app.command("set-aside")
def set_aside_command(stock: StockPath = None, json: Json = False) -> None:
    """What is set aside for which build, and the history."""
    from fitter.show import taking as show
    from fitter.taking.take import set_aside

    answer = set_aside(stock_path(stock))
    print_answer(answer, json, lambda: show.set_aside(answer))
