"""Imports run one way, downwards, so that each part can be read and changed knowing only what is below it."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import networkx as nx
import pytest

PACKAGE = Path(__file__).parents[1] / "fitter"
BASE = {"errors", "intervals", "records", "documents", "unit_tables", "units"}
PARTS = BASE | {"ratings", "kinds", "stock", "physics"}
MODEL = PARTS | {"checks", "functions", "expressions", "projects", "recipes", "advice"}
# what each module or package may import when it runs, beside itself
MAY_IMPORT: dict[str, set[str]] = {
    "errors": set(),
    "intervals": set(),
    "records": set(),
    "unit_tables": set(),
    "documents": {"errors"},
    "units": {"errors", "unit_tables"},
    "outputs": {"errors", "documents"},
    "physics": set(),
    "ratings": BASE,
    "kinds": BASE | {"ratings", "physics"},
    "stock": BASE | {"ratings", "kinds", "__init__"},
    "expressions": BASE,
    "checks": BASE | {"ratings", "kinds", "physics"},
    "functions": BASE | {"ratings", "kinds", "physics", "checks"},
    "advice": BASE | {"ratings", "kinds", "stock"},
    "bench": PARTS | {"advice"},
    "projects": BASE | {"functions", "expressions"},
    "recipes": BASE | {"functions", "expressions", "projects", "advice"},
    "solve": PARTS | {"checks", "functions", "projects", "recipes", "advice"},
    "words": BASE,
    "models": BASE,
    "shed": MODEL | {"solve"},
    "explain": MODEL | {"solve", "shed", "words", "models", "views"},
    "views": MODEL | {"solve", "models", "shed"},
    "side_by_side": BASE | {"solve"},
    "answers": MODEL | {"solve", "words", "models", "shed", "side_by_side", "views", "explain"},
    "several": MODEL | {"models", "shed", "side_by_side", "answers"},
    "listings": MODEL | {"bench", "entering", "words", "models", "views"},
    "lot_views": MODEL | {"bench", "entering", "listings", "models", "words"},
    "cookbook": MODEL | {"models", "views"},
    "comparing": MODEL | {"solve", "words", "models", "shed", "views", "answers"},
    "entering": BASE | {"ratings", "kinds", "stock", "advice", "bench", "models"},
    "measuring": MODEL | {"bench", "solve", "words", "models", "shed", "side_by_side", "views", "answers"},
    "labels": BASE | {"kinds", "stock", "words", "models", "listings", "measuring", "figures", "outputs"},
    "identify": BASE | {"kinds", "physics", "advice", "bench", "models"},
    "reach": MODEL | {"solve", "models", "shed", "side_by_side", "views"},
    "planning": MODEL | {"solve", "models", "shed", "views", "shopping", "measuring"},
    "taking": MODEL | {"solve", "models", "shed", "views", "answers"},
    "shopping": {"errors", "words", "models", "outputs"},
    "sheet": MODEL
    | {"solve", "words", "models", "shed", "views", "answers", "explain", "measuring", "figures"},
    "show": BASE | {"answers", "words", "shopping", "models", "figures"},
    "figures": {"records", "units"},
    "exchange": BASE | {"ratings", "kinds", "stock", "entering"},
    "watching": BASE | {"solve"},
    "options": {"errors"},
    "printing": set(),
    "opening": BASE | {"stock", "shed", "watching"},
    "identify_commands": {"errors", "documents", "options", "printing", "identify", "show"},
    "measure_commands": {"options", "opening", "printing", "measuring", "show", "side_by_side"},
    "reach_commands": {"options", "opening", "printing", "reach", "show", "side_by_side"},
    "import_commands": {"options", "opening", "printing", "exchange", "show"},
    "recipe_commands": {"options", "opening", "printing", "recipes", "cookbook", "show"},
    "stock_commands": {
        "import_commands",
        "labels",
        "options",
        "opening",
        "printing",
        "stock",
        "listings",
        "lot_views",
        "entering",
        "show",
    },
    "plan_commands": {"options", "opening", "printing", "planning", "shopping", "show"},
    "sheet_commands": {
        "errors",
        "documents",
        "options",
        "opening",
        "outputs",
        "printing",
        "sheet",
        "show",
    },
    "take_commands": {"errors", "options", "opening", "printing", "taking", "show"},
    "cli": MODEL
    | {
        "answers",
        "listings",
        "lot_views",
        "models",
        "shed",
        "show",
        "words",
        "watching",
        "options",
        "printing",
        "side_by_side",
        "several",
    }
    | {
        "opening",
        "comparing",
        "labels",
        "measuring",
        "measure_commands",
        "entering",
        "reach",
        "reach_commands",
        "planning",
        "plan_commands",
        "sheet",
        "sheet_commands",
        "taking",
        "take_commands",
        "stock_commands",
        "exchange",
        "shopping",
        "cookbook",
        "recipe_commands",
        "identify",
        "identify_commands",
        "__init__",
    },
    "__init__": set(),
    "__main__": {"cli"},
}
THIRD_PARTY = {
    "physics": {"numpy"},
    "checks": {"numpy", "networkx"},
    "kinds": {"numpy", "yaml"},
    "intervals": {"numpy"},
    "documents": {"yaml"},
    "ratings": {"yaml"},
    "units": {"pint"},
    "stock": {"numpy", "yaml"},
    "expressions": set(),
    "recipes": set(),
    "bench": set(),
    "words": set(),
    "functions": {"networkx"},
    "options": {"typer"},
    "cli": {"typer", "pydantic"},
    "exchange": {"openpyxl", "python_calamine", "pydantic"},
    "watching": {"rich"},
    "show": {"rich", "jinja2"},
    "sheet": {"numpy", "pydantic"},
    "figures": {"matplotlib"},
}
FILES = sorted(PACKAGE.rglob("*.py"))


def layer(module: str) -> str:
    """The top-level module or package that a dotted name of ``fitter`` belongs to."""
    return module.split(".")[1] if "." in module else "__init__"


def module_of(file: Path) -> str:
    parts = file.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 2 else parts)


def running(tree: ast.AST) -> Iterator[ast.Import | ast.ImportFrom]:
    """Imports of a module that happen when it runs, inside functions too; not those for type checkers."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            for other in node.orelse:
                yield from running(other)
        elif isinstance(node, ast.Import | ast.ImportFrom):
            yield node
        else:
            yield from running(node)


