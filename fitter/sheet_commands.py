"""The command that writes a bench sheet."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitter.documents import visible
from fitter.errors import FitterError
from fitter.opening import open_shed, stock_path, watched
from fitter.options import Asked, Order, OrderName, RecipeName, With, asked, pairs
from fitter.printing import print_json

if TYPE_CHECKING:
    from fitter.sheet.models import SheetAnswer

app = typer.Typer()
Output = Annotated[
    Path | None,
    typer.Option("--output", "-o", metavar="FILE.html", help="The page to write", show_default=False),
]
SetNumber = Annotated[
    int, typer.Option("--set-number", metavar="N", min=1, max=100, help="Which of the sets that match gives")
]


@app.command("sheet")
@asked
def sheet_command(
    asked: Asked,
    recipe: RecipeName,
    output: Output = None,
    set_number: SetNumber = 1,
    order: Order = OrderName.DIVERSE,
    with_: With = None,
) -> None:
    """One page for the bench: wiring, settings, figures, all checks."""
    from fitter.sheet.answers import sheet

    if output is None and not asked.json:
        raise FitterError(
            "no file to write", field="-o", expected=f"`fitter sheet {recipe} -o {recipe}.html`"
        )
    fixed, settings = pairs(with_, "--with", "slide.motor=m1"), pairs(asked.settings, "--set")
    shed = open_shed(asked)
    with watched(shed):
        answer = sheet(
            shed,
            recipe,
            settings,
            stock=stock_path(asked.stock),
            number=set_number,
            fixed=fixed,
            order=order.value,
        )
    if output is not None:
        _write(output, answer)
    if asked.json:
        print_json(answer.model_dump(mode="json"))


def _write(output: Path, answer: SheetAnswer) -> None:
    """Write the page, whole or not at all, and say so.

    Raises:
        FitterError: The file cannot be written.
    """
    from fitter.outputs import write_output
    from fitter.show.sheet import page

    write_output(output, page(answer), "-o")
    which = (
        f"set {answer.number}, {answer.state}" if answer.number else "the nearest set, which does not pass"
    )
    print(f"wrote {visible(str(output))}: {answer.title}, {which}", file=sys.stderr)
