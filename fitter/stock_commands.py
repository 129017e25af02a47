"""The commands about the stock itself: what is in it, and whether its files are in order."""

from __future__ import annotations

from typing import Annotated

import typer

from fitter.opening import load, stock_path
from fitter.options import Json, SkipBad, StockPath
from fitter.printing import print_answer

EXIT_ERRORS = 2  # the files have errors, which were all reported

app = typer.Typer(help="Look at the stock and check its files.")


@app.command("list")
def stock_list(
    stock: StockPath = None,
    json: Json = False,
    skip_bad: SkipBad = False,
    kind: Annotated[str | None, typer.Option("--kind", metavar="KIND", help="Only this kind of part")] = None,
) -> None:
    """All lots with what is known of them."""
    from fitter import listings
    from fitter.show import stock as show

    answer = listings.list_stock(load(stock, skip_bad), kind)
    print_answer(answer, json, lambda: show.stock(answer))


@app.command("check")
def stock_check(stock: StockPath = None, json: Json = False) -> None:
    """Whether the stock's files are in order; every error with its place."""
    from fitter import listings
    from fitter.show import stock as show

    answer = listings.check_stock(stock_path(stock))
    print_answer(answer, json, lambda: show.stock_check(answer))
    if answer.errors:
        raise typer.Exit(EXIT_ERRORS)
