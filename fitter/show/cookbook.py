"""Recipes on a terminal: listed, shown, checked and begun."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fitter.show.terminal import cautions, console, indent
from fitter.units import show

if TYPE_CHECKING:
    from fitter.cookbook.models import (
        DemandAnswer,
        FunctionLine,
        FunctionsAnswer,
        NewRecipeAnswer,
        RecipeAnswer,
        RecipeCheckAnswer,
        RecipeFileAnswer,
        RecipesAnswer,
    )


def _table(*heads: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in heads:
        table.add_column(name)
    return table


def recipes(answer: RecipesAnswer) -> None:
    """All recipes, one line each."""
    table = _table("recipe", "what it is", "difficulty", "hours")
    for each in answer.recipes:
        about = f"{each.title}. {each.about}" + (f" ({each.file})" if each.file else "")
        table.add_row(each.recipe, about, each.difficulty, each.hours)
    console().print(table)


def recipe(answer: RecipeAnswer) -> None:
    """One recipe: what it is, its demands, its functions and the ways to do them."""
    out = console()
    out.print(Text.assemble((answer.title, "bold"), f"  {answer.difficulty}, {answer.hours} hours"))
    out.print(answer.about)
    if answer.tools:
        out.print(f"Tools: {answer.tools}")
    if answer.file:
        out.print(f"Yours: {answer.file}")
    out.print("\nDemands (change with --set):", style="bold")
    table = _table("name", "value", "allowed", "what it is", "sets")
    for d in answer.demands:
        table.add_row(d.name, show(d.value, d.quantity), _allowed(d), d.help, ", ".join(d.sets))
    out.print(indent(table))
    _functions(out, answer)
    cautions(out, answer.cautions)


def _allowed(demand: DemandAnswer) -> str:
    least, most = (None if v is None else show(v, demand.quantity) for v in (demand.least, demand.most))
    return f"{least or ''}..{most or ''}" if least or most else ""


def _functions(out: Console, answer: RecipeAnswer) -> None:
    out.print("\nWhat it must do, the ways to do each, and how the parts hang together:", style="bold")
    out.print(indent("[name] is another function of this recipe; `load` is what is moved"))
    for f in answer.functions:
        out.print(indent(Text.assemble("\n", (f.name, "bold"), f": {f.about}")))
        for p in f.principles:
            out.print(indent(p.name, 4))
            for chain in p.diagram:
                out.print(indent(chain, 6))


def checked(answer: RecipeCheckAnswer) -> None:
    """Recipe files checked: what is wrong, what would be better, what each comes to."""
    out = console()
    for each in answer.files:
        out.print(Text(each.file, style="bold"))
        for line in _verdict(each):
            out.print(indent(line))


def _verdict(each: RecipeFileAnswer) -> list[str]:
    if each.errors:
        return each.errors
    parts, checks = (_span(*ends) for ends in (each.roles, each.checks))
    ways = "1 way" if each.variants == 1 else f"{each.variants} ways"
    better = [f"better: {line}" for line in each.advice]
    return [f"in order: {each.recipe}, {ways} to build it, {parts} parts and {checks} checks each", *better]


def _span(low: int, high: int) -> str:
    return str(low) if low == high else f"{low} to {high}"


def begun(answer: NewRecipeAnswer) -> None:
    """A recipe file that was begun, and what to do next."""
    out = console()
    what = ", ".join(f"{name} ({f})" if name != f else name for name, f in answer.functions.items())
    out.print(f"wrote {answer.file}: {what}")
    out.print("Fill in what it says, then:")
    out.print(indent(f"fitter recipe check {answer.file}"))
    out.print(indent(f"fitter match {answer.recipe} --recipes {answer.file}"))


def functions(answer: FunctionsAnswer) -> None:
    """What a recipe may ask for."""
    out = console()
    for each in answer.functions:
        out.print(Text.assemble((each.name, "bold"), f": {each.about}"))
        out.print(indent(_arguments(each)))
        for name, about in each.principles.items():
            out.print(indent(f"way: {name}, {about}"))
        out.print()


def _arguments(function: FunctionLine) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    for a in function.arguments:
        table.add_row(a.name, a.quantity, "needed" if a.default is None else a.default, a.help)
    return table
