"""The commands that take a stock into spreadsheets and back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fitter.opening import stock_path
from fitter.options import Json, StockPath
from fitter.printing import print_answer

EXIT_ERRORS = 2  # rows have errors, which were all reported

app = typer.Typer()


@app.command("import")
def import_command(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="CSV, XLSX or ODS, one row a lot", show_default=False)
    ],
    stock: StockPath = None,
    json: Json = False,
    into: Annotated[
        Path | None, typer.Option("--into", metavar="FILE", help="File of the stock for new lots; may be new")
    ] = None,
    write: Annotated[
        bool, typer.Option("--write/--dry-run", help="Write it, or only say what would be written")
    ] = False,
    sheet: Annotated[
        str | None,
        typer.Option("--sheet", metavar="NAME", help="Sheet of a workbook [default: first with kinds]"),
    ] = None,
    encoding: Annotated[
        str | None,
        typer.Option("--encoding", metavar="NAME", help="Of a text file [default: told by its bytes]"),
    ] = None,
    ignore: Annotated[
        list[str] | None, typer.Option("--ignore", metavar="COLUMN", help="Leave this column out")
    ] = None,
) -> None:
    """Take a spreadsheet into the stock, row by row or not at all."""
    from fitter.exchange.importing import import_sheet
    from fitter.show import exchange as show

    answer = import_sheet(
        file, stock_path(stock), into=into, ignore=ignore or (), sheet=sheet, encoding=encoding, write=write
    )
    print_answer(answer, json, lambda: show.imported(answer))
    if answer.wrong:
        raise typer.Exit(EXIT_ERRORS)


@app.command("export")
def export_command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="NAME.csv or NAME.xlsx", show_default=False)],
    stock: StockPath = None,
    json: Json = False,
) -> None:
    """Write the stock as one table, for a spreadsheet."""
    from fitter.exchange.exporting import export
    from fitter.show import exchange as show

    answer = export(stock_path(stock), file)
    print_answer(answer, json, lambda: show.exported(answer))
