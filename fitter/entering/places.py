"""Where a new lot goes: its file, and an id that no other lot has."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path

from fitter.documents import shown_path
from fitter.entering.lexicon import KindWords, kind_words
from fitter.errors import FitterError
from fitter.kinds import kind_key
from fitter.records import Record
from fitter.stock.files import Stock
from fitter.stock.tables import TABLES

_SUFFIXES = (".yaml", ".yml", *TABLES)
FIRST_FILE = "parts.yaml"


class Place(Record):
    """The file for a new lot, and in words why that one."""

    file: Path
    why: str


def free_id(of: KindWords, taken: Iterable[str]) -> str:
    """The id after the highest of such lots: one once given is not given again while any later one is there.

    >>> free_id(kind_words("stepper motor"), ["m1", "m3", "rod7", "m2b"])
    'm4'
    """
    pattern = re.compile(rf"{re.escape(of.prefix)}([0-9]{{1,9}})", re.IGNORECASE)
    numbers = [int(match[1]) for lot in taken if (match := pattern.fullmatch(lot))]
    return f"{of.prefix}{max(numbers, default=0) + 1}"


def place_for(stock: Path, named: str | None, of: KindWords, counts: Mapping[tuple[str, str], int]) -> Place:
    """The file into which a lot of a kind goes.

    Args:
        stock: File or folder of the stock; it need not be there yet.
        named: A file of the folder, where the maker names one.
        of: The words of the kind.
        counts: How many lots of each kind each file has, by file and key of the kind.

    Raises:
        FitterError: A file that cannot be part of the stock.
    """
    is_file = not stock.is_dir() and (stock.exists() or stock.suffix.casefold() in _SUFFIXES)
    if named is not None:
        return _named(stock, named, is_file)
    if is_file:
        return Place(stock, "")
    kind = kind_key(of.kind.name)
    shelf = {k for _, k in counts if kind_words(k).shelf == of.shelf}
    for kinds, why in (({kind}, f"most lots of {of.kind.name}"), (shelf, f"most {of.shelf}")):
        most = Counter[str]()
        for (file, each), count in counts.items():
            if each in kinds:
                most[file] += count
        if most:
            best = min(most, key=lambda file: (-most[file], file))
            return Place(Path(best), f"it has {why}")
    return Place(stock / FIRST_FILE, "no file has such parts yet")


def _named(stock: Path, named: str, is_file: bool) -> Place:
    folder = stock.parent if is_file else stock
    file = folder / named
    if file.suffix.casefold() not in _SUFFIXES:
        raise FitterError(
            "no stock file", field="--file", got=named, expected=f"a name in {', '.join(_SUFFIXES)}"
        )
    inside = Path(os.path.abspath(file)).is_relative_to(os.path.abspath(folder))
    if not inside or (is_file and file.resolve() != stock.resolve()):
        raise FitterError(
            "that file is not in the stock", field="--file", got=named, expected=shown_path(stock)
        )
    return Place(file, "as named")


def counts_of(stock: Stock) -> dict[tuple[str, str], int]:
    """How many lots of each kind each file of a stock has."""
    return dict(Counter((lot.file, kind_key(lot.kind)) for lot in stock.lots))


def folder_of(file: Path) -> None:
    """Make the folder of a stock that is not there yet.

    Raises:
        FitterError: It cannot be made.
    """
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        problem = f"cannot be made: {error.strerror or error}"
        raise FitterError(
            problem, file=shown_path(file.parent), expected="name another with --stock"
        ) from error
