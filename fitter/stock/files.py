"""Reading stock files: YAML, one file or a folder of them, every error with its place.

Every error names file, line, lot and field; all errors of all files are reported together.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from fitter.documents import Node, Text, line_of, nearest, read_yaml
from fitter.errors import FitterError, FitterErrors
from fitter.kinds import KINDS, Kind, Spec, kind_key
from fitter.ratings import Rating, parse_choice, parse_rating, parse_window
from fitter.stock.lots import CONDITIONS, Lot
from fitter.units import parse

_WORDS = ("name", "bin", "donor", "note")
_PLAIN = ("id", "kind", "count", "condition", "price_new", "mass", *_WORDS)


@dataclass(frozen=True)
class Stock:
    """All lots of a stock, and what was wrong with those left out."""

    lots: tuple[Lot, ...]
    skipped: tuple[FitterError, ...] = ()


def load_stock(path: Path, *, skip_bad: bool = False) -> Stock:
    """Read a stock file, or every ``*.yaml`` and ``*.yml`` file in a folder and its folders.

    Args:
        path: File or folder.
        skip_bad: Leave lots with errors out instead of refusing the whole stock.

    Raises:
        FitterErrors: All that is wrong, each with file, line, lot and field.
    """
    errors: list[FitterError] = []
    lots: list[Lot] = []
    seen: dict[str, Lot] = {}
    for file in stock_files(path):
        for lot in read_file(file, errors):
            if lot.id in seen:
                first = seen[lot.id]
                errors.append(
                    FitterError(
                        f"the id {lot.id!r} is used twice, first in {first.file}:{first.line}",
                        expected="give every lot an id of its own",
                        file=lot.file, line=lot.line, lot=lot.id, field="id",
                    )
                )
                continue
            seen[lot.id] = lot
            lots.append(lot)
    if errors and not skip_bad:
        raise FitterErrors(errors)
    return Stock(tuple(lots), tuple(errors))


def stock_files(path: Path) -> list[Path]:
    """The files that make up a stock, in order of name.

    Raises:
        FitterError: Nothing is there, or the folder has no stock file.
    """
    if path.is_dir():
        found = sorted(
            Path(folder) / name
            for folder, _, names in os.walk(path)
            for name in names
            if name.endswith((".yaml", ".yml")) and not name.startswith(".")
        )
        if not found:
            raise FitterError("no stock file in this folder", file=str(path), expected="put a .yaml file of lots there")
        return found
    if not path.exists():
        raise FitterError(
            "no such stock", file=str(path),
            expected="name a file or folder with --stock, or set FITTER_STOCK",
        )
    return [path]


def read_file(file: Path, errors: list[FitterError]) -> Iterator[Lot]:
    """The good lots of one file; errors are added to ``errors`` as they are met."""
    try:
        document = read_yaml(file, "lots")
        entries = _entries(document, file)
    except FitterError as error:
        errors.append(error)
        return
    for entry in entries:
        problems: list[FitterError] = []
        lot = _read_lot(entry, str(file), problems)
        if problems:
            errors.extend(problems)
        elif lot is not None:
            yield lot


def _entries(document: Node, file: Path) -> list[Node]:
    if not isinstance(document, dict) or "lots" not in document:
        raise FitterError("no `lots:` at the top", file=str(file), line=line_of(document),
                          expected="start the file with `lots:` and a list of lots")
    extra = [k for k in document if k not in ("", "lots")]
    if extra:
        raise FitterError(f"unknown name {extra[0]!r} at the top", file=str(file), line=line_of(document[extra[0]]),
                          expected="only `lots:` stands at the top")
    lots = document["lots"]
    if isinstance(lots, Text) and lots.text == "":
        return []
    if not isinstance(lots, list):
        raise FitterError("`lots:` is not a list", file=str(file), line=line_of(lots),
                          expected="each lot starts with `- id: ...`")
    return lots


class _Reader:
    """Reads the fields of one lot and notes what is wrong with each, with its place."""

    def __init__(self, fields: Mapping[str, Node], file: str, problems: list[FitterError]) -> None:
        self.fields = fields
        self.file = file
        self.problems = problems
        self.lot = self.word("id")

    def word(self, name: str) -> str:
        node = self.fields.get(name)
        if node is None:
            return ""
        if not isinstance(node, Text):
            self.wrong(name, node, FitterError("plain text is expected"))
            return ""
        return node.text

    def wrong(self, name: str, node: Node, error: FitterError) -> None:
        self.problems.append(error.at(file=self.file, line=line_of(node), lot=self.lot_name, field=name))

    @property
    def lot_name(self) -> str:
        return getattr(self, "lot", "") or "without id"


def _read_lot(entry: Node, file: str, problems: list[FitterError]) -> Lot | None:
    if not isinstance(entry, dict):
        problems.append(FitterError("not a lot", file=file, line=line_of(entry), expected="`- id: ...` and its fields"))
        return None
    reader = _Reader(entry, file, problems)
    if not reader.lot:
        reader.wrong("id", entry[""], FitterError("no id", expected="give the lot a short id, as on its bag"))
    kind = _kind(reader, entry)
    if kind is None:
        return None
    ratings, rails = _ratings(reader, kind)
    lot = Lot(
        id=reader.lot,
        kind=kind.name,
        count=_count(reader),
        **{w: reader.word(w) for w in _WORDS},
        condition=_condition(reader),
        price_new=_price(reader),
        mass=_mass(reader),
        ratings=ratings,
        rails=tuple(rails),
        file=file,
        line=line_of(entry[""]),
    )
    if kind.rails is not None and not rails and not problems:
        reader.wrong(kind.rails_name, entry[""], FitterError(
            f"a {kind.name} needs its {kind.rails_name}",
            expected=f"`{kind.rails_name}:` and a list such as `- {{voltage: 24 V, current: 3 A}}`"))
    return lot


def _kind(reader: _Reader, entry: Mapping[str, Node]) -> Kind | None:
    word = reader.word("kind")
    if not word:
        reader.wrong("kind", entry[""], FitterError("no kind", expected="say what it is, such as `kind: stepper motor`"))
        return None
    kind = KINDS.get(kind_key(word))
    if kind is None:
        remedy = nearest(kind_key(word), [kind_key(k.name) for k in KINDS.values()])
        reader.wrong("kind", entry["kind"], FitterError(f"unknown kind {word!r}", expected=remedy))
    return kind


def _count(reader: _Reader) -> int:
    word = reader.word("count")
    if not word:
        return 1
    if not word.isascii() or not word.isdigit() or len(word) > 7:
        reader.wrong("count", reader.fields["count"], FitterError(
            "not a count of pieces", got=word[:40], expected="a whole number, 0 or more"))
        return 0
    return int(word)


def _condition(reader: _Reader) -> str:
    word = reader.word("condition").casefold() or "working"
    if word not in CONDITIONS:
        reader.wrong("condition", reader.fields["condition"], FitterError(
            f"unknown condition {word!r}", expected="one of " + ", ".join(CONDITIONS)))
    return word


def _price(reader: _Reader) -> float | None:
    word = reader.word("price_new")
    if not word:
        return None
    number = word.replace("EUR", "").replace("€", "").replace(",", ".").strip()
    try:
        price = float(number)
    except ValueError:
        price = -1.0
    if not 0 <= price < 1e6:
        reader.wrong("price_new", reader.fields["price_new"], FitterError(
            "not a price", got=word[:40], expected="write it as `8 EUR`"))
        return None
    return price


def _mass(reader: _Reader) -> float | None:
    word = reader.word("mass")
    if not word:
        return None
    try:
        return parse(word.partition(",")[0] if ", " in word else word, "mass")
    except FitterError as error:
        reader.wrong("mass", reader.fields["mass"], error)
        return None


def _ratings(reader: _Reader, kind: Kind) -> tuple[dict[str, Rating], list[dict[str, Rating]]]:
    ratings: dict[str, Rating] = {}
    rails: list[dict[str, Rating]] = []
    for name, node in reader.fields.items():
        if name in _PLAIN or name == "":
            continue
        if kind.rails is not None and name == kind.rails_name:
            rails = list(_rails(reader, kind, node))
            continue
        spec = kind.ratings.get(name)
        if spec is None:
            names = [*kind.ratings, *_PLAIN, *([kind.rails_name] if kind.rails is not None else [])]
            reader.wrong(name, node, FitterError(
                f"a {kind.name} has no rating {name!r}", expected=nearest(name, names)))
            continue
        ratings.update(_rating(reader, name, name, spec, node))
    return ratings, rails


def _rails(reader: _Reader, kind: Kind, node: Node) -> Iterator[dict[str, Rating]]:
    specs = kind.rails or {}
    if not isinstance(node, list):
        reader.wrong(kind.rails_name, node, FitterError(
            "a list is expected", expected="one `- {voltage: 24 V, current: 3 A}` a rail"))
        return
    for index, rail in enumerate(node):
        if not isinstance(rail, dict):
            reader.wrong(kind.rails_name, rail, FitterError("not a rail", expected="`{voltage: 24 V, current: 3 A}`"))
            continue
        yield _one_rail(reader, f"{kind.rails_name}[{index + 1}]", specs, rail)


def _one_rail(reader: _Reader, place: str, specs: Mapping[str, Spec], rail: Mapping[str, Node]) -> dict[str, Rating]:
    found: dict[str, Rating] = {}
    for name, node in rail.items():
        if name == "":
            continue
        if name not in specs:
            reader.wrong(place, node, FitterError(f"no rating {name!r} here", expected=nearest(name, specs)))
            continue
        found.update(_rating(reader, f"{place}.{name}", name, specs[name], node))
    return {n: found.get(n) or s.unknown() for n, s in specs.items()}


def _rating(reader: _Reader, place: str, name: str, spec: Spec, node: Node) -> dict[str, Rating]:
    """One field as a rating, or as the two ends of a window; empty when it is wrong."""
    if not isinstance(node, Text):
        reader.wrong(place, node, FitterError("a value is expected", expected="such as `1.4 A, measured`"))
        return {}
    try:
        if spec.choices:
            return {name: parse_choice(node.text, spec.choices)}
        if spec.window:
            low, high = parse_window(
                node.text, spec.quantity, tolerance=spec.tolerance,
                plausible_low=spec.range, plausible_high=spec.high_range,
            )
            return {f"{name}.min": low, f"{name}.max": high}
        return {name: parse_rating(node.text, spec.quantity, tolerance=spec.tolerance, plausible=spec.range)}
    except FitterError as error:
        reader.wrong(place, node, error)
        return {}
