"""The command line: a thin face over :mod:`fitter.answers`."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from fitter import __version__
from fitter.errors import FitterError

EXIT_INPUT, EXIT_FAULT = 2, 1

app = typer.Typer(
    help="What you can build from the parts you have, which of them to use, and what is missing.",
    no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None,
)
stock_app = typer.Typer(help="Look at the stock and check its files.", no_args_is_help=True)
recipe_app = typer.Typer(help="Look at the recipes and check their files.", no_args_is_help=True)
app.add_typer(stock_app, name="stock")
app.add_typer(recipe_app, name="recipe")

StockPath = Annotated[Path | None, typer.Option("--stock", help="Stock file or folder [default: FITTER_STOCK or ./stock]")]
RecipePath = Annotated[Path | None, typer.Option("--recipes", help="File or folder of your own recipes")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document")]
Sets = Annotated[list[str] | None, typer.Option("--set", metavar="NAME=VALUE", help="Change a demand, such as payload=2kg")]
SkipBad = Annotated[bool, typer.Option("--skip-bad", help="Leave out lots with errors and say which")]
Without = Annotated[list[str] | None, typer.Option("--without", metavar="LOT", help="Do not use this lot")]
With = Annotated[list[str] | None, typer.Option("--with", metavar="ROLE=LOT", help="Use this lot in this role")]


def main() -> None:
    """Run a command; bad input ends with status 2 and clear lines, a fault of ours with 1."""
    gc.set_threshold(200_000, 20, 20)  # a command lives for a second or two and leaves few cycles
    try:
        app(standalone_mode=False)
    except FitterError as error:
        _complain(str(error))
        sys.exit(EXIT_INPUT)
    except typer.Exit as done:
        sys.exit(done.exit_code)
    except (typer.Abort, KeyboardInterrupt):
        _complain("stopped")
        sys.exit(EXIT_FAULT)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except Exception as error:
        _usage_or_fault(error)


def _usage_or_fault(error: Exception) -> None:
    shown = getattr(error, "format_message", None)
    if shown is not None:
        _complain(f"{shown()}; see `fitter --help`")
        sys.exit(EXIT_INPUT)
    if os.environ.get("FITTER_TRACEBACK"):
        raise error
    _complain(f"a fault of fitter, not of your files: {type(error).__name__}: {error}")
    _complain("set FITTER_TRACEBACK=1 and run it again for the details to report")
    sys.exit(EXIT_FAULT)


def _complain(text: str) -> None:
    print(text, file=sys.stderr)


def stock_path(given: Path | None) -> Path:
    """The stock named on the command line, in the environment, or the folder ``stock``."""
    return given or Path(os.environ.get("FITTER_STOCK") or "stock")


def pairs(words: list[str] | None, option: str) -> dict[str, str]:
    """``NAME=VALUE`` words as a dict.

    Raises:
        FitterError: A word without an equals sign, or a name given twice.
    """
    found: dict[str, str] = {}
    for word in words or []:
        name, equals, value = word.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise FitterError("not NAME=VALUE", got=word, field=option, expected="such as payload=2kg")
        if name.strip() in found:
            raise FitterError(f"{name.strip()!r} is given twice", field=option)
        found[name.strip()] = value.strip()
    return found


def _shed(stock: Path | None, recipes: Path | None, skip_bad: bool, without: list[str] | None = None):  # type: ignore[no-untyped-def]
    from fitter.answers import Shed

    shed = Shed.open(stock_path(stock), recipes, skip_bad=skip_bad, without=without or ())
    for error in shed.stock.skipped:
        _complain(f"skipped: {error}")
    return shed


def _print(answer: object, as_json: bool, render: Callable[[], None]) -> None:
    if as_json:
        print(answer.model_dump_json(indent=2))  # type: ignore[attr-defined]
    else:
        render()


@app.callback(invoke_without_command=True)
def _top(version: Annotated[bool, typer.Option("--version", help="Print the version")] = False) -> None:
    if version:
        print(f"fitter {__version__}")
        raise typer.Exit


@app.command("builds")
def builds_command(
    stock: StockPath = None, recipes: RecipePath = None, json: Json = False, set_: Sets = None,
    skip_bad: SkipBad = False, without: Without = None,
) -> None:
    """What can be built now: every project and how far it is."""
    from fitter import answers

    answer = answers.builds(_shed(stock, recipes, skip_bad, without), pairs(set_, "--set"))

    def render() -> None:
        from fitter.show import terminal

        terminal.builds(answer)

    _print(answer, json, render)


@app.command("match")
def match_command(
    recipe: str, top: Annotated[int, typer.Option("--top", min=1, max=100, help="How many sets")] = 1,
    with_: With = None, without: Without = None, stock: StockPath = None, recipes: RecipePath = None,
    json: Json = False, set_: Sets = None, skip_bad: SkipBad = False,
) -> None:
    """Which of your parts for a project: the best sets, with their checks."""
    from fitter import answers

    shed = _shed(stock, recipes, skip_bad, without)
    answer = answers.match(shed, recipe, pairs(set_, "--set"), top=top, fixed=pairs(with_, "--with"))

    def render() -> None:
        from fitter.show import terminal

        terminal.match(answer)

    _print(answer, json, render)


@app.command("why")
def why_command(
    recipe: str, parts: Annotated[list[str] | None, typer.Argument(metavar="[ROLE=LOT]...")] = None,
    stock: StockPath = None, recipes: RecipePath = None, json: Json = False, set_: Sets = None,
    skip_bad: SkipBad = False, without: Without = None,
) -> None:
    """The reasons for one combination, or for a refusal: every check."""
    from fitter import answers

    shed = _shed(stock, recipes, skip_bad, without)
    answer = answers.why(shed, recipe, pairs(set_, "--set"), fixed=pairs(parts, "ROLE=LOT"))

    def render() -> None:
        from fitter.show import terminal

        terminal.why(answer)

    _print(answer, json, render)


@app.command("gaps")
def gaps_command(
    recipe: Annotated[list[str] | None, typer.Argument(metavar="[RECIPE]...")] = None,
    stock: StockPath = None, recipes: RecipePath = None, json: Json = False, set_: Sets = None,
    skip_bad: SkipBad = False, without: Without = None,
) -> None:
    """What is missing, specified so that any shop's part can be judged."""
    from fitter import answers

    shed = _shed(stock, recipes, skip_bad, without)
    settings = pairs(set_, "--set")
    found = [
        answers.gaps_of(shed, name, answers.settings_for(shed.recipe(name), settings))
        for name in recipe or list(shed.recipes)
    ]
    answer = found[0] if len(found) == 1 else answers.GapsOfSeveral(gaps=found)

    def render() -> None:
        from fitter.show import terminal

        terminal.gaps(found)

    _print(answer, json, render)


