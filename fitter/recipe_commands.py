"""The commands about recipes: list, show, check, begin one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fitter.opening import own_recipes
from fitter.options import Json, RecipeName, RecipePath
from fitter.printing import print_answer, print_json

EXIT_INPUT = 2
app = typer.Typer(help="Look at the recipes, check your own, begin one.")


@app.command("list")
def recipe_list(recipes: RecipePath = None, json: Json = False) -> None:
    """All recipes, yours among them."""
    from fitter.cookbook.answers import list_recipes
    from fitter.recipes import load_recipes
    from fitter.show import cookbook as show

    answer = list_recipes(load_recipes(own_recipes(recipes)))
    print_answer(answer, json, lambda: show.recipes(answer))


@app.command("show")
def recipe_show(recipe: RecipeName, recipes: RecipePath = None, json: Json = False) -> None:
    """One recipe: demands, functions, and the ways each can be done."""
    from fitter.cookbook.answers import show_recipe
    from fitter.recipes import load_recipes
    from fitter.show import cookbook as show

    answer = show_recipe(load_recipes(own_recipes(recipes)), recipe)
    print_answer(answer, json, lambda: show.recipe(answer))


@app.command("check")
def recipe_check(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Recipe files, or folders of them")],
    json: Json = False,
) -> None:
    """Whether recipe files are in order, with every error."""
    from fitter.cookbook.answers import check_recipes
    from fitter.recipes import recipe_files
    from fitter.show import cookbook as show

    answer = check_recipes([file for path in files for file in recipe_files(path)])
    print_answer(answer, json, lambda: show.checked(answer))
    if any(each.errors for each in answer.files):
        raise typer.Exit(EXIT_INPUT)


@app.command("new")
def recipe_new(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Such as roller-blind", show_default=False)],
    function: Annotated[
        list[str] | None,
        typer.Option("--function", metavar="F", help="What it must do; may be given more than once"),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Where to [default: NAME.yaml]")
    ] = None,
    json: Json = False,
) -> None:
    """Begin a recipe: a file with comments that works as it stands."""
    from fitter.cookbook.starting import begin
    from fitter.show import cookbook as show

    answer = begin(name, function or (), out)
    print_answer(answer, json, lambda: show.begun(answer))


@app.command("functions")
def recipe_functions(json: Json = False) -> None:
    """What a recipe may ask for, and the ways to do each."""
    from fitter.cookbook.answers import list_functions
    from fitter.show import cookbook as show

    answer = list_functions()
    print_answer(answer, json, lambda: show.functions(answer))


@app.command("schema")
def recipe_schema() -> None:
    """The JSON Schema of recipe files, for your editor."""
    from fitter.cookbook.schema import recipe_schema as schema

    print_json(schema())
