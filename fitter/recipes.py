"""Recipes: what a project must do, in units, as data.

A recipe file names demands with their defaults and functions whose arguments are demands or small
arithmetic on them. :func:`load_recipes` reads the shipped recipes and a maker's own;
:func:`bind` works the arithmetic out for given demands.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from fitter.documents import Node, Text, line_of, nearest, read_yaml
from fitter.errors import FitterError, FitterErrors
from fitter.expressions import Value, dimension_of, evaluate
from fitter.functions import FUNCTIONS, Argument, Function, Principle
from fitter.functions.model import REFERENCE, Arguments
from fitter.units import QUANTITIES, parse

_HERE = Path(__file__).parent
SHIPPED = _HERE / "recipes_data" if (_HERE / "recipes_data").is_dir() else _HERE.parent / "recipes"
_TOP = ("recipe", "title", "about", "difficulty", "hours", "tools", "cautions", "demands", "functions")
_DEMAND = ("value", "quantity", "help", "least", "most")


@dataclass(frozen=True)
class Demand:
    """One requirement that the maker may change; ``value`` is the default in SI."""

    name: str
    quantity: str
    value: float
    text: str
    help: str = ""
    least: float = float("-inf")
    most: float = float("inf")


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


def load_recipes(own: Path | None = None) -> dict[str, Recipe]:
    """All recipes by name: the shipped ones, and those of a file or folder of the maker's own.

    Raises:
        FitterErrors: All that is wrong in any file, and names that are used twice.
    """
    errors: list[FitterError] = []
    found: dict[str, Recipe] = {}
    for file in [*_files(SHIPPED), *(_files(own) if own else [])]:
        try:
            recipe = read_recipe(file)
        except FitterError as error:
            errors.append(error)
            continue
        if recipe.name in found:
            errors.append(FitterError(f"the recipe {recipe.name!r} exists already", file=str(file), field="recipe",
                                      expected="give yours another name"))
            continue
        found[recipe.name] = recipe
    if errors:
        raise FitterErrors(errors)
    return dict(sorted(found.items()))


def _files(path: Path) -> list[Path]:
    if path.is_dir():
        return sorted(p for p in path.iterdir() if p.suffix in (".yaml", ".yml") and not p.name.startswith("."))
    if not path.exists():
        raise FitterError("no such recipes", file=str(path), expected="name a file or folder with --recipes")
    return [path]


def read_recipe(file: Path) -> Recipe:
    """One recipe file, fully checked: names, units, arguments and references.

    Raises:
        FitterErrors: All that is wrong, each with file, line and field.
    """
    document = read_yaml(file, "recipe")
    if not isinstance(document, dict) or "recipe" not in document:
        raise FitterError("no `recipe:` at the top", file=str(file), expected="start the file with `recipe: name`")
    reader = _Reader(document, str(file))
    recipe = reader.recipe()
    if not reader.errors:
        reader.check_arithmetic(recipe)
    if reader.errors:
        raise FitterErrors(reader.errors)
    return recipe


class _Reader:
    """Reads one recipe document and notes every error."""

    def __init__(self, document: Mapping[str, Node], file: str) -> None:
        self.document = document
        self.file = file
        self.errors: list[FitterError] = []

    def wrong(self, field_name: str, node: Node, error: FitterError) -> None:
        self.errors.append(error.at(file=self.file, line=line_of(node), field=field_name))

    def text(self, name: str) -> str:
        node = self.document.get(name, Text("", 0))
        if isinstance(node, Text):
            return " ".join(node.text.split())
        self.wrong(name, node, FitterError("plain text is expected"))
        return ""

    def words(self, name: str) -> tuple[str, ...]:
        node = self.document.get(name)
        if node is None:
            return ()
        if isinstance(node, list) and all(isinstance(n, Text) for n in node):
            return tuple(n.text for n in node if isinstance(n, Text))
        self.wrong(name, node, FitterError("a list of words is expected", expected=f"`{name}: [one, two]`"))
        return ()

    def recipe(self) -> Recipe:
        for name, node in self.document.items():
            if name and name not in _TOP:
                self.wrong(name, node, FitterError(f"unknown name {name!r}", expected=nearest(name, _TOP)))
        demands = {d.name: d for d in self._demands()}
        functions = {f.name: f for f in self._functions()}
        if not functions and not self.errors:
            self.wrong("functions", self.document[""], FitterError(
                "a recipe needs functions", expected="known: " + ", ".join(sorted(FUNCTIONS))))
        return Recipe(
            name=self.text("recipe"), title=self.text("title") or self.text("recipe"), about=self.text("about"),
            demands=demands, functions=functions, cautions=self.words("cautions"),
            difficulty=self.text("difficulty"), hours=self.text("hours"), tools=self.text("tools"), file=self.file,
        )

    def _section(self, name: str) -> Mapping[str, Node]:
        node = self.document.get(name, {})
        if isinstance(node, dict):
            return {k: v for k, v in node.items() if k}
        self.wrong(name, node, FitterError("names with values are expected", expected="indent them below"))
        return {}

    def _demands(self) -> Iterator[Demand]:
        for name, node in self._section("demands").items():
            if not isinstance(node, dict):
                self.wrong(f"demands.{name}", node, FitterError(
                    "not a demand", expected="`{value: 1.5 kg, quantity: mass, help: ...}`"))
                continue
            try:
                yield self._demand(name, node)
            except FitterError as error:
                self.wrong(f"demands.{name}", node, error)

    def _demand(self, name: str, node: Mapping[str, Node]) -> Demand:
        values = {k: v.text for k, v in node.items() if k and isinstance(v, Text)}
        for extra in values.keys() - set(_DEMAND):
            raise FitterError(f"unknown name {extra!r}", expected=nearest(extra, _DEMAND))
        quantity = values.get("quantity", "")
        if quantity not in QUANTITIES:
            raise FitterError(f"unknown quantity {quantity!r}", expected=nearest(quantity, QUANTITIES))
        if "value" not in values:
            raise FitterError("no value", expected="give a default such as `value: 1.5 kg`")
        return Demand(
            name, quantity, parse(values["value"], quantity), values["value"], values.get("help", ""),
            parse(values["least"], quantity) if "least" in values else float("-inf"),
            parse(values["most"], quantity) if "most" in values else float("inf"),
        )

    def _functions(self) -> Iterator[FunctionUse]:
        for name, node in self._section("functions").items():
            use = self._function(name, node)
            if use is not None:
                yield use

    def _function(self, name: str, node: Node) -> FunctionUse | None:
        place = f"functions.{name}"
        what = node.get("function") if isinstance(node, dict) else None
        if not isinstance(node, dict) or not isinstance(what, Text) or what.text not in FUNCTIONS:
            word = what.text if isinstance(what, Text) else ""
            self.wrong(place, node, FitterError(f"unknown function {word!r}", expected=nearest(word, FUNCTIONS)))
            return None
        function = FUNCTIONS[what.text]
        arguments: dict[str, Text] = {}
        for key, value in node.items():
            if key in ("", "function", "principles"):
                continue
            if key not in function.arguments:
                self.wrong(f"{place}.{key}", value, FitterError(
                    f"{function.name} has no argument {key!r}", expected=nearest(key, function.arguments)))
            elif not isinstance(value, Text):
                self.wrong(f"{place}.{key}", value, FitterError("a value or arithmetic is expected"))
            else:
                arguments[key] = value
        chosen = self._principles(place, function, node.get("principles"))
        return FunctionUse(name, function, arguments, chosen, line_of(node))

    def _principles(self, place: str, function: Function, node: Node | None) -> tuple[Principle, ...]:
        if node is None:
            return tuple(function.principles.values())
        chosen = []
        for word in node if isinstance(node, list) else [node]:
            if isinstance(word, Text) and word.text in function.principles:
                chosen.append(function.principles[word.text])
            else:
                text = word.text if isinstance(word, Text) else ""
                self.wrong(f"{place}.principles", word, FitterError(
                    f"{function.name} has no principle {text!r}", expected=nearest(text, function.principles)))
        return tuple(chosen)

    def check_arithmetic(self, recipe: Recipe) -> None:
        """Work out every argument with the default demands, so that errors show when a file is read."""
        for use in recipe.functions.values():
            try:
                _arguments(recipe, use, {d.name: d.value for d in recipe.demands.values()})
            except FitterError as error:
                self.errors.append(error.at(file=self.file, line=use.line))


def bind(recipe: Recipe, settings: Mapping[str, str] | None = None) -> Project:
    """Work out a recipe for its demands, some of them changed.

    Args:
        recipe: The recipe.
        settings: New values by demand, as text with units.

    Raises:
        FitterError: Unknown demand, wrong unit, or a value outside what the recipe allows.
    """
    demands = {d.name: d.value for d in recipe.demands.values()}
    for name, text in (settings or {}).items():
        demands[name] = _setting(recipe, name, text)
    functions = tuple(
        BoundFunction(use.name, _arguments(recipe, use, demands), use.principles) for use in recipe.functions.values()
    )
    return Project(recipe, demands, functions)


def _setting(recipe: Recipe, name: str, text: str) -> float:
    demand = recipe.demands.get(name)
    if demand is None:
        raise FitterError(f"{recipe.name} has no demand {name!r}", field="--set",
                          expected=nearest(name, recipe.demands))
    try:
        value = parse(text, demand.quantity)
    except FitterError as error:
        raise error.at(field=f"--set {name}") from error
    if not demand.least <= value <= demand.most:
        raise FitterError("outside what the recipe allows", got=text, field=f"--set {name}",
                          expected=f"between {demand.least:g} and {demand.most:g} {QUANTITIES[demand.quantity].unit}")
    return value


def _arguments(recipe: Recipe, use: FunctionUse, demands: Mapping[str, float]) -> Arguments:
    names = {n: Value(v, dimension_of(recipe.demands[n].quantity)) for n, v in demands.items()}
    result: dict[str, float | str | None] = {}
    for name, argument in use.function.arguments.items():
        written = use.arguments.get(name)
        text = written.text if written else argument.default
        try:
            result[name] = _argument(recipe, argument, text, names)
        except FitterError as error:
            raise error.at(line=written.line if written else use.line, field=f"functions.{use.name}.{name}") from error
    return result


def _argument(recipe: Recipe, argument: Argument, text: str | None, names: Mapping[str, Value]) -> float | str | None:
    if argument.quantity == REFERENCE:
        if text and text not in recipe.functions:
            raise FitterError(f"no function named {text!r} in this recipe", expected=nearest(text, recipe.functions))
        return text or None
    if text is None:
        raise FitterError("this argument is needed", expected=argument.help)
    if argument.quantity == "choice":
        if text not in ("yes", "no"):
            raise FitterError(f"not yes or no: {text!r}")
        return text
    return evaluate(text, names, argument.quantity) if text else None
