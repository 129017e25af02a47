"""The commands about the stock itself: what is in it, and whether its files are in order."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fitter import import_commands
from fitter.opening import load, stock_path
from fitter.options import Json, SkipBad, StockPath
from fitter.printing import print_answer

EXIT_ERRORS = 2  # the files have errors, which were all reported

app = typer.Typer(help="Keep the stock: enter, look, check, set parts aside.")
app.add_typer(import_commands.app)


@app.command("add")
def stock_add(
    typed: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORDS]...", help="As on a bag: stepper 42x40 4 wires bin B3 x8", show_default=False
        ),
    ] = None,
    stock: StockPath = None,
    file: Annotated[
        str | None, typer.Option("--file", metavar="NAME", help="Write to this file of the stock")
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what would be written")] = False,
    ask: Annotated[bool, typer.Option("--ask", help="Ask step by step, terminal or not")] = False,
    json: Json = False,
) -> None:
    """Enter parts in one line; step by step without words."""
    from fitter.entering.add import add
    from fitter.show import entering as show

    path = stock_path(stock)
    if ask or not typed:
        from fitter.entering.prompts import guided

        shown = (lambda _: None) if json else show.added
        answer = guided(path, typed or (), file=file, dry_run=dry_run, forced=ask, show=shown)
        print_answer(answer, json, lambda: show.written(answer) if answer.written else show.added(answer))
        return
    answer = add(path, typed, file=file, dry_run=dry_run)
    print_answer(answer, json, lambda: show.added(answer))


@app.command("list")
def stock_list(
    stock: StockPath = None,
    json: Json = False,
    skip_bad: SkipBad = False,
    kind: Annotated[str | None, typer.Option("--kind", metavar="KIND", help="Only this kind of part")] = None,
    bin_: Annotated[str | None, typer.Option("--bin", metavar="BIN", help="Only from such a bin")] = None,
    donor: Annotated[
        str | None, typer.Option("--donor", metavar="MACHINE", help="Only out of such a machine")
    ] = None,
    condition: Annotated[
        str | None, typer.Option("--condition", metavar="WORD", help="Only working, untested, worn or faulty")
    ] = None,
    where: Annotated[
        list[str] | None,
        typer.Option(
            "--where", metavar="CONDITION", help='Such as "holding_torque > 0.5 N m"; all must hold'
        ),
    ] = None,
    set_aside: Annotated[
        bool | None,
        typer.Option(
            "--set-aside/--not-set-aside",
            help="Only lots of which builds hold some, or none",
            show_default=False,
        ),
    ] = None,
    sort: Annotated[
        str | None, typer.Option("--sort", metavar="NAME", help="Field or rating to sort by [default: id]")
    ] = None,
    reverse: Annotated[bool, typer.Option("--reverse", help="Greatest first")] = False,
) -> None:
    """All lots with what is known of them, or some of them."""
    from fitter import listings
    from fitter.show import stock as show
    from fitter.stock.filters import filters

    wanted = filters(kind, bin_, donor, condition, where or (), set_aside=set_aside)
    answer = listings.list_stock(load(stock, skip_bad), wanted=wanted, by=sort, reverse=reverse)
    print_answer(answer, json, lambda: show.stock(answer))


@app.command("show")
def stock_show(
    lot: Annotated[str, typer.Argument(metavar="LOT", help="Its id", show_default=False)],
    stock: StockPath = None,
    json: Json = False,
    skip_bad: SkipBad = False,
) -> None:
    """All there is to know of a lot, and what to measure next."""
    from fitter.lot_views import show_lot
    from fitter.show import stock as show

    answer = show_lot(load(stock, skip_bad), lot)
    print_answer(answer, json, lambda: show.one(answer))


@app.command("check")
def stock_check(stock: StockPath = None, json: Json = False) -> None:
    """Whether the stock's files are in order, with every error."""
    from fitter import listings
    from fitter.show import stock as show

    answer = listings.check_stock(stock_path(stock))
    print_answer(answer, json, lambda: show.stock_check(answer))
    if answer.errors:
        raise typer.Exit(EXIT_ERRORS)


@app.command("labels")
def stock_labels(
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="The page to write, .html")],
    lots: Annotated[
        list[str] | None, typer.Argument(metavar="[LOT]...", help="All when left out", show_default=False)
    ] = None,
    stock: StockPath = None,
    json: Json = False,
    skip_bad: SkipBad = False,
) -> None:
    """Labels for bags, as a page to print."""
    from fitter.labels.answers import labels
    from fitter.show import stock as show

    answer = labels(load(stock, skip_bad), output, lots)
    print_answer(answer, json, lambda: show.labels(answer))
