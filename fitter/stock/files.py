"""Reading stock files, YAML and tables, one file or a folder of them, every error with its place.

Every error names file, line, lot and field; all errors of all files are reported together.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import NoReturn

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
    read_bytes,
    shown_path,
    yaml_of,
)
from fitter.errors import FitterError, FitterErrors
from fitter.stock import cache
from fitter.stock.entries import read_lot
from fitter.stock.figures import Figures
from fitter.stock.lots import Lot
from fitter.stock.tables import TABLES, table_of

_STOCK = (".yaml", ".yml", *TABLES)
DEEPEST_FOLDER = 30
State = list[tuple[Path, int, int, int]]  # files, each with what changes when it is written to
SET_ASIDE = "set_aside.yaml"  # in a folder; beside a single file NAME.yaml it is NAME.set_aside.yaml


@dataclass(frozen=True)
class Stock:
    """All lots of a stock, and what was wrong with those left out.

    ``figures`` has a large stock as arrays; its lots are then made one by one when asked for.
    ``set_aside`` says in words what builds hold of a lot, where that is to be shown.
    """

    lots: Sequence[Lot]
    skipped: tuple[FitterError, ...] = ()
    figures: Figures | None = None
    set_aside: Mapping[str, Sequence[str]] = field(default_factory=dict)

    @cached_property
    def places(self) -> Mapping[str, int]:
        """The place of each id among the lots."""
        ids = self.figures.table.ids if self.figures else [lot.id for lot in self.lots]
        return {lot: place for place, lot in enumerate(ids)}

    def lot(self, lot: str) -> Lot:
        """The lot of an id.

        Raises:
            KeyError: There is none.
        """
        return self.lots[self.places[lot]]


def load_stock(path: Path, *, skip_bad: bool = False) -> Stock:
    """Read a stock file, or every stock file in a folder and its folders.

    Args:
        path: File or folder; files end in ``.yaml``, ``.yml``, ``.csv`` or ``.tsv``.
        skip_bad: Leave lots with errors out instead of refusing the whole stock.

    Raises:
        FitterErrors: All that is wrong, each with file, line, lot and field.
    """
    return _loaded(stock_files(path), skip_bad)


def open_stock(path: Path, price: Callable[[Lot], float], *, skip_bad: bool = False) -> Stock:
    """A stock to be asked questions; a large one comes as arrays, from the cache when it was read before.

    Args:
        path: As :func:`load_stock`.
        price: Price new of a lot in euro, kept with the rest; it must follow from the lot and this program.
        skip_bad: As :func:`load_stock`.

    Raises:
        FitterErrors: As :func:`load_stock`. What is wrong is never kept: it is found anew each time.
    """
    files = stock_files(path)
    contents = _contents(files)
    if not contents or sum(map(len, contents)) < cache.LEAST_BYTES:
        return _loaded(files, skip_bad, contents)
    key = cache.key_of((os.fspath(f.relative_to(path)), c) for f, c in zip(files, contents, strict=True))
    names = [shown_path(file) for file in files]
    if (found := _kept(key, names)) is not None:
        return Stock(found.lots, (), found)
    from fitter.stock.tabulate import Tabulator  # only large stocks need it, and starting takes long enough

    errors: list[FitterError] = []
    tabulator = Tabulator(names, price)
    for lot, entry, file in _read(files, errors, contents):
        tabulator.add(lot, entry, file)
    if errors and not skip_bad:
        raise FitterErrors(errors)
    figures = tabulator.figures()
    if not errors and figures.lots:
        cache.keep(key, figures.parts())
    return Stock(figures.lots, tuple(errors), figures)


def _loaded(files: Sequence[Path], skip_bad: bool, contents: Sequence[bytes] = ()) -> Stock:
    """A stock with all its lots made."""
    errors: list[FitterError] = []
    lots = tuple(lot for lot, _, _ in _read(files, errors, contents))
    if errors and not skip_bad:
        raise FitterErrors(errors)
    return Stock(lots, tuple(errors))


def _contents(files: Sequence[Path]) -> list[bytes]:
    """What each file holds; nothing at all when one cannot be read, for others to complain."""
    try:
        return [read_bytes(file) for file in files]
    except FitterError:
        return []


def _kept(key: str, names: Sequence[str]) -> Figures | None:
    """A stock from the cache; none when it is not there or does not make sense."""
    parts = cache.fetch(key)
    if parts is None:
        return None
    try:
        return Figures.of_parts(*parts, names)
    except (ValueError, KeyError, TypeError):
        return None


def _read(
    files: Sequence[Path], errors: list[FitterError], contents: Sequence[bytes] = ()
) -> Iterator[tuple[Lot, Fields, int]]:
    """All good lots with their entries and the number of their file; errors are added as they are met.

    Contents that were read before are used.
    """
    seen: dict[str, tuple[int, int]] = {}
    for number, file in enumerate(files):
        try:
            content = contents[number] if contents else read_bytes(file)
        except FitterError as error:
            errors.append(error)
            continue
        for lot, entry in read_entries(content, file, errors):
            name = lot.id if lot else _id_of(entry)
            if name in seen:
                at, line = seen[name]
                first = f"{shown_path(files[at])}:{line}"
                errors.append(twice(name, first).at(file=shown_path(file), line=entry.line))
                continue
            if name:
                seen[name] = number, entry.line
            if lot:
                yield lot, entry, number


def _id_of(entry: Fields) -> str:
    """The id of an entry in which something is wrong; empty where it has none."""
    node = entry.get("id")
    return one_line(node.text) if isinstance(node, Text) else ""


def twice(lot: str, first: str) -> FitterError:
    """The error about an id that two lots have; ``first`` is the place of the first."""
    problem = f"the id {lot!r} is used twice, first in {first}"
    return FitterError(problem, expected="give every lot an id of its own", lot=lot, field="id")


def stock_files(path: Path) -> list[Path]:
    """The files that make up a stock, in order of name; hidden ones are left out.

    Raises:
        FitterError: Nothing is there, the folder has no stock file, or the system does not let anybody see.
    """
    if not is_there(path):
        remedy = "name a file or folder with --stock, or set FITTER_STOCK"
        raise FitterError("no such stock", file=shown_path(path), expected=remedy)
    if not path.is_dir():
        return [path]
    found = sorted(f for f in _files_in(path) if not _of_builds(f))
    if not found:
        remedy = "put a .yaml or .csv file of lots there"
        raise FitterError("no stock file in this folder", file=shown_path(path), expected=remedy)
    return found


def is_begun(path: Path) -> bool:
    """Whether a stock has a file yet, so that there is something to read.

    Raises:
        FitterError: The system cannot tell.
    """
    return is_there(path) and (not path.is_dir() or not all(map(_of_builds, _files_in(path))))


def state_of(path: Path) -> State:
    """Which files a stock has, and what the system tells of each that changes when it is written to."""
    try:
        files = stock_files(path)
        stats = [(file, file.stat()) for file in files]
    except (FitterError, OSError):
        return []
    return [(file, state.st_ino, state.st_size, state.st_mtime_ns) for file, state in stats]


def set_aside_files(path: Path) -> list[Path]:
    """The files that say what of a stock is set aside for builds, in order of name.

    In a folder all of them; of a single file its own and that of its folder.
    """
    if path.is_dir():
        return sorted(filter(_of_builds, _files_in(path)))
    return [f for f in (path.with_name(SET_ASIDE), set_aside_home(path)) if f.is_file()]


def set_aside_home(path: Path) -> Path:
    """The file in which builds of this stock are written down."""
    return path / SET_ASIDE if path.is_dir() else path.with_name(f"{path.stem}.{SET_ASIDE}")


def _of_builds(file: Path) -> bool:
    name = file.name.casefold()
    return name == SET_ASIDE or name.endswith(f".{SET_ASIDE}")


def _files_in(path: Path) -> Iterator[Path]:
    top = len(path.parts)
    for folder, folders, names in os.walk(path, onerror=_unreadable):
        if len(Path(folder).parts) - top > DEEPEST_FOLDER:
            problem = f"more than {DEEPEST_FOLDER} folders deep"
            raise FitterError(problem, file=shown_path(Path(folder)), expected="move its files further up")
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in names:
            if name.casefold().endswith(_STOCK) and not name.startswith("."):
                yield Path(folder) / name


def _unreadable(error: OSError) -> NoReturn:
    name = shown_path(Path(error.filename))
    raise FitterError(f"cannot be read: {error.strerror}", file=name) from error


def read_lots(content: bytes, file: Path, errors: list[FitterError]) -> list[Lot]:
    """The good lots of one file; errors are added to ``errors``."""
    return [lot for lot, _ in read_entries(content, file, errors) if lot]


def read_entries(
    content: bytes, file: Path, errors: list[FitterError]
) -> Iterator[tuple[Lot | None, Fields]]:
    """Each entry of one file with its lot, none where something is wrong with it.

    Errors are added to ``errors`` as they are met.
    """
    name = shown_path(file)
    try:
        entries = table_of(content, name) if file.suffix.casefold() in TABLES else _entries(content, name)
    except FitterErrors as several:
        errors.extend(several.errors)
        return
    except FitterError as error:
        errors.append(error)
        return
    entries.reverse()
    while entries:  # each is let go when it has been read: a large file would fill the memory twice
        entry = entries.pop()
        problems: list[FitterError] = []
        lot = read_lot(entry, name, problems)
        errors.extend(problems)
        if isinstance(entry, Fields):
            yield None if problems else lot, entry


def _entries(content: bytes, name: str) -> list[Node]:
    """The entries below ``lots:``.

    Raises:
        FitterErrors: All that is wrong at the top of the file.
    """
    document = yaml_of(content, name, "lots")
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
