"""Recipes: what a project must do, in units, as data.

A recipe file names demands with their defaults and functions whose arguments are demands or small
arithmetic on them. :func:`load_recipes` reads the shipped recipes and a maker's own;
:func:`fitter.projects.bind` works the arithmetic out for given demands.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from fitter.advice.data import cautions
from fitter.documents import (
    Bad,
    Fields,
    Items,
    Node,
    Text,
    is_there,
    line_of,
    nearest,
    one_line,
    read_yaml,
    shown_path,
)
from fitter.errors import FitterError, FitterErrors
from fitter.expressions import CALLS, names_in
from fitter.functions import FUNCTIONS, Function, Principle, Sketch
from fitter.functions.model import Arguments
from fitter.projects import BoundFunction, Demand, FunctionUse, Project, Recipe, bind, work_out
from fitter.units import QUANTITIES, parse

__all__ = ["SHIPPED", "BoundFunction", "Project", "Recipe", "bind", "load_recipes", "read_recipe"]

_HERE = Path(__file__).parent
SHIPPED = _HERE / "recipes_data" if (_HERE / "recipes_data").is_dir() else _HERE.parent / "recipes"
_TOP = ("recipe", "title", "about", "difficulty", "hours", "tools", "cautions", "demands", "functions")
_DEMAND = ("value", "quantity", "help", "least", "most")
RECIPE_NAME = r"[a-z][a-z0-9]*(-[a-z0-9]+)*"
FUNCTION_NAME = r"[a-z][a-z0-9_]*"
_PLAIN_NAME, _NAME = re.compile(RECIPE_NAME), re.compile(FUNCTION_NAME)


# ---------------------------------------------------------------- files


def load_recipes(own: Path | None = None, *, skipped: list[FitterError] | None = None) -> dict[str, Recipe]:
    """All recipes by name: the shipped ones, and those of a file or folder of the maker's own.

    Args:
        own: The maker's file or folder.
        skipped: Takes what is wrong, where files with errors are to be left out.

    Raises:
        FitterErrors: All that is wrong in any file, and names that are used twice.
    """
    errors: list[FitterError] = []
    found: dict[str, Recipe] = {}
    for file in [*recipe_files(SHIPPED), *(recipe_files(own) if own else [])]:
        try:
            recipe = read_recipe(file)
        except FitterErrors as several:
            errors.extend(several.errors)
            continue
        except FitterError as error:
            errors.append(error)
            continue
        if recipe.name in found:
            errors.append(clash(recipe, found[recipe.name]))
        else:
            found[recipe.name] = recipe
    if skipped is not None:
        skipped.extend(errors)
    elif errors:
        raise FitterErrors(errors)
    return dict(sorted(found.items()))


def is_shipped(recipe: Recipe) -> bool:
    """Whether a recipe came with the program."""
    return Path(recipe.file).resolve().parent == SHIPPED.resolve()


def clash(recipe: Recipe, first: Recipe) -> FitterError:
    """What is said of a recipe whose name another has already."""
    where = "among the shipped ones" if is_shipped(first) else f"in {first.file}"
    return FitterError(
        f"there is a recipe {recipe.name!r} already, {where}",
        expected="give this one another name",
        file=recipe.file,
        field="recipe",
    )


def recipe_files(path: Path) -> list[Path]:
    """The recipe files of a folder by name; a file itself.

    Raises:
        FitterError: There is nothing there, or it cannot be read.
    """
    if not is_there(path):
        remedy = "name a file or folder with --recipes"
        raise FitterError("no such recipes", file=shown_path(path), expected=remedy)
    if not path.is_dir():
        return [path]
    try:
        found = sorted(p for p in path.iterdir() if p.suffix in (".yaml", ".yml") and p.name[0] != ".")
    except OSError as error:
        raise FitterError(f"cannot be read: {error.strerror}", file=shown_path(path)) from error
    if not found:
        raise FitterError(
            "no recipe in this folder", file=shown_path(path), expected="put a .yaml file there"
        )
    return found


def read_recipe(file: Path) -> Recipe:
    """One recipe file, fully checked: names, units, arguments and references.

    Raises:
        FitterErrors: All that is wrong, each with file, line and field.
    """
    document = read_yaml(file, "recipe")
    name = shown_path(file)
    if not isinstance(document, Fields) or "recipe" not in document:
        problem = document.error.problem if isinstance(document, Bad) else "no `recipe:` at the top"
        remedy = "start the file with `recipe: name`"
        raise FitterError(problem, file=name, line=line_of(document), expected=remedy)
    reader = _Reader(document, name)
    recipe = reader.recipe()
    if not reader.errors:
        reader.check(recipe)
    if reader.errors:
        raise FitterErrors(reader.errors)
    return recipe


class _Reader:
    """Reads one recipe document and notes every error."""

    def __init__(self, document: Fields, file: str) -> None:
        self.document = document
        self.file = file
        self.errors: list[FitterError] = []

    def wrong(self, place: str, node: Node, error: FitterError) -> None:
        """Note an error; what is bad YAML already says so itself."""
        if isinstance(node, Bad):
            error = node.error
        self.errors.append(error.at(file=self.file, line=line_of(node), field=place))

    def text(self, name: str) -> str:
        """A plain field; empty when it is left out."""
        node = self.document.get(name)
        if isinstance(node, Text):
            return one_line(node.text)
        if node is not None:
            self.wrong(name, node, FitterError("plain text is expected", expected=f"`{name}: ...`"))
        return ""

    def recipe(self) -> Recipe:
        for name, node in self.document.items():
            if name not in _TOP:
                self.wrong(
                    name, node, FitterError(f"unknown name {name[:40]!r}", expected=nearest(name, _TOP))
                )
        name = self._name()
        return Recipe(
            name=name,
            title=self.text("title") or name,
            about=self.text("about"),
            demands={d.name: d for d in self._demands()},
            functions={f.name: f for f in self._functions()},
            cautions=self._cautions(),
            difficulty=self.text("difficulty"),
            hours=self.text("hours"),
            tools=self.text("tools"),
            file=self.file,
        )

    def _name(self) -> str:
        name = self.text("recipe")
        node = self.document["recipe"]
        if isinstance(node, Text) and (error := wrong_recipe_name(name)):
            self.wrong("recipe", node, error)
        return name

    def _cautions(self) -> tuple[str, ...]:
        node = self.document.get("cautions")
        if node is None:
            return ()
        found = []
        for word in node if isinstance(node, Items) else [node]:
            if isinstance(word, Text) and word.text in cautions():
                found.append(word.text)
            else:
                text = word.text if isinstance(word, Text) else ""
                remedy = nearest(text, cautions())
                self.wrong("cautions", word, FitterError(f"unknown caution {text[:40]!r}", expected=remedy))
        return tuple(found)

    def _section(self, name: str) -> Fields:
        node = self.document.get(name)
        if isinstance(node, Fields):
            return node
        if node is not None and not (isinstance(node, Text) and not node.text):
            remedy = "indent names with their values below it"
            self.wrong(name, node, FitterError("names with values are expected", expected=remedy))
        return Fields(0)

    def _demands(self) -> Iterator[Demand]:
        for name, node in self._section("demands").items():
            place = f"demands.{name}"
            if not isinstance(node, Fields):
                remedy = "`{value: 1.5 kg, quantity: mass, help: ...}`"
                self.wrong(place, node, FitterError("not a demand", expected=remedy))
                continue
            before = len(self.errors)
            demand = self._demand(name, place, node)
            if demand is not None and len(self.errors) == before:
                yield demand

    def _demand(self, name: str, place: str, node: Fields) -> Demand | None:
        """One demand; what is wrong with it is noted."""
        if error := _wrong_name(name):
            self.wrong(place, node, error)
        given = self._demand_fields(place, node)
        quantity = given.get("quantity", "")
        if quantity not in QUANTITIES:
            error = FitterError(f"unknown quantity {quantity[:40]!r}", expected=nearest(quantity, QUANTITIES))
            self.wrong(f"{place}.quantity", node.get("quantity", node), error)
            return None
        if not given.get("value"):
            remedy = f"give a default such as `value: {QUANTITIES[quantity].example}`"
            self.wrong(place, node, FitterError("no value", expected=remedy))
            return None
        value = self._figure(f"{place}.value", node["value"], quantity, 0.0)
        least = self._figure(f"{place}.least", node.get("least"), quantity, -math.inf)
        most = self._figure(f"{place}.most", node.get("most"), quantity, math.inf)
        demand = Demand(name, quantity, value, given["value"], one_line(given.get("help", "")), least, most)
        if not least <= value <= most:
            problem = "the default is outside what is allowed"
            error = FitterError(problem, got=demand.text, expected=demand.allowed)
            self.wrong(f"{place}.value", node["value"], error)
        return demand

    def _demand_fields(self, place: str, node: Fields) -> dict[str, str]:
        """The plain fields of a demand as text."""
        for key, value in node.items():
            if key not in _DEMAND:
                error = FitterError(f"unknown name {key[:40]!r}", expected=nearest(key, _DEMAND))
                self.wrong(place, value, error)
            elif not isinstance(value, Text):
                self.wrong(f"{place}.{key}", value, FitterError("plain text is expected"))
        return {key: value.text for key, value in node.items() if isinstance(value, Text)}

    def _figure(self, place: str, node: Node | None, quantity: str, otherwise: float) -> float:
        if not isinstance(node, Text):
            return otherwise
        try:
            return parse(node.text, quantity)
        except FitterError as error:
            self.wrong(place, node, error)
            return otherwise

    def _functions(self) -> Iterator[FunctionUse]:
        section = self._section("functions")
        if not section and not self.errors:
            remedy = "known: " + ", ".join(sorted(FUNCTIONS))
            self.wrong("functions", self.document, FitterError("a recipe needs functions", expected=remedy))
        for name, node in section.items():
            use = self._function(name, node)
            if use is not None:
                yield use

    def _function(self, name: str, node: Node) -> FunctionUse | None:
        place = f"functions.{name}"
        if not isinstance(node, Fields):
            remedy = "`function: ...` and its arguments, indented below"
            self.wrong(place, node, FitterError("not a function", expected=remedy))
            return None
        if not _NAME.fullmatch(name):
            remedy = "small letters, digits and _, such as `x_guide`"
            self.wrong(place, node, FitterError("not a name for a function", expected=remedy))
        what = node.get("function", Text("", node.line))
        word = what.text if isinstance(what, Text) else ""
        if word not in FUNCTIONS:
            remedy = nearest(word, FUNCTIONS)
            self.wrong(
                f"{place}.function", what, FitterError(f"unknown function {word[:40]!r}", expected=remedy)
            )
            return None
        function = FUNCTIONS[word]
        arguments = dict(self._arguments(place, function, node))
        return FunctionUse(name, function, arguments, self._principles(place, function, node), node.line)

    def _arguments(self, place: str, function: Function, node: Fields) -> Iterator[tuple[str, Text]]:
        for key, value in node.items():
            if key in ("function", "principles"):
                continue
            if key not in function.arguments:
                problem = f"{function.name} has no argument {key[:40]!r}"
                names = [*function.arguments, "function", "principles"]
                self.wrong(f"{place}.{key}", value, FitterError(problem, expected=nearest(key, names)))
            elif not isinstance(value, Text):
                remedy = f"a value or arithmetic: {function.arguments[key].help}"
                self.wrong(f"{place}.{key}", value, FitterError("not one value", expected=remedy))
            else:
                yield key, value

    def _principles(self, place: str, function: Function, fields: Fields) -> tuple[Principle, ...]:
        node = fields.get("principles")
        if node is None or (isinstance(node, Text) and not node.text):
            return tuple(p for p in function.principles.values() if not p.lacks(fields))
        chosen = {}
        for word in node if isinstance(node, Items) else [node]:
            text = word.text if isinstance(word, Text) else ""
            if text in function.principles:
                chosen[text] = function.principles[text]
                self._lacking(f"{place}.principles", word, chosen[text].lacks(fields))
            else:
                remedy = nearest(text, function.principles)
                problem = FitterError(f"{function.name} has no principle {text[:40]!r}", expected=remedy)
                self.wrong(f"{place}.principles", word, problem)
        if not chosen and isinstance(node, Items) and not node:
            remedy = "leave `principles` out to allow all of them"
            self.wrong(f"{place}.principles", node, FitterError("no principle is left", expected=remedy))
        return tuple(chosen.values())

    def _lacking(self, place: str, word: Node, lacking: tuple[str, ...]) -> None:
        for name in lacking:
            remedy = f"`{name}: ...`, the name of another function"
            self.wrong(place, word, FitterError(f"this way needs {name!r}", expected=remedy))

    # ------------------------------------------------------------ what holds between the parts

    def check(self, recipe: Recipe) -> None:
        """Work everything out with the default demands, so that errors show when a file is read."""
        self._check_use(recipe)
        bound = {}
        for use in recipe.functions.values():
            try:
                bound[use.name] = work_out(recipe, use, {d.name: d.value for d in recipe.demands.values()})
            except FitterError as error:
                self.errors.append(error.at(file=self.file, line=use.line))
        if not self.errors:
            self._check_links(recipe, bound)

    def _check_use(self, recipe: Recipe) -> None:
        """A demand that no function uses would promise a choice that changes nothing."""
        used = {
            n for use in recipe.functions.values() for t in use.arguments.values() for n in names_in(t.text)
        }
        section = self._section("demands")
        for name in recipe.demands.keys() - used:
            problem = FitterError(
                "no function uses this demand", expected="use it in an argument, or leave it out"
            )
            self.wrong(f"demands.{name}", section[name], problem)

    def _check_links(self, recipe: Recipe, bound: Mapping[str, Arguments]) -> None:
        """Every function that another one leans on must give what that one takes from it."""
        sketches = {
            (use.name, p.name): p.sketch(use.name, bound[use.name])
            for use in recipe.functions.values()
            for p in use.principles
        }
        gives = {
            name: [sketch.terminals for (owner, _), sketch in sketches.items() if owner == name]
            for name in recipe.functions
        }
        noted = set()
        for (owner, _), sketch in sketches.items():
            for other, terminal in _taken(sketch):
                if any(terminal in terminals for terminals in gives[other]) or (owner, other) in noted:
                    continue
                noted.add((owner, other))
                self.errors.append(self._no_link(recipe.functions[owner], recipe.functions[other]))

    def _no_link(self, use: FunctionUse, other: FunctionUse) -> FitterError:
        named = next((n for n, t in use.arguments.items() if t.text == other.name), "")
        help_ = use.function.arguments[named].help if named else ""
        return FitterError(
            f"{other.name!r} is a {other.function.name}, which cannot serve here",
            expected=f"name {help_}" if help_ else "name another function",
            file=self.file,
            line=use.arguments[named].line if named else use.line,
            field=f"functions.{use.name}.{named}" if named else f"functions.{use.name}",
        )


def wrong_recipe_name(name: str) -> FitterError | None:
    """What is wrong with the name of a recipe, if anything."""
    if _PLAIN_NAME.fullmatch(name):
        return None
    remedy = "small letters, digits and single hyphens, such as `camera-slider`"
    return FitterError(f"not a name: {name[:40]!r}", expected=remedy)


def _wrong_name(name: str) -> FitterError | None:
    """What is wrong with the name of a demand, if anything: arithmetic must be able to use it."""
    if not _NAME.fullmatch(name):
        return FitterError(
            "not a name for a demand", expected="small letters, digits and _, such as `travel_x`"
        )
    if name in CALLS:
        return FitterError(f"{name!r} is a word of the arithmetic", expected="give the demand another name")
    if any(name in q.units for q in QUANTITIES.values()):
        return FitterError(f"{name!r} is a unit", expected="give the demand another name")
    return None


def _taken(sketch: Sketch) -> Iterator[tuple[str, str]]:
    """Terminals of other functions that a sketch links to."""
    for link in sketch.links:
        for end in (link.source, link.target):
            if not isinstance(end, str):
                yield end
