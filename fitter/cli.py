"""The command line: a thin face over :mod:`fitter.answers`.

Answers go to standard output, everything else to standard error. The status is 0 when a question
was answered, whatever the answer, also where an interrupt cut the search short; 2 for bad input, 1 for
a fault of the program, and 130 when it was stopped before it had an answer.
"""

from __future__ import annotations

import contextlib
import gc
import os
import re
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fitter import (
    __version__,
    identify_commands,
    measure_commands,
    plan_commands,
    reach_commands,
    recipe_commands,
    sheet_commands,
    stock_commands,
    take_commands,
)
from fitter.documents import nearest, visible
from fitter.errors import FitterError, FitterErrors
from fitter.opening import open_shed, watched
from fitter.options import (
    Asked,
    Order,
    OrderName,
    RecipeName,
    Top,
    With,
    asked,
    pairs,
)
from fitter.printing import print_answer, print_json

if TYPE_CHECKING:
    from pydantic import BaseModel
    from rich.console import Console

    from fitter.recipes import Recipe
    from fitter.shed import Shed
    from fitter.solve.builds import Build

EXIT_FAULT, EXIT_INPUT, EXIT_STOPPED = 1, 2, 130

app = typer.Typer(
    help="What you can build from the parts you have, which of them to use, and what is missing.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
stock_commands.app.add_typer(take_commands.app)
app.add_typer(stock_commands.app, name="stock")
app.add_typer(recipe_commands.app, name="recipe")
app.add_typer(identify_commands.app, name="identify")
app.add_typer(measure_commands.app)
app.add_typer(reach_commands.app)
app.add_typer(plan_commands.app)
app.add_typer(sheet_commands.app)


# ---------------------------------------------------------------- running a command


def main() -> None:
    """Run the command of the process's arguments and end with its status.

    The process ends at once: taking down the interpreter piece by piece would be a tenth of all its time.
    A stock is many small values that stay; looking through them for circles often would be a fifth of it.
    """
    gc.set_threshold(100_000, 20, 50)
    status = run(sys.argv[1:])
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError, AttributeError):
            stream.flush()
    os._exit(status)


def run(arguments: Sequence[str]) -> int:
    """Run a command and give its status; what went wrong is said in clear lines, never by a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        status = _invoke(arguments)
        if sys.stdout is not None:
            sys.stdout.flush()
        return status
    except FitterError as error:
        _complain(error)
        return EXIT_INPUT
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return EXIT_STOPPED
    except (BrokenPipeError, SystemExit):  # rich ends the process by itself when a pipe is closed
        _leave_pipe()
        return 0
    except Exception as error:
        return _usage_or_fault(error)


@cache
def _command() -> Any:
    """All commands, put together once: whoever runs several need not wait each time."""
    return typer.main.get_command(app)


def _invoke(arguments: Sequence[str]) -> int:
    command = _command()
    try:
        with command.make_context("fitter", list(arguments)) as context:
            command.invoke(context)
    except typer.Exit as done:
        return done.exit_code
    return 0


def _leave_pipe() -> None:
    """Whoever read the output has seen enough: what is still buffered has nowhere to go."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError, AttributeError):
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115  (it stays open to the end)


def _usage_or_fault(error: Exception) -> int:
    if hasattr(error, "format_message"):  # what the parser of the command line raises
        print(visible(_usage(error)), file=sys.stderr)
        return EXIT_INPUT
    if os.environ.get("FITTER_TRACEBACK"):
        raise error
    if isinstance(error, OSError):
        print(f"cannot go on: {visible(str(error))}", file=sys.stderr)
        return EXIT_FAULT
    what = visible(f"{type(error).__name__}: {error}")
    print(f"a fault of fitter, not of your files: {what}", file=sys.stderr)
    print("set FITTER_TRACEBACK=1 and run it again for the details to report", file=sys.stderr)
    return EXIT_FAULT


def _usage(error: Any) -> str:
    """One line about a wrong command line, with the nearest right word and where help is."""
    context = getattr(error, "ctx", None)
    path = context.command_path if context else "fitter"
    message = error.format_message().strip().rstrip(".")
    commands = getattr(context.command, "commands", {}) if context else {}
    if match := re.match(r"(No such command) '(.*?)'|Missing command", message):
        known = "known: " + ", ".join(commands)
        message = (
            f"{match[1]} {match[2]!r}; {nearest(match[2], commands)}" if match[2] else f"{match[0]}; {known}"
        )
    return f"{message}; see `{path} --help`"