@stock_app.command("list")
def stock_list(
    stock: StockPath = None, json: Json = False, skip_bad: SkipBad = False,
    kind: Annotated[str | None, typer.Option("--kind", help="Only this kind of part")] = None,
) -> None:
    """All lots with what is known of them."""
    from fitter import answers

    answer = answers.list_stock(_load(stock, skip_bad), kind)

    def render() -> None:
        from fitter.show import terminal

        terminal.stock(answer)

    _print(answer, json, render)


def _load(stock: Path | None, skip_bad: bool):  # type: ignore[no-untyped-def]
    from fitter.stock.files import load_stock

    loaded = load_stock(stock_path(stock), skip_bad=skip_bad)
    for error in loaded.skipped:
        _complain(f"skipped: {error}")
    return loaded


@stock_app.command("check")
def stock_check(stock: StockPath = None, json: Json = False) -> None:
    """Whether the stock's files are in order; every error with its place."""
    from fitter import answers

    answer = answers.check_stock(stock_path(stock))

    def render() -> None:
        from fitter.show import terminal

        terminal.stock_check(answer)

    _print(answer, json, render)
    if answer.errors:
        raise typer.Exit(EXIT_INPUT)


@recipe_app.command("list")
def recipe_list(recipes: RecipePath = None, json: Json = False) -> None:
    """All recipes."""
    from fitter import answers
    from fitter.recipes import load_recipes

    answer = answers.list_recipes(load_recipes(recipes))

    def render() -> None:
        from fitter.show import terminal

        terminal.recipes(answer)

    _print(answer, json, render)


@recipe_app.command("show")
def recipe_show(recipe: str, recipes: RecipePath = None, json: Json = False) -> None:
    """One recipe: demands, functions, and the ways each can be done."""
    from fitter import answers
    from fitter.recipes import load_recipes

    answer = answers.show_recipe(load_recipes(recipes), recipe)

    def render() -> None:
        from fitter.show import terminal

        terminal.recipe(answer)

    _print(answer, json, render)
