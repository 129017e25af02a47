"""The wheel: installed in an environment of its own, outside the tree, it answers from any folder."""

from __future__ import annotations

import ast
import json
import os
import re
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = "from hatchling.build import build_wheel; import sys; print(build_wheel(sys.argv[1]))"
    subprocess.run([sys.executable, "-c", build, str(folder)], cwd=ROOT, check=True, capture_output=True)
    return next(folder.glob("*.whl"))


@pytest.fixture(scope="module")
def fitter(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The console script of a fresh environment that holds the wheel; other packages are borrowed."""
    folder = tmp_path_factory.mktemp("installed")
    venv.create(folder, with_pip=False)
    scheme = {"base": str(folder), "platbase": str(folder), "installed_base": str(folder)}
    site = Path(sysconfig.get_path("purelib", "venv", scheme))
    python = Path(sysconfig.get_path("scripts", "venv", scheme)) / "python"
    install = [sys.executable, "-m", "pip", f"--python={python}", "install", "-q", "--no-deps", "--no-index"]
    subprocess.run([*install, str(wheel)], check=True, capture_output=True)
    (site / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return python.with_name("fitter")


def alone() -> dict[str, str]:
    """The environment without anything that would make Python look elsewhere."""
    return {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "FITTER_"))}


def answer(fitter: Path, folder: Path, *words: str) -> dict[str, object]:
    done = subprocess.run(
        [fitter, *words], cwd=folder, env=alone(), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return dict(json.loads(done.stdout))


def names(directory: str, suffix: str) -> set[str]:
    return {p.stem for p in (ROOT / directory).glob(f"*{suffix}")}


def test_recipes_are_found_from_another_folder(fitter: Path, tmp_path: Path) -> None:
    listed = answer(fitter, tmp_path, "recipe", "list", "--json")["recipes"]
    assert isinstance(listed, list)
    assert {r["recipe"] for r in listed} == names("recipes", ".yaml")


def test_builds_are_answered_from_another_folder(fitter: Path, tmp_path: Path) -> None:
    shed = ROOT / "inventory_examples" / "repair_shed"
    found = answer(fitter, tmp_path, "builds", "--json", "--stock", str(shed))["builds"]
    assert isinstance(found, list)
    assert {b["recipe"] for b in found} == names("recipes", ".yaml")
    assert all(b["outcome"] == "complete" for b in found)


def test_it_is_the_installed_package_that_answered(fitter: Path, tmp_path: Path) -> None:
    script = "import fitter, pathlib; print(pathlib.Path(fitter.__file__).parent)"
    words = [fitter.with_name("python"), "-c", script]
    done = subprocess.run(words, cwd=tmp_path, env=alone(), capture_output=True, text=True, check=True)
    assert ROOT not in Path(done.stdout.strip()).parents
    assert (Path(done.stdout.strip()) / "recipes_data").is_dir()


def test_all_data_is_in_the_wheel(wheel: Path) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    data = {p.relative_to(ROOT).as_posix() for p in (ROOT / "fitter").rglob("*.yaml")}
    assert data
    assert data <= inside
    assert not {n for n in inside if n.startswith(("tests", "inventory_examples", "recipes/"))}


# ---------------------------------------------------------------- what is declared


def declared() -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return {_plain(re.split(r"[<>=!~ \[;]", d)[0]) for d in project["dependencies"]}


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def imported() -> set[str]:
    """Distributions whose modules the package imports anywhere, the standard library left out."""
    modules: set[str] = set()
    for file in (ROOT / "fitter").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                modules |= {a.name.partition(".")[0] for a in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                modules.add(node.module.partition(".")[0])
    owners = packages_distributions()
    outside = modules - sys.stdlib_module_names - {"fitter"}
    return {_plain(owners[m][0]) for m in outside}


def test_dependencies_are_those_the_package_imports() -> None:
    assert declared() == imported()
