"""Reading stock files, YAML and tables, one file or a folder of them, every error with its place.

Every error names file, line, lot and field; all errors of all files are reported together.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from fitter.documents import Bad, Fields, Items, Node, Text, line_of, nearest, read_yaml, shown_path
from fitter.errors import FitterError, FitterErrors
from fitter.stock.entries import read_lot
from fitter.stock.lots import Lot
from fitter.stock.tables import TABLES, read_table

_STOCK = (".yaml", ".yml", *TABLES)


@dataclass(frozen=True)
class Stock:
    """All lots of a stock, and what was wrong with those left out."""

    lots: tuple[Lot, ...]
    skipped: tuple[FitterError, ...] = ()


def load_stock(path: Path, *, skip_bad: bool = False) -> Stock:
    """Read a stock file, or every stock file in a folder and its folders.

    Args:
        path: File or folder; files end in ``.yaml``, ``.yml``, ``.csv`` or ``.tsv``.
        skip_bad: Leave lots with errors out instead of refusing the whole stock.

    Raises:
        FitterErrors: All that is wrong, each with file, line, lot and field.
    """
    errors: list[FitterError] = []
    lots: dict[str, Lot] = {}
    for file in stock_files(path):
        for lot in read_file(file, errors):
            if lot.id in lots:
                errors.append(_twice(lot, lots[lot.id]))
            else:
                lots[lot.id] = lot
    if errors and not skip_bad:
        raise FitterErrors(errors)
    return Stock(tuple(lots.values()), tuple(errors))


def _twice(lot: Lot, first: Lot) -> FitterError:
    return FitterError(
        f"the id {lot.id!r} is used twice, first in {first.file}:{first.line}",
        expected="give every lot an id of its own",
        file=lot.file,
        line=lot.line,
        lot=lot.id,
        field="id",
    )


def stock_files(path: Path) -> list[Path]:
    """The files that make up a stock, in order of name; hidden ones are left out.

    Raises:
        FitterError: Nothing is there, or the folder has no stock file.
    """
    if not path.is_dir():
        if not path.exists():
            remedy = "name a file or folder with --stock, or set FITTER_STOCK"
            raise FitterError("no such stock", file=shown_path(path), expected=remedy)
        return [path]
    found = sorted(_files_in(path))
    if not found:
        remedy = "put a .yaml or .csv file of lots there"
        raise FitterError("no stock file in this folder", file=shown_path(path), expected=remedy)
    return found


def _files_in(path: Path) -> Iterator[Path]:
    for folder, folders, names in os.walk(path, onerror=_unreadable):
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in names:
            if name.casefold().endswith(_STOCK) and not name.startswith("."):
                yield Path(folder) / name


def _unreadable(error: OSError) -> NoReturn:
    name = shown_path(Path(error.filename))
    raise FitterError(f"cannot be read: {error.strerror}", file=name) from error


def read_file(file: Path, errors: list[FitterError]) -> Iterator[Lot]:
    """The good lots of one file; errors are added to ``errors`` as they are met."""
    try:
        entries = read_table(file) if file.suffix.casefold() in TABLES else _entries(file)
    except FitterErrors as several:
        errors.extend(several.errors)
        return
    except FitterError as error:
        errors.append(error)
        return
    for entry in entries:
        problems: list[FitterError] = []
        lot = read_lot(entry, shown_path(file), problems)
        errors.extend(problems)
        if lot is not None and not problems:
            yield lot


def _entries(file: Path) -> list[Node]:
    """The entries below ``lots:``.

    Raises:
        FitterErrors: All that is wrong at the top of the file.
    """
    document = read_yaml(file, "lots")
    name = shown_path(file)
    if not isinstance(document, Fields) or "lots" not in document:
        error = document.error if isinstance(document, Bad) else FitterError("no `lots:` at the top")
        remedy = "start the file with `lots:` and a list of lots"
        raise FitterError(error.problem, file=name, line=line_of(document), expected=remedy)
    if wrong := [_at_top(word, node).at(file=name, line=line_of(node)) for word, node in _strange(document)]:
        raise FitterErrors(wrong)
    lots = document["lots"]
    return lots if isinstance(lots, Items) else []


def _strange(document: Fields) -> Iterator[tuple[str, Node]]:
    """What has no place at the top, or is not what it should be."""
    for word, node in document.items():
        empty = isinstance(node, Text) and not node.text
        if word != "lots" or not (isinstance(node, Items) or empty):
            yield word, node


def _at_top(word: str, node: Node) -> FitterError:
    if isinstance(node, Bad):
        return node.error
    if word == "lots":
        return FitterError("`lots:` is not a list", expected="each lot starts with `- id: ...`")
    return FitterError(f"unknown name {word[:40]!r} at the top", expected=f"{nearest(word, ['lots'])}")
