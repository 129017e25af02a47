"""Recipes listed, shown and checked, as models."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import networkx as nx

from fitter.checks.find import find_checks
from fitter.cookbook.diagrams import chains
from fitter.cookbook.models import (
    ArgumentAnswer,
    DemandAnswer,
    FunctionAnswer,
    FunctionLine,
    FunctionsAnswer,
    PrincipleAnswer,
    RecipeAnswer,
    RecipeCheckAnswer,
    RecipeFileAnswer,
    RecipeLine,
    RecipesAnswer,
)
from fitter.documents import nearest, shown_path
from fitter.errors import FitterError, FitterErrors
from fitter.expressions import names_in
from fitter.functions import FUNCTIONS, Function, join
from fitter.functions.model import REFERENCE
from fitter.projects import BoundFunction, Demand, Project, Recipe, bind, bind_figures
from fitter.recipes import clash, is_shipped, load_recipes, read_recipe
from fitter.units import QUANTITIES, show
from fitter.views import cautions_of

MOST_VARIANTS = 400  # looked at for what a recipe comes to
DIFFICULTIES = ("easy", "medium", "hard")


def list_recipes(recipes: Mapping[str, Recipe]) -> RecipesAnswer:
    """All recipes, one line each."""
    return RecipesAnswer(
        recipes=[
            RecipeLine(
                recipe=r.name,
                title=r.title,
                about=r.about,
                difficulty=r.difficulty,
                hours=r.hours,
                demands=list(r.demands),
                file=_own_file(r),
            )
            for r in recipes.values()
        ]
    )


def _own_file(recipe: Recipe) -> str:
    return "" if is_shipped(recipe) else recipe.file


# ---------------------------------------------------------------- one recipe


def show_recipe(recipes: Mapping[str, Recipe], name: str) -> RecipeAnswer:
    """One recipe in full.

    Raises:
        FitterError: Unknown recipe.
    """
    recipe = recipes.get(name.replace("_", "-"))
    if recipe is None:
        raise FitterError(f"no recipe {name!r}", expected=nearest(name, recipes))
    project = bind(recipe)
    return RecipeAnswer(
        recipe=recipe.name,
        title=recipe.title,
        about=recipe.about,
        difficulty=recipe.difficulty,
        hours=recipe.hours,
        tools=recipe.tools,
        file=_own_file(recipe),
        demands=[_demand(recipe, d) for d in recipe.demands.values()],
        functions=[_function(recipe, f) for f in project.functions],
        cautions=cautions_of(recipe, []),
    )


def _demand(recipe: Recipe, demand: Demand) -> DemandAnswer:
    return DemandAnswer(
        name=demand.name,
        value=demand.value,
        least=demand.least if math.isfinite(demand.least) else None,
        most=demand.most if math.isfinite(demand.most) else None,
        unit=QUANTITIES[demand.quantity].unit,
        quantity=demand.quantity,
        help=demand.help,
        sets=[
            f"{use.name}.{argument}"
            for use in recipe.functions.values()
            for argument, written in use.arguments.items()
            if demand.name in names_in(written.text)
        ],
    )


def _function(recipe: Recipe, bound: BoundFunction) -> FunctionAnswer:
    ways = []
    for principle in bound.principles:
        drawn = principle.sketch(bound.name, bound.arguments)
        roles = [data["role"].about for data in drawn.roles.values()]
        ways.append(
            PrincipleAnswer(name=principle.name, about=principle.about, roles=roles, diagram=chains(drawn))
        )
    return FunctionAnswer(name=bound.name, about=recipe.functions[bound.name].function.about, principles=ways)


def list_functions() -> FunctionsAnswer:
    """All functions a recipe may ask for."""
    return FunctionsAnswer(functions=[_function_line(f) for f in FUNCTIONS.values()])


def _function_line(function: Function) -> FunctionLine:
    arguments = [
        ArgumentAnswer(
            name=name,
            quantity=a.quantity,
            default="" if a.default is None and a.quantity == REFERENCE else a.default,
            help=a.help,
        )
        for name, a in function.arguments.items()
    ]
    ways = {p.name: p.about for p in function.principles.values()}
    return FunctionLine(name=function.name, about=function.about, arguments=arguments, principles=ways)


# ---------------------------------------------------------------- files checked


def check_recipes(files: Sequence[Path]) -> RecipeCheckAnswer:
    """Recipe files read and worked out in every way; what is wrong with each, and what could be better."""
    return RecipeCheckAnswer(files=[_checked(file) for file in files])


def _checked(file: Path) -> RecipeFileAnswer:
    answer = RecipeFileAnswer(file=shown_path(file), recipe="", errors=[], advice=[])
    try:
        recipe = read_recipe(file)
    except FitterErrors as several:
        return answer.model_copy(update={"errors": [str(e) for e in several.errors]})
    except FitterError as error:
        return answer.model_copy(update={"errors": [str(error)]})
    errors = [*_clashes(recipe), *_at_the_ends(recipe)]
    graphs = list(itertools.islice(_graphs(bind(recipe)), MOST_VARIANTS)) if not errors else []
    roles = [[n for n, data in graph.nodes(data=True) if "role" in data] for graph in graphs] or [[]]
    checks = [find_checks(graph) for graph in graphs] or [[]]
    joins = {name for name, use in recipe.functions.items() if _can_join(use.function)}
    loose = sorted({n for g in graphs if len(g) > 1 for n in nx.isolates(g) if n.partition(".")[0] in joins})
    return RecipeFileAnswer(
        file=answer.file,
        recipe=recipe.name,
        errors=[str(e) for e in errors],
        advice=[
            *_advice(recipe),
            *(f"{role} is joined to nothing: name the function it serves" for role in loose),
        ],
        variants=math.prod(len(use.principles) for use in recipe.functions.values()),
        roles=(min(map(len, roles)), max(map(len, roles))),
        checks=(min(map(len, checks)), max(map(len, checks))),
    )


def _can_join(function: Function) -> bool:
    """Whether a function can name another; a case or a bearing stands by itself."""
    return any(a.quantity == REFERENCE for a in function.arguments.values())


def _clashes(recipe: Recipe) -> Iterator[FitterError]:
    """A name that a shipped recipe has already."""
    first = load_recipes(skipped=[]).get(recipe.name)
    if first is not None and not is_shipped(recipe):
        yield clash(recipe, first)


def _at_the_ends(recipe: Recipe) -> Iterator[FitterError]:
    """What cannot be worked out with a demand at its least or its most, or with all of them there."""
    ends = [{d.name: end} for d in recipe.demands.values() for end in (d.least, d.most) if math.isfinite(end)]
    all_least, all_most = (
        {d.name: getattr(d, end) for d in recipe.demands.values()} for end in ("least", "most")
    )
    told = set()
    for figures in (*ends, all_least, all_most):
        if not all(map(math.isfinite, figures.values())):
            continue
        try:
            bind_figures(recipe, figures)
        except FitterError as error:
            if (error.field, error.problem) not in told:
                told.add((error.field, error.problem))
                problem = f"{error.problem}, with {_shown(recipe, figures)}"
                yield FitterError(
                    problem, expected=error.expected, file=recipe.file, line=error.line, field=error.field
                )


def _shown(recipe: Recipe, figures: Mapping[str, float]) -> str:
    return ", ".join(
        f"{name} = {show(value, recipe.demands[name].quantity)}" for name, value in figures.items()
    )


def _graphs(project: Project) -> Iterator[nx.DiGraph[str]]:
    """The component graphs of all variants."""
    for chosen in itertools.product(*(f.principles for f in project.functions)):
        pairs = zip(project.functions, chosen, strict=True)
        yield join({bound.name: way.sketch(bound.name, bound.arguments) for bound, way in pairs})


def _advice(recipe: Recipe) -> Iterator[str]:
    """What makers ask of a recipe and this one does not say."""
    for name in ("about", "hours", "tools"):
        if not getattr(recipe, name):
            yield f"say `{name}: ...`"
    if recipe.title == recipe.name:
        yield "say `title: ...`"
    if recipe.difficulty not in DIFFICULTIES:
        yield f"say `difficulty: ...`, one of {', '.join(DIFFICULTIES)}"
    for demand in recipe.demands.values():
        if not demand.help:
            yield f"demands.{demand.name}: say in `help` what it is"
        if not (math.isfinite(demand.least) and math.isfinite(demand.most)):
            yield f"demands.{demand.name}: give `least` and `most`, within which the recipe makes sense"
    moves = any(use.function.name.endswith("axis") for use in recipe.functions.values())
    if moves and "pinch" not in recipe.cautions:
        yield "it moves something: add `pinch` to `cautions`, unless no finger can get between"
