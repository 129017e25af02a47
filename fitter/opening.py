"""How commands open a stock: named by an option or the environment, and what was left out of it said."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from fitter.documents import visible

if TYPE_CHECKING:
    from fitter.errors import FitterError
    from fitter.options import Asked
    from fitter.shed import Shed
    from fitter.stock.files import Stock


def stock_path(given: Path | None) -> Path:
    """The stock named on the command line, in the environment, or the folder ``stock``."""
    return given or Path(os.environ.get("FITTER_STOCK") or "stock")


def own_recipes(given: Path | None) -> Path | None:
    """The maker's recipes: named on the command line, in the environment, or the folder ``own-recipes``."""
    if given is None and (named := os.environ.get("FITTER_RECIPES")):
        return Path(named)
    folder = Path("own-recipes")
    return given or (folder if folder.is_dir() else None)


def open_shed(asked: Asked) -> Shed:
    """The stock and the recipes that a question is about.

    Raises:
        FitterErrors: What is wrong with the files.
    """
    from fitter.shed import Shed

    shed = Shed.open(
        stock_path(asked.stock),
        own_recipes(asked.recipes),
        skip_bad=asked.skip_bad,
        without=asked.without or (),
        whole=asked.whole,
    )
    if asked.limit_seconds is not None:
        shed.limit_seconds = shed.explain_seconds = asked.limit_seconds
    if asked.limit_nodes is not None:
        shed.limit_nodes = asked.limit_nodes
    _say_skipped([*shed.stock.skipped, *shed.skipped_recipes])
    _say_set_aside(shed)
    return shed


@contextmanager
def watched(shed: Shed) -> Iterator[None]:
    """Work that shows how far it is, and that an interrupt ends with what is found so far."""
    from fitter.watching import Watch

    with Watch() as shed.watcher:
        yield


@contextmanager
def watched_openings(asked: Asked) -> Iterator[Callable[[], Shed]]:
    """As :func:`watched`, for work that opens the shed itself, maybe several times."""
    from fitter.watching import Watch

    with Watch() as watcher:

        def opened() -> Shed:
            shed = open_shed(asked)
            shed.watcher = watcher
            return shed

        yield opened


def load(stock: Path | None, skip_bad: bool) -> Stock:
    """The lots alone, all of them, with what builds hold of them.

    Raises:
        FitterErrors: What is wrong with the files.
    """
    from fitter.stock.files import load_stock, set_aside_files

    path = stock_path(stock)
    loaded = load_stock(path, skip_bad=skip_bad)
    if files := set_aside_files(path):
        from fitter.stock.left import said_by_lot
        from fitter.stock.set_aside import read_all

        builds = [build for file in read_all(files) for build in file.builds]
        loaded = replace(loaded, set_aside=said_by_lot(builds))
    _say_skipped(loaded.skipped)
    return loaded


def _say_skipped(errors: Iterable[FitterError]) -> None:
    for error in errors:
        print(f"skipped: {visible(str(error))}", file=sys.stderr)


def _say_set_aside(shed: Shed) -> None:
    """One line about what the answer leaves out, and what is odd about it."""
    for line in shed.mismatches:
        print(f"set aside: {visible(line)}", file=sys.stderr)
    if shed.set_aside:
        held = ((len({part.lot for part in b.parts}), b.name) for b in shed.set_aside)
        each = [f"{count} lot{'s' * (count > 1)} for {name}" for count, name in held]
        text = f"set aside and left out: {', '.join(each)} (--with-set-aside counts them in)"
        print(visible(text), file=sys.stderr)
