"""A recipe as data, and the project it becomes when its demands have figures."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from fitter.documents import Text, nearest
from fitter.errors import FitterError
from fitter.expressions import Value, evaluate
from fitter.functions import Argument, Function, Principle
from fitter.functions.model import REFERENCE, Arguments
from fitter.units import parse, show


@dataclass(frozen=True)
class Demand:
    """One requirement that the maker may change; ``value`` is the default in SI."""

    name: str
    quantity: str
    value: float
    text: str
    help: str = ""
    least: float = -math.inf
    most: float = math.inf

    @property
    def allowed(self) -> str:
        """The values that the recipe allows, as text."""
        if math.isinf(self.least):
            return f"at most {show(self.most, self.quantity)}"
        if math.isinf(self.most):
            return f"at least {show(self.least, self.quantity)}"
        return f"{show(self.least, self.quantity)} to {show(self.most, self.quantity)}"


@dataclass(frozen=True)
class FunctionUse:
    """One function of a recipe with its arguments as written."""

    name: str
    function: Function
    arguments: Mapping[str, Text]
    principles: tuple[Principle, ...]
    line: int


@dataclass(frozen=True)
class Recipe:
    """A project that can be built."""

    name: str
    title: str
    about: str
    demands: Mapping[str, Demand]
    functions: Mapping[str, FunctionUse]
    cautions: tuple[str, ...] = ()
    difficulty: str = ""
    hours: str = ""
    tools: str = ""
    file: str = ""

    @property
    def ways(self) -> int:
        """How many variants there are, which tells about how long a search takes beside others."""
        return math.prod([len(f.principles) for f in self.functions.values()])


@dataclass(frozen=True)
class BoundFunction:
    """A function with its arguments worked out."""

    name: str
    arguments: Arguments
    principles: tuple[Principle, ...]


@dataclass(frozen=True)
class Project:
    """A recipe with figures for its demands, SI."""

    recipe: Recipe
    demands: Mapping[str, float]
    functions: tuple[BoundFunction, ...] = field(default=())


def bind(recipe: Recipe, settings: Mapping[str, str] | None = None) -> Project:
    """Work out a recipe for its demands, some of them changed.

    Args:
        recipe: The recipe.
        settings: New values by demand, as text with units.

    Raises:
        FitterError: Unknown demand, wrong unit, or a value outside what the recipe allows.
    """
    figures = {name: _setting(recipe, name, text) for name, text in (settings or {}).items()}
    return bind_figures(recipe, figures)


def bind_figures(recipe: Recipe, figures: Mapping[str, float]) -> Project:
    """Work out a recipe for its demands, some of them given in SI.

    Raises:
        FitterError: Arithmetic of the recipe that comes to nothing with these figures.
    """
    demands = {d.name: d.value for d in recipe.demands.values()} | dict(figures)
    try:
        functions = tuple(
            BoundFunction(use.name, work_out(recipe, use, demands), use.principles)
            for use in recipe.functions.values()
        )
    except FitterError as error:
        raise error.at(file=recipe.file) from error
    return Project(recipe, demands, functions)


def _setting(recipe: Recipe, name: str, text: str) -> float:
    demand = recipe.demands.get(name)
    if demand is None:
        problem = f"{recipe.name} has no demand {name[:40]!r}"
        raise FitterError(problem, field="--set", expected=nearest(name, recipe.demands))
    try:
        value = parse(text, demand.quantity)
    except FitterError as error:
        raise error.at(field=f"--set {name}") from error
    if not demand.least <= value <= demand.most:
        problem = "outside what the recipe allows"
        raise FitterError(problem, got=text, field=f"--set {name}", expected=demand.allowed)
    return value


def work_out(recipe: Recipe, use: FunctionUse, demands: Mapping[str, float]) -> Arguments:
    """The arguments of a function for given demands, SI.

    Raises:
        FitterError: An argument that is missing or cannot be worked out, with its line and field.
    """
    names = {n: Value.of(v, recipe.demands[n].quantity) for n, v in demands.items()}
    result: dict[str, float | str | None] = {}
    for name, argument in use.function.arguments.items():
        written = use.arguments.get(name)
        text = written.text if written else argument.default
        try:
            result[name] = _argument(recipe, argument, text, names)
        except FitterError as error:
            line = written.line if written else use.line
            raise error.at(line=line, field=f"functions.{use.name}.{name}") from error
    return result


def _argument(
    recipe: Recipe, argument: Argument, text: str | None, names: Mapping[str, Value]
) -> float | str | None:
    if argument.quantity == REFERENCE:
        if text and text not in recipe.functions:
            problem = f"no function named {text[:40]!r} in this recipe"
            raise FitterError(problem, expected=nearest(text, recipe.functions))
        return text or None
    if text is None:
        raise FitterError("this argument is needed", expected=argument.help)
    if argument.quantity == "choice":
        if text not in ("yes", "no"):
            raise FitterError(f"not yes or no: {text[:40]!r}", expected=argument.help)
        return text
    return evaluate(text, names, argument.quantity) if text else None
