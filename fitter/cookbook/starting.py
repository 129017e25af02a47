"""A starting file for a recipe: functions with their arguments, explained by what they say of themselves."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from fitter.advice.data import cautions
from fitter.cookbook.models import NewRecipeAnswer
from fitter.documents import nearest, shown_path
from fitter.errors import FitterError
from fitter.functions import FUNCTIONS, Function
from fitter.functions.model import REFERENCE, Argument
from fitter.recipes import load_recipes, wrong_recipe_name
from fitter.units import QUANTITIES, parse, show

USUAL = ("linear_axis", "guide", "sense")  # where nobody says what the project must do
_FED_BY = {
    "power": "supply",
    "control": "control",
}  # what an argument of this name wants, added where missing
_SERVED_BY = {
    **_FED_BY,
    "carries": "linear_axis",
}  # what an argument of this name is joined to, where it is there
_WIDTH = 100
_SPREAD = 10.0  # a demand's limits, as a factor of its default, until somebody gives better ones
_BY_HAND = ("choice", REFERENCE)


def begin(recipe: str, functions: Sequence[str], out: Path | None = None) -> NewRecipeAnswer:
    """Write a starting file for a recipe, where there is no file yet.

    Args:
        recipe: Its name.
        functions: What it must do; a carriage on a line with a guide and an end switch when empty.
        out: The file; the name of the recipe in this folder when left out.

    Raises:
        FitterError: Not a name, one that is taken, no such function, or a file that is there already.
    """
    if wrong := wrong_recipe_name(recipe):
        raise wrong.at(field="NAME")
    if recipe in load_recipes():
        problem = f"there is a recipe {recipe!r} already, among the shipped ones"
        raise FitterError(problem, field="NAME", expected="give this one another name")
    chosen = starting_functions(functions)
    file = out or Path(f"{recipe}.yaml")
    text = starting_text(recipe, chosen)
    try:
        with file.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        remedy = "name another with --out"
        raise FitterError("there is such a file already", file=shown_path(file), expected=remedy) from None
    except OSError as error:
        problem = f"cannot be written: {error.strerror}"
        raise FitterError(problem, file=shown_path(file), expected="name another with --out") from error
    return NewRecipeAnswer(file=shown_path(file), recipe=recipe, functions=chosen)


def starting_functions(names: Sequence[str]) -> dict[str, str]:
    """The functions of a starting file by name: those asked for, and what feeds and commands them.

    Raises:
        FitterError: There is no such function.
    """
    for name in names:
        if name not in FUNCTIONS:
            raise FitterError(f"no function {name!r}", field="--function", expected=nearest(name, FUNCTIONS))
    chosen: dict[str, str] = {}
    for what in names or USUAL:
        chosen[_free(what, chosen)] = what
    for argument, what in reversed(_FED_BY.items()):  # a control wants a supply itself
        wanted = any(argument in FUNCTIONS[f].arguments for f in chosen.values())
        if wanted and what not in chosen.values():
            chosen[argument] = what
    return chosen


def _free(name: str, taken: Mapping[str, str]) -> str:
    return next(n for n in (name, *(f"{name}_{i}" for i in range(2, 99))) if n not in taken)


def starting_text(recipe: str, functions: Mapping[str, str]) -> str:
    """A recipe file with comments that says what to fill in; it works as it stands.

    Args:
        recipe: Name of the recipe.
        functions: Functions by their name in the recipe.
    """
    demands = _demands(functions)
    lines = [
        "# A recipe says what a project must do, in units; the parts follow from it.",
        "# `fitter recipe check FILE` tells what is wrong with this file,",
        f"# `fitter match {recipe} --recipes FILE` tries it.",
        f"recipe: {recipe}",
        f"title: {recipe.replace('-', ' ').capitalize()}",
        "about: >",
        "  What it is and what it is good for, in a sentence or two.",
        "difficulty: medium       # easy, medium or hard",
        "hours: 4 to 8",
        "tools: screwdrivers, soldering iron, multimeter",
        *_cautions(functions),
        "",
        "# What may be changed with --set: a default, its quantity, limits within which it makes sense.",
        "# Use each one below, alone or in arithmetic such as `payload + 0.4 kg` or `travel / 20 s`.",
        "demands:" if demands else "demands: {}",
        *(_demand(name, argument) for name, argument in demands.items()),
        "",
        "# What it must do. `fitter recipe functions` lists what there is to ask for.",
        "functions:",
    ]
    for name, what in functions.items():
        lines += _function(name, FUNCTIONS[what], functions)
    return "\n".join(lines) + "\n"


def _cautions(functions: Mapping[str, str]) -> Iterator[str]:
    yield from _note(f"Cautions shown with every answer, any of: {', '.join(cautions())}")
    moves = any(what.endswith("axis") for what in functions.values())
    yield "cautions: [pinch]" if moves else "cautions: []"


def _note(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=f"{indent}# ", subsequent_indent=f"{indent}#   ")


def _demands(functions: Mapping[str, str]) -> dict[str, Argument]:
    """What the functions cannot do without; one demand serves all that ask for the same."""
    found: dict[str, Argument] = {}
    for what in functions.values():
        for name, argument in FUNCTIONS[what].arguments.items():
            if argument.default is None and argument.quantity not in _BY_HAND:
                found.setdefault(name, argument)
    return found


def _demand(name: str, argument: Argument) -> str:
    quantity = argument.quantity
    example = QUANTITIES[quantity].example
    value = parse(example, quantity)
    least, most = (show(value * factor, quantity) for factor in (1 / _SPREAD, _SPREAD))
    limits = f'least: "{least}", most: "{most}"'
    return f'  {name}: {{value: "{example}", quantity: {quantity}, {limits}, help: "{argument.help}"}}'


def _function(name: str, function: Function, functions: Mapping[str, str]) -> Iterator[str]:
    yield f"  {name}:"
    yield f"    function: {function.name}    # {function.about}"
    if len(function.principles) > 1:
        yield from _note(f"ways to do it, all when left out: {', '.join(function.principles)}", "    ")
        yield f"    # principles: [{next(iter(function.principles))}]"
    for argument, details in function.arguments.items():
        yield _argument(argument, details, functions)


def _argument(name: str, argument: Argument, functions: Mapping[str, str]) -> str:
    note = f"# {argument.help}"
    if argument.quantity == REFERENCE:
        served = next((n for n, what in functions.items() if what == _SERVED_BY.get(name)), None)
        return f"    {name}: {served}    {note}" if served else f"    # {name}:    {note}"
    if argument.default is None:
        return f"    {name}: {name}    {note}"
    default = argument.default or "..."
    return f"    # {name}: {default}    {note}"