def _complain(error: FitterError) -> None:
    """One line an error on standard error."""
    for each in error.errors if isinstance(error, FitterErrors) else [error]:
        print(visible(str(each)), file=sys.stderr)


def _print(answer: BaseModel, as_json: bool, show: Callable[[Any], None]) -> None:
    """An answer as JSON, or by a function of the terminal's module."""

    def shown() -> None:
        from fitter.show import terminal

        show(terminal)

    print_answer(answer, as_json, shown)


@app.callback(invoke_without_command=True)
def _top(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version")] = False,
) -> None:
    if version:
        print(f"fitter {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        print(context.get_help())


# ---------------------------------------------------------------- questions


@app.command("builds")
@asked
def builds_command(
    asked: Asked,
    names: Annotated[
        list[str] | None, typer.Argument(metavar="[RECIPE ...]", help="All when left out", show_default=False)
    ] = None,
) -> None:
    """What can be built now: every project and how far it is."""
    from fitter import answers
    from fitter.side_by_side import cores

    shed, settings = open_shed(asked), pairs(asked.settings, "--set")
    with watched(shed):
        answer = answers.builds(shed, settings, names or (), processes=cores())
    _print(answer, asked.json, lambda terminal: terminal.builds(answer))


@app.command("match")
@asked
def match_command(
    asked: Asked,
    recipe: RecipeName,
    top: Top = 1,
    order: Order = OrderName.DIVERSE,
    with_: With = None,
    compare: Annotated[
        bool, typer.Option("--compare", help="All ways to do a function, or each that has several")
    ] = False,
    function: Annotated[
        str | None,
        typer.Argument(metavar="[FUNCTION]", help="With --compare: which function", show_default=False),
    ] = None,
) -> None:
    """Which of your parts for a project: best sets with their checks."""
    from fitter import answers

    if function is not None and not compare:
        raise FitterError(f"{function[:40]!r} is one word too many", expected="--compare before a function")
    fixed, settings = pairs(with_, "--with", "slide.motor=m1"), pairs(asked.settings, "--set")
    shed = open_shed(asked)
    if compare:
        _compare(asked, shed, recipe, function, settings, fixed)
        return
    with watched(shed):
        answer = answers.match(shed, recipe, settings, top=top, fixed=fixed, order=order.value)
    _print(answer, asked.json, lambda terminal: terminal.match(answer))


def _compare(
    asked: Asked,
    shed: Shed,
    recipe: str,
    function: str | None,
    settings: Mapping[str, str],
    fixed: Mapping[str, str],
) -> None:
    """All ways to do a function, side by side."""
    from fitter.comparing.answers import compare
    from fitter.show import comparing as show

    with watched(shed):
        answer = compare(shed, recipe, function, settings, fixed)
    print_answer(answer, asked.json, lambda: show.compare(answer))


@app.command("why")
@asked
def why_command(
    asked: Asked,
    recipe: RecipeName,
    parts: Annotated[
        list[str] | None, typer.Argument(metavar="[ROLE=LOT]...", help="Use this lot in this role")
    ] = None,
) -> None:
    """The reasons for one combination, or for a refusal: every check."""
    from fitter import answers

    fixed, settings = pairs(parts, "ROLE=LOT", "slide.motor=m1"), pairs(asked.settings, "--set")
    shed = open_shed(asked)
    seen: list[Build] = []
    with watched(shed):
        answer = answers.why(shed, recipe, settings, fixed=fixed, see=seen.append)
    _print(answer, asked.json, lambda terminal: terminal.why(answer, lambda out: _figures(out, seen)))


def _figures(out: Console, builds: Sequence[Build]) -> None:
    """Torque of the drives and load of the rails of what was found."""
    from fitter.sheet.drives import drives_of
    from fitter.sheet.rails import rails_of
    from fitter.show import strips

    for build in builds:
        strips.figures(out, drives_of(build), rails_of(build))


@app.command("gaps")
@asked
def gaps_command(
    asked: Asked,
    recipe: Annotated[
        list[str] | None, typer.Argument(metavar="[RECIPE]...", help="Names of recipes; all when left out")
    ] = None,
    shopping: plan_commands.Shopping = None,
) -> None:
    """What is missing, so that any shop's part can be judged."""
    from fitter import models
    from fitter import shopping as lists
    from fitter.several import gaps_of_several
    from fitter.side_by_side import cores

    lists.check_name(shopping)
    shed, settings = open_shed(asked), pairs(asked.settings, "--set")
    named = {r.name: r for r in map(shed.recipe, recipe or shed.recipes)}
    _check_demands(named, settings)
    with watched(shed):
        found = gaps_of_several(shed, named.values(), settings, processes=cores())
    if shopping is not None:
        typer.echo(lists.write(shopping, lists.of_gaps(found)), err=True)
    answer = found[0] if len(found) == 1 else models.GapsOfSeveral(gaps=found)
    _print(answer, asked.json, lambda terminal: terminal.gaps(found))


def _check_demands(recipes: Mapping[str, Recipe], settings: Mapping[str, str]) -> None:
    """Every demand that is set must be one of some recipe asked about."""
    known = {name for recipe in recipes.values() for name in recipe.demands}
    for name in settings:
        if name not in known:
            problem = f"no demand {name!r} in {', '.join(recipes)}"
            raise FitterError(problem, field="--set", expected=nearest(name, known))


@app.command("schema")
def schema_command(
    answer: Annotated[
        str | None,
        typer.Argument(metavar="[COMMAND]", help="Such as builds, match or gaps; all when left out"),
    ] = None,
) -> None:
    """The JSON Schema of what a command prints with --json."""
    models = _models()
    if answer is not None and answer not in models:
        raise FitterError(f"no JSON of {answer!r}", field="COMMAND", expected=nearest(answer, models))
    print_json(
        _schema(models[answer]) if answer else {name: _schema(model) for name, model in models.items()}
    )


def _models() -> dict[str, Any]:
    """What each command prints with --json."""
    from fitter import identify, listings, lot_views, models
    from fitter.comparing import models as comparing
    from fitter.cookbook import models as cookbook
    from fitter.entering import models as entering
    from fitter.exchange import models as exchange
    from fitter.labels import models as labels
    from fitter.measuring import models as measuring
    from fitter.planning import models as planning
    from fitter.reach import models as reach
    from fitter.sheet import models as sheet
    from fitter.taking import models as taking

    return {
        "builds": models.BuildsAnswer,
        "match": models.MatchAnswer,
        "match-compare": comparing.CompareAnswer,
        "why": models.MatchAnswer,
        "gaps": models.GapsAnswer | models.GapsOfSeveral,
        "measure": measuring.MeasureAnswer | measuring.CardAnswer,
        "record": measuring.RecordAnswer,
        "plan": planning.PlanAnswer,
        "sheet": sheet.SheetAnswer,
        "limits": reach.LimitsAnswer,
        "uses": reach.UsesAnswer | reach.PassOnsAnswer,
        "donors": reach.MachinesAnswer | reach.PullList,
        "stock-add": entering.AddAnswer,
        "stock-list": listings.StockAnswer,
        "stock-show": lot_views.LotViewAnswer,
        "stock-check": listings.StockCheckAnswer,
        "stock-labels": labels.LabelsAnswer,
        "stock-import": exchange.ImportAnswer,
        "stock-export": exchange.ExportAnswer,
        "stock-take": taking.TakenAnswer,
        "stock-put-back": taking.PutBackAnswer,
        "stock-used-up": taking.UsedUpAnswer,
        "stock-set-aside": taking.SetAsideAnswer,
        "identify-wires": identify.WiresAnswer,
        "identify-board": identify.CardAnswer,
        "identify-supply": identify.CardAnswer,
        "recipe-list": cookbook.RecipesAnswer,
        "recipe-show": cookbook.RecipeAnswer,
        "recipe-check": cookbook.RecipeCheckAnswer,
        "recipe-new": cookbook.NewRecipeAnswer,
        "recipe-functions": cookbook.FunctionsAnswer,
    }


def _schema(model: Any) -> dict[str, Any]:
    from pydantic import TypeAdapter

    found = TypeAdapter(model).json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}
