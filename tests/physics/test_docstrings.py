"""Walks every public formula: documented arguments, a source, an example that runs, no strange imports."""

from __future__ import annotations

import ast
import doctest
import functools
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pint
import pytest

from fitter import physics

FOLDER = Path(physics.__file__).parent
MODULES = [
    importlib.import_module(f"fitter.physics.{found.name}")
    for found in pkgutil.iter_modules(physics.__path__)
    if not found.name.startswith("_")
]
FUNCTIONS = [
    function
    for module in MODULES
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if not name.startswith("_") and function.__module__ == module.__name__
]
SECTIONS = ("Args", "Returns", "Raises", "Range", "Source", "Example")
MAY_IMPORT = {"__future__", "collections", "enum", "fitter", "math", "numpy", "re", "types", "typing"}


def sections(function: Callable[..., Any]) -> dict[str, str]:
    """Text of each section of a docstring; the part before the first one under an empty name."""
    parts = re.split(rf"^({'|'.join(SECTIONS)}):$", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return {"": parts[0]} | dict(zip(parts[1::2], parts[2::2], strict=True))


def name_of(function: Callable[..., Any]) -> str:
    return f"{function.__module__.split('.')[-1]}.{function.__name__}"


def test_walk_finds_the_package() -> None:
    names = {module.__name__.split(".")[-1] for module in MODULES}
    assert names >= {"stepper", "dc_motor", "gears", "screws", "belts", "motion", "beams", "bearings", "fits"}
    assert len(FUNCTIONS) > 100


@pytest.mark.parametrize("module", MODULES, ids=lambda m: m.__name__.split(".")[-1])
def test_module_says_what_it_is(module: ModuleType) -> None:
    assert module.__doc__
    for _, kind in inspect.getmembers(module, inspect.isclass):
        if kind.__module__ == module.__name__:
            assert kind.__doc__, kind.__name__


@pytest.mark.parametrize("function", FUNCTIONS, ids=name_of)
def test_docstring_is_complete(function: Callable[..., Any]) -> None:
    found = sections(function)
    purpose = found[""].strip().splitlines()
    assert purpose, "one line of purpose"
    assert purpose[0].rstrip().endswith((".", ":", ";")) or len(purpose) > 1
    assert found.get("Returns", "").strip(), "what comes back, with its unit"
    assert found.get("Source", "").strip(), "source, or 'common practice, no source', or 'from memory'"
    assert ">>>" in found.get("Example", ""), "an example that can be checked by hand"


@pytest.mark.parametrize("function", FUNCTIONS, ids=name_of)
def test_every_argument_is_documented(function: Callable[..., Any]) -> None:
    described = re.findall(r"^    (\w+): \S", sections(function).get("Args", ""), flags=re.MULTILINE)
    assert described == list(inspect.signature(function).parameters)


SYMBOL = r"(?:kg|rad|ohm|Hz|Pa|m|s|A|V|W|N|K|J|F|H|T|1)"
UNIT = re.compile(rf"{SYMBOL}(?:\^\d)?(?:[ /]\(?{SYMBOL}(?:\^\d)?\)?)*")
# Plain numbers, by the name of the argument or the words that describe it.
PLAIN = re.compile(
    r"ratio|coefficient|teeth|pole pairs|steps|pulses|in parallel|in series|how many|threads of|number"
    r"|exponent|turns|part of|share|Peukert|from :data:|of the current sense|side by side|rollers"
    r"|of the (other |driv\w+ )?(pulley|gear|pinion)|of each pulley|of this pulley|of one (pulley|gear)"
    r"|over rated voltage|over that|up to frame|steepness|of the pinion|hot over cold|efficiency|supplies"
)
WORDS = ("str", "bool", "Mapping", "Family", "Levels", "Move")  # arguments that are no quantity
SI = {
    "voltage": "V", "current": "A", "resistance": "ohm", "inductance": "H", "capacitance": "F",
    "torque": "N m", "length": "m", "diameter": "m", "inertia": "kg m^2", "mass": "kg", "frequency": "Hz",
    "temperature": "K", "density": "kg/m^3", "modulus": "Pa", "energy": "J", "time": "s", "angle": "rad",
}  # fmt: skip


def described(function: Callable[..., Any]) -> dict[str, str]:
    """What is said of each argument."""
    text = sections(function).get("Args", "")
    found = re.findall(r"^ {4}(\w+): (.*(?:\n {8,}.*)*)", text, flags=re.MULTILINE)
    return {name: re.sub(r"\s+", " ", words) for name, words in found}


def units_in(words: str) -> list[str]:
    """The pieces between commas, semicolons and brackets that are units."""
    pieces = [piece.strip(" .") for piece in re.split(r"[,;:]| \(", words)]
    pieces = [piece if "(" in piece else piece.rstrip(")") for piece in pieces]
    pieces += [piece.removeprefix("l ").split(" above")[0] for piece in pieces]
    return [p for p in dict.fromkeys(pieces) if UNIT.fullmatch(p)]


@functools.cache
def registry() -> Any:
    """The units library, as a judge of spellings."""
    return pint.UnitRegistry()


@pytest.mark.parametrize("function", FUNCTIONS, ids=name_of)
def test_units_of_arguments_parse_and_are_coherent(function: Callable[..., Any]) -> None:
    """Every number is in SI without a prefix, or is said to be a plain number; judged by pint."""
    hints = inspect.get_annotations(function)
    for name, words in described(function).items():
        if any(word in str(hints[name]) for word in WORDS):
            continue
        units = units_in(words)
        assert units or PLAIN.search(f"{name}: {words}"), f"{name}: {words}"
        for unit in units:
            one = registry().Quantity(1.0, unit.replace("N m", "N*m"))
            assert one.to_base_units().magnitude == pytest.approx(1.0)
            last = name.rsplit("_", 1)[-1]
            if last in SI and name != "flux_density":
                assert one.is_compatible_with(SI[last].replace("N m", "N*m")), f"{name}: {words}"


@pytest.mark.parametrize("function", FUNCTIONS, ids=name_of)
def test_refusals_are_documented(function: Callable[..., Any]) -> None:
    refuses = re.search(r"\brequire\(|\braise \w|\b_require_\w+\(", inspect.getsource(function))
    text = sections(function).get("Raises")
    if refuses or text is not None:
        assert "ValueError:" in (text or "")


@pytest.mark.parametrize("function", FUNCTIONS, ids=name_of)
def test_example_runs(function: Callable[..., Any]) -> None:
    finder, runner = doctest.DocTestFinder(recurse=False), doctest.DocTestRunner(verbose=False)
    module = importlib.import_module(function.__module__)
    for test in finder.find(function, name_of(function), globs=dict(vars(module))):
        assert test.examples
        assert runner.run(test).failed == 0


@pytest.mark.parametrize("function", FUNCTIONS, ids=name_of)
def test_types_are_given(function: Callable[..., Any]) -> None:
    signature = inspect.signature(function)
    assert signature.return_annotation is not inspect.Signature.empty
    for parameter in signature.parameters.values():
        assert parameter.annotation is not inspect.Parameter.empty, parameter.name


def imported(path: Path) -> set[str]:
    """Names of the modules that a file imports."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.py")), ids=lambda p: p.stem)
def test_physics_stands_alone(path: Path) -> None:
    for name in imported(path):
        assert name.split(".")[0] in MAY_IMPORT, name
        assert not name.startswith("fitter") or name.startswith("fitter.physics"), name