def imported(file: Path) -> Iterator[str]:
    """Dotted names that a file imports; those of ``fitter`` down to the module."""
    for node in running(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
            continue
        assert node.level == 0, f"{file.name}:{node.lineno} imports relative to itself: write the name out"
        name = node.module or ""
        for alias in node.names:
            inner = f"{name}.{alias.name}"
            yield inner if name.split(".")[0] == "fitter" and is_module(inner) else name


def is_module(name: str) -> bool:
    path = PACKAGE.parent.joinpath(*name.split("."))
    return path.with_suffix(".py").exists() or (path / "__init__.py").exists()


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(PACKAGE)))
def test_file_imports_only_what_is_below_it(file: Path) -> None:
    own = layer(module_of(file))
    assert own in MAY_IMPORT, f"say in this test what {own} may import"
    below = {layer(name) for name in imported(file) if name.split(".")[0] == "fitter"} - {own}
    assert below <= MAY_IMPORT[own]


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(PACKAGE)))
def test_file_uses_only_the_packages_of_its_layer(file: Path) -> None:
    tops = {name.split(".")[0] for name in imported(file)} - {"fitter"} - sys.stdlib_module_names
    assert tops <= THIRD_PARTY.get(layer(module_of(file)), tops)


def test_what_is_allowed_has_an_order() -> None:
    """No two layers may lean on each other, and no layer is named that does not exist."""
    allowed = nx.DiGraph([(one, other) for one, others in MAY_IMPORT.items() for other in others])
    assert nx.is_directed_acyclic_graph(allowed)
    assert {layer(module_of(file)) for file in FILES} == set(MAY_IMPORT)


def test_modules_do_not_import_each_other_in_circles() -> None:
    graph = nx.DiGraph()
    for file in FILES:
        own = module_of(file)
        graph.add_edges_from(
            (own, name) for name in imported(file) if name.startswith("fitter.") and name != own
        )
    packages = {
        name for name in graph if (PACKAGE.parent.joinpath(*name.split(".")) / "__init__.py").exists()
    }
    graph.remove_nodes_from(packages)  # a package imports its modules so that they register themselves
    assert list(nx.simple_cycles(graph)) == []


def test_formulas_do_no_input_or_output() -> None:
    for file in (PACKAGE / "physics").glob("*.py"):
        names = {name.split(".")[0] for name in imported(file)}
        assert not names & {
            "os",
            "sys",
            "io",
            "pathlib",
            "json",
            "importlib",
            "subprocess",
            "pint",
            "pydantic",
        }
        calls = {
            node.func.id
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert not calls & {"open", "print", "input", "eval", "exec"}


def test_nothing_is_evaluated_from_text() -> None:
    for file in FILES:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in ("eval", "exec", "compile", "__import__"), file
