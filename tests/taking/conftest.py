"""The command line as a function, a shed to take from, and a program that knows of magnets alone."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import Any

import pytest
from magnet_stock import SHED, Run

from fitter import cli

sys.path.append(str(Path(__file__).parents[1] / "benchmarks"))


@pytest.fixture
def fitter(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """The command line: words to status, output and messages."""
    monkeypatch.setenv("FITTER_TRACEBACK", "1")

    def run(*words: Any) -> tuple[int, str, str]:
        status = cli.run([str(w) for w in words])
        out, err = capsys.readouterr()
        return status, out, err

    return run


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A copy of the repair shed."""
    return shutil.copytree(SHED, tmp_path / "shed")


@pytest.fixture
def only_magnets(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No recipe but that of :mod:`magnet_stock`, in the folder that is given."""
    monkeypatch.setattr("fitter.recipes.SHIPPED", tmp_path / "recipes")
    return tmp_path
