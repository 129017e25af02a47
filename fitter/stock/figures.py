"""A large stock as arrays: all that the search reads of it, in one block a kind, one row an offer.

A stock of 100,000 lots as objects fills half a gigabyte and takes seconds to walk through. Here each
offer is a row of numbers, and a :class:`Lot` is made again, from its entry as written, only for the few
lots that are shown. The arrays can be kept in a file: :meth:`Figures.parts` gives them, and
:meth:`Figures.of_parts` takes them back.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeAlias, cast, overload

import numpy as np

from fitter.documents import Fields, Items, Node, Text
from fitter.kinds import KINDS
from fitter.records import Record
from fitter.stock.entries import read_lot
from fitter.stock.lots import CONDITIONS, Lot

if TYPE_CHECKING:
    import numpy.typing as npt

    Array: TypeAlias = npt.NDArray[np.float64]
    Whole: TypeAlias = npt.NDArray[np.int64]
    Arrays: TypeAlias = Mapping[str, npt.NDArray[Any]]


class RatingColumn(Record):
    """One rating of many rows: ends and likely value in SI, and minutes to measure it."""

    lo: Array
    hi: Array
    likely: Array
    minutes: Array

    def at(self, rows: npt.NDArray[np.integer[Any]]) -> RatingColumn:
        """The rating of some rows."""
        return RatingColumn(*(each[rows] for each in self.values))

    def then(self, other: RatingColumn) -> RatingColumn:
        """These rows and then those of another."""
        pairs = zip(self.values, other.values, strict=True)
        return RatingColumn(*(np.concatenate(pair) for pair in pairs))

    @property
    def values(self) -> tuple[Array, Array, Array, Array]:
        """All four."""
        return self.lo, self.hi, self.likely, self.minutes


class LotTable(Record):
    """What is needed of every lot, in order of id.

    ``kind`` and ``condition`` are places in ``kinds`` and in :data:`CONDITIONS`; ``price`` is in euro;
    ``refused`` gives the reason for each lot that is never placed.
    """

    ids: Sequence[str]
    kinds: tuple[str, ...]
    kind: Whole
    count: Whole
    condition: Whole
    price: Array
    refused: Mapping[int, str]

    @cached_property
    def id_array(self) -> npt.NDArray[np.object_]:
        """The ids as an array of text."""
        return np.array(self.ids, dtype=object)


class Block(Record):
    """All offers of one kind in order of the names under which they are shown.

    ``lot`` is the place of the lot, ``offer`` the place among its offers, ``rank`` the place of the row
    among all rows of the stock. ``codes``, shape ``(len(names), rows)``, leads to rows of ``values``:
    lower end, upper end, likely value, minutes to measure.
    """

    names: tuple[str, ...]
    lot: Whole
    offer: Whole
    pieces: Whole
    rail: Whole
    rank: Whole
    codes: npt.NDArray[np.uint32]
    values: Array

    def rating(self, kind: str, name: str) -> RatingColumn:
        """One rating of all rows.

        Raises:
            KeyError: Some row has no such rating.
        """
        if name not in self.names:
            raise KeyError(f"a {kind} has no rating {name!r} for a check to read")
        codes = self.codes[self.names.index(name)]
        return RatingColumn(*(np.ascontiguousarray(self.values[:, i])[codes] for i in range(4)))


class StoredLots(Sequence[Lot]):
    """Lots that are made from their entries when asked for, in order of id."""

    def __init__(self, entries: memoryview, ends: Whole, starts: Whole, files: Sequence[str]) -> None:
        self.entries = entries
        self.ends = ends
        self.starts = starts
        self.files = files
        self._made: dict[int, Lot] = {}

    def __len__(self) -> int:
        return len(self.starts)

    def with_lots(self, changed: Mapping[int, Lot]) -> StoredLots:
        """The same with other lots in some places."""
        other = StoredLots(self.entries, self.ends, self.starts, self.files)
        other._made |= {**self._made, **changed}
        return other

    @overload
    def __getitem__(self, at: int) -> Lot: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Lot]: ...
    def __getitem__(self, at: int | slice) -> Lot | Sequence[Lot]:
        if isinstance(at, slice):
            return [self[i] for i in range(*at.indices(len(self)))]
        place = range(len(self))[at]
        if place not in self._made:
            self._made[place] = self._lot(place)
        return self._made[place]

    def __iter__(self) -> Iterator[Lot]:
        """All lots, none of them kept."""
        return (self._made.get(i) or self._lot(i) for i in range(len(self)))

    def _lot(self, place: int) -> Lot:
        file, entry = entry_of(bytes(self.entries[self.starts[place] : self.ends[place]]))
        lot = read_lot(entry, self.files[file], [])
        assert lot is not None, "only entries without faults are kept"
        return lot


class Figures(Record):
    """A stock as arrays, and its lots made on demand."""

    table: LotTable
    blocks: Mapping[str, Block]
    lots: StoredLots

    def with_lots(self, changed: Mapping[int, Lot]) -> Figures:
        """The same stock with a few other lots in some places, alike in id, kind, price and condition.

        An offer that such a lot had before has its row still; one that it no longer has loses it.
        """
        count = self.table.count.copy()
        for place, lot in changed.items():
            count[place] = lot.count
        blocks = {key: self._block(key, block, changed) for key, block in self.blocks.items()}
        return Figures(self.table.replace(count=count), blocks, self.lots.with_lots(changed))

    def _block(self, key: str, block: Block, changed: Mapping[int, Lot]) -> Block:
        rows = np.flatnonzero(np.isin(block.lot, np.array(list(changed), dtype=np.int64)))
        if not len(rows):
            return block
        offer, codes, values = block.offer.copy(), block.codes.copy(), [block.values]
        keep = np.ones(len(block.lot), dtype=bool)
        size = len(block.values)
        for row in rows:
            place = int(block.lot[row])
            before, now = self.lots[place].offers(), changed[place].offers()
            same = [i for i, o in enumerate(now) if o.key == before[int(offer[row])].key]
            keep[row] = bool(same)
            if same:
                offer[row] = same[0]
                minutes = KINDS[key].minutes
                found = [(now[same[0]], name, now[same[0]].ratings[name]) for name in block.names]
                values.append(np.array([(r.lo, r.hi, r.likely, minutes(o, n)) for o, n, r in found]))
                codes[:, row] = np.arange(size, size + len(found))
                size += len(found)
        return Block(
            block.names,
            block.lot[keep],
            offer[keep],
            block.pieces[keep],
            block.rail[keep],
            block.rank[keep],
            codes[:, keep],
            np.concatenate(values),
        )

    def parts(self) -> tuple[dict[str, Any], Arrays]:
        """All of it as plain data and arrays."""
        table, lots = self.table, self.lots
        names = {"kinds": table.kinds, "refused": [*table.refused.items()]}
        arrays: dict[str, npt.NDArray[Any]] = {
            "ids": np.frombuffer("\n".join(table.ids).encode(), np.uint8),
            "kind": table.kind.astype(np.int32),
            "count": table.count,
            "condition": table.condition.astype(np.uint8),
            "price": table.price,
            "entries": np.frombuffer(lots.entries, np.uint8),
            "starts": lots.starts,
            "ends": lots.ends,
        }
        for number, block in enumerate(self.blocks.values()):
            rows = np.array([block.lot, block.offer, block.pieces, block.rail, block.rank], dtype=np.int32)
            arrays[f"rows {number}"] = rows
            arrays[f"codes {number}"] = block.codes
            arrays[f"values {number}"] = block.values
        return {**names, "blocks": {kind: block.names for kind, block in self.blocks.items()}}, arrays

    @staticmethod
    def of_parts(names: Mapping[str, Any], arrays: Arrays, files: Sequence[str]) -> Figures:
        """A stock from what :meth:`parts` gave.

        Args:
            names: Its plain data.
            arrays: Its arrays.
            files: The files of the stock as shown to people, in order.

        Raises:
            ValueError: The parts do not fit together.
        """
        ids = arrays["ids"].tobytes().decode().split("\n") if arrays["ids"].size else []
        table = LotTable(
            ids,
            tuple(names["kinds"]),
            arrays["kind"].astype(np.int64),
            arrays["count"],
            arrays["condition"].astype(np.int64),
            arrays["price"],
            {int(lot): str(why) for lot, why in names["refused"]},
        )
        blocks = {}
        for number, (kind, of) in enumerate(names["blocks"].items()):
            lot, offer, pieces, rail, rank = arrays[f"rows {number}"].astype(np.int64)
            codes, values = arrays[f"codes {number}"], arrays[f"values {number}"]
            blocks[kind] = Block(tuple(of), lot, offer, pieces, rail, rank, codes, values)
        lots = StoredLots(arrays["entries"].data, arrays["ends"], arrays["starts"], files)
        figures = Figures(table, blocks, lots)
        figures._check()
        return figures

    def _check(self) -> None:
        """Every place that is named must be there.

        Raises:
            ValueError: One is not.
        """
        table, lots = self.table, self.lots
        size = len(table.ids)
        arrays = (table.kind, table.count, table.condition, table.price, lots.starts, lots.ends)
        good = all(a.shape == (size,) for a in arrays)
        good = good and _within(table.kind, len(table.kinds)) and _within(table.condition, len(CONDITIONS))
        good = good and _within(lots.ends, len(lots.entries) + 1) and _within(lots.starts, len(lots.entries))
        good = good and all(0 <= place < size for place in table.refused)
        for kind, block in self.blocks.items():
            good = good and kind in KINDS and block.codes.shape == (len(block.names), len(block.lot))
            good = good and _within(block.lot, size) and _within(block.codes, len(block.values))
        if not good:
            raise ValueError("parts of a stock that do not fit together")


def _within(places: npt.NDArray[Any], size: int) -> bool:
    return not places.size or (int(places.min()) >= 0 and int(places.max()) < size)


# ---------------------------------------------------------------- entries


def entry_bytes(file: int, entry: Fields) -> bytes:
    """An entry without faults as one line of JSON, with the number of its file."""
    return json.dumps([file, entry.line, _plain(entry)]).encode()


def _plain(node: Node) -> Any:
    if isinstance(node, Text):
        return node.text
    if isinstance(node, Fields):
        return {name: _plain(value) for name, value in node.items()}
    return [_plain(value) for value in cast(Items, node)]


def entry_of(line: bytes) -> tuple[int, Fields]:
    """The number of the file and the entry; every value in it has the line on which the entry starts."""
    file, number, names = json.loads(line)
    return int(file), cast(Fields, _node(names, int(number)))


def _node(value: Any, line: int) -> Node:
    if isinstance(value, str):
        return Text(value, line)
    node: Fields | Items = Fields(line) if isinstance(value, dict) else Items(line)
    if isinstance(node, Fields):
        node.update((name, _node(v, line)) for name, v in value.items())
    else:
        node.extend(_node(v, line) for v in value)
    return node
