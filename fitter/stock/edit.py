"""Changes of a stock: a field of a lot set, a lot added or taken out, the file otherwise as it was.

A change is made in the text itself, so comments, order and layout stay. What comes out is read again
and compared with what was meant before it takes the place of the file: all other lots must be what they
were. See :mod:`fitter.stock.replace` for what happens on the disk.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import groupby
from pathlib import Path
from types import ModuleType

from fitter.documents import Fields, Items, Node, Text, nearest, read_bytes, shown_path, text_of, utf8
from fitter.errors import FitterError, FitterErrors
from fitter.ratings import Rating
from fitter.stock import table_edit, yaml_edit
from fitter.stock.entries import PLAIN, parsed, read_lot
from fitter.stock.files import read_lots, stock_files
from fitter.stock.lots import Lot
from fitter.stock.replace import changed_all, meanwhile
from fitter.stock.tables import TABLES
from fitter.stock.yaml_edit import COMMENT, Value

_BOM = b"\xef\xbb\xbf"
_NOT_SAID = ("ratings", "rails", "line", "file", "drawn")
_PATH = re.compile(r"(\w+)\[([0-9]+)\]\.(\w+)")


@dataclass(frozen=True)
class SetField:
    """A field of a lot gets a value: ``note``, ``holding_torque``, ``rails[1].voltage``."""

    lot: str
    field: str
    value: str

    @property
    def steps(self) -> tuple[str | int, ...]:
        """The way to the field: name, or list, number from 0 and name."""
        match = _PATH.fullmatch(self.field)
        return (match[1], int(match[2]) - 1, match[3]) if match else (self.field,)


@dataclass(frozen=True)
class AddLot:
    """A lot more; ``fields`` in the order in which they are to be written, ``id`` among them."""

    fields: Mapping[str, Value]

    @property
    def lot(self) -> str:
        """Its id."""
        return str(self.fields["id"])


@dataclass(frozen=True)
class RemoveLot:
    """A lot less."""

    lot: str


Change = SetField | AddLot | RemoveLot


@dataclass(frozen=True)
class Edited:
    """What a change made of a file: the lots it names before and after, by id; absent where there is none."""

    file: Path
    before: Mapping[str, Lot]
    after: Mapping[str, Lot]


def file_of(stock: Path, lot: str) -> Path:
    """The file of a stock in which a lot stands.

    Raises:
        FitterError: There is no such stock, or no such lot in it.
    """
    known: list[str] = []
    for file in stock_files(stock):
        found = _lots(read_bytes(file), file)[0]
        if lot in found:
            return file
        known += found
    raise FitterError(f"no lot {lot!r} in stock", expected=nearest(lot, known))


def places_of(stock: Path, lots: Collection[str]) -> dict[str, tuple[Path, Lot]]:
    """The files in which some lots stand, and these as they are; those that are nowhere are left out.

    Raises:
        FitterError: There is no such stock, or a file that cannot be read.
    """
    found: dict[str, tuple[Path, Lot]] = {}
    for file in stock_files(stock):
        for name, lot in _lots(read_bytes(file), file)[0].items():
            if name in lots:
                found[name] = file, lot
    return found


def removed_text(file: Path, lot: str) -> str:
    """The lines of a file that go when a lot is taken out of it.

    Raises:
        FitterError: It is not there, or not in a form that is edited.
    """
    old = read_bytes(file)
    before = text_of(old, shown_path(file)).splitlines()
    after = text_of(_changed_text(old, file, [RemoveLot(lot)]), shown_path(file)).splitlines()
    pairs = enumerate(zip(before, after, strict=False))
    same = next((i for i, pair in pairs if pair[0] != pair[1]), len(after))
    return textwrap.dedent("\n".join(before[same : same + len(before) - len(after)])).strip("\n")


def edit(file: Path, changes: Sequence[Change]) -> Edited:
    """Make changes in one file of a stock, all of them or none.

    A file that is not there is made when lots are added and nothing else.

    Raises:
        FitterError: A lot that is not there, or there already; a value that is not understood; a file
            that cannot be written or was changed meanwhile. The file is then as it was.
    """
    return edit_files({file: changes})[0]


def edit_files(
    changes: Mapping[Path, Sequence[Change]], seen: Mapping[Path, bytes] | None = None
) -> list[Edited]:
    """Make changes in several files of a stock, all of them or none.

    Args:
        changes: What to change in each file.
        seen: What files held when the changes were thought out; they must hold it still.

    Raises:
        FitterError: As :func:`edit`. All files are then as they were.
    """
    edited: dict[Path, Edited] = {}

    def changing(file: Path, wanted: Sequence[Change]) -> Callable[[bytes], bytes]:
        def change(old: bytes) -> bytes:
            if seen is not None and file in seen and seen[file] != old:
                raise meanwhile(file)
            new = _changed_text(old, file, wanted)
            touched = {c.lot for c in wanted}
            before, after = _compared(old, new, file, touched)
            _as_meant(wanted, before, after, file)
            edited[file] = Edited(file, before, after)
            return new

        return change

    new_files = [f for f, wanted in changes.items() if all(isinstance(c, AddLot) for c in wanted)]
    changed_all({file: changing(file, wanted) for file, wanted in changes.items()}, may_be_new=new_files)
    return [edited[file] for file in changes]


def _changed_text(old: bytes, file: Path, changes: Sequence[Change]) -> bytes:
    mark = _BOM if old.startswith(_BOM) else b""
    text = text_of(old, shown_path(file))
    how = table_edit if file.suffix.casefold() in TABLES else yaml_edit
    try:
        for _, run in groupby(changes, key=type):  # a run of changes of one sort is made at one go
            text = _run_made(how, text, list(run))
        return mark + utf8(text)
    except FitterError as error:
        raise error.at(file=shown_path(file)) from error


def _run_made(how: ModuleType, text: str, run: Sequence[Change]) -> str:
    made: str = text
    if isinstance(run[0], AddLot):
        made = how.add_lots(text, [c.fields for c in run if isinstance(c, AddLot)])
    elif isinstance(run[0], SetField):
        made = how.set_fields(text, [(c.lot, c.steps, c.value) for c in run if isinstance(c, SetField)])
    else:
        for each in run:
            made = how.remove_lot(made, each.lot)
    return made


def _lots(content: bytes, file: Path) -> tuple[dict[str, Lot], list[FitterError]]:
    errors: list[FitterError] = []
    return {lot.id: lot for lot in read_lots(content, file, errors)}, errors


def _compared(
    old: bytes, new: bytes, file: Path, touched: set[str]
) -> tuple[Mapping[str, Lot], Mapping[str, Lot]]:
    """The lots that are changed, before and after.

    Raises:
        FitterErrors: What the new text would be refused for, and the old one was not.
        FitterError: It would change another lot.
    """
    before, errors = _lots(old, file) if old else ({}, [])
    after, new_errors = _lots(new, file)
    known = {(e.lot, e.field, e.problem) for e in errors}
    fresh = [e for e in new_errors if (e.lot, e.field, e.problem) not in known]
    if fresh:
        raise FitterErrors(fresh)
    others = (before.keys() | after.keys()) - touched
    strayed = [lot for lot in sorted(others) if not _same(before.get(lot), after.get(lot))]
    if strayed or len(new_errors) > len(errors):
        raise FitterError(
            f"this change would touch {', '.join(strayed[:3]) or 'other lots'} as well; nothing was written",
            file=shown_path(file),
            expected="change it by hand",
        )
    return {k: v for k, v in before.items() if k in touched}, {k: v for k, v in after.items() if k in touched}


def _same(one: Lot | None, other: Lot | None) -> bool:
    """Whether two lots are alike in all but the line they stand on."""
    if one is None or other is None:
        return one is other
    return all(getattr(one, f.name) == getattr(other, f.name) for f in fields(Lot) if f.name != "line")


def _as_meant(
    changes: Sequence[Change], before: Mapping[str, Lot], after: Mapping[str, Lot], file: Path
) -> None:
    """Each lot must be what the changes say, and in all else what it was.

    Raises:
        FitterError: It is not, or was there before it was added.
    """
    of_lot: dict[str, list[Change]] = {}
    for each in changes:
        of_lot.setdefault(each.lot, []).append(each)
    for lot, wanted in of_lot.items():
        if _added_twice(wanted, lot in before):
            raise FitterError(f"there is a lot {lot!r} already", file=shown_path(file), lot=lot)
        if not _come_out(wanted, before.get(lot), after.get(lot)):
            problem = "this change would not come out as meant; nothing was written"
            raise FitterError(problem, file=shown_path(file), lot=lot, expected="change it by hand")


def _added_twice(wanted: Sequence[Change], there: bool) -> bool:
    """Whether a lot is added where it is already."""
    for each in wanted:
        if there and isinstance(each, AddLot):
            return True
        there = not isinstance(each, RemoveLot)
    return False


def _come_out(wanted: Sequence[Change], before: Lot | None, after: Lot | None) -> bool:
    """Whether a lot came out as the changes of it say."""
    last = wanted[-1]
    if after is None or isinstance(last, RemoveLot):
        return after is None and isinstance(last, RemoveLot)
    if isinstance(last, AddLot):
        return _is_added(last, after)
    sets = [c for c in wanted if isinstance(c, SetField)]
    return before is None or len(sets) < len(wanted) or _only_set(before, after, sets)


def _is_added(added: AddLot, after: Lot) -> bool:
    """Whether a lot is what its fields say when they are read without any file."""
    fields = Fields(0)
    for name, value in added.fields.items():
        if name != COMMENT:
            fields[name] = _node(value)
    lot = read_lot(fields, after.file, [])
    return lot is not None and said_of(lot) == said_of(after)


def _node(value: Value) -> Node:
    if isinstance(value, str):
        return Text(value.strip(), 0)
    rails = Items(0)
    for each in value:
        rail = Fields(0)
        rail.update({name: Text(figure.strip(), 0) for name, figure in each.items()})
        rails.append(rail)
    return rails


def _only_set(before: Lot, after: Lot, sets: Sequence[SetField]) -> bool:
    """Whether a lot has the values set, and all others as before."""
    was, now = said_of(before), said_of(after)
    meant: dict[str, object] = {}
    for each in sets:
        name = str(each.steps[-1])
        spec = after.kind_of_part.spec(name)
        if name in PLAIN or spec is None:
            meant[each.field] = now.get(each.field)
            continue
        head = each.field.removesuffix(name)
        meant |= {f"{head}{n}": _bare(r) for n, r in parsed(name, spec, each.value).items()}
    return now == {**was, **meant}


def said_of(lot: Lot) -> dict[str, object]:
    """All that a lot says, by field."""
    plain = {f.name: getattr(lot, f.name) for f in fields(Lot) if f.name not in _NOT_SAID}
    rails = {
        f"{lot.kind_of_part.rails_name}[{number}].{name}": _bare(rating)
        for number, rail in enumerate(lot.rails, start=1)
        for name, rating in rail.items()
    }
    return {**plain, **{name: _bare(rating) for name, rating in lot.ratings.items()}, **rails}


def _bare(rating: Rating) -> tuple[object, ...]:
    """A rating without the words it was written in, which may have other commas."""
    return rating.lo, rating.hi, rating.likely, rating.evidence
