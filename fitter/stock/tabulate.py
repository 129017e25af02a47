"""Lots one by one into the arrays of :class:`fitter.stock.figures.Figures`, none of them kept."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from fitter.documents import Fields
from fitter.kinds import Kind, Offer, kind_key
from fitter.ratings import Rating
from fitter.stock.figures import Block, Figures, LotTable, StoredLots, entry_bytes
from fitter.stock.lots import CONDITIONS, Lot

if TYPE_CHECKING:
    import numpy.typing as npt


class Tabulator:
    """Takes lots in any order; :meth:`figures` gives them in order of id."""

    def __init__(self, files: Sequence[str], price: Callable[[Lot], float]) -> None:
        self.files = files
        self.price = price
        self._ids: list[str] = []
        self._kinds: dict[str, int] = {}
        self._numbers = {name: array("q") for name in ("kind", "count", "condition", "start", "end")}
        self._prices = array("d")
        self._entries = bytearray()
        self._refused: dict[int, str] = {}
        self._blocks: dict[str, _Rows] = {}

    def add(self, lot: Lot, entry: Fields, file: int) -> None:
        """Take a lot, its entry and the number of its file."""
        place = len(self._ids)
        self._ids.append(lot.id)
        start = len(self._entries)
        self._entries += entry_bytes(file, entry)
        kind = self._kinds.setdefault(lot.kind, len(self._kinds))
        numbers = (kind, lot.count, CONDITIONS.index(lot.condition), start, len(self._entries))
        for column, number in zip(self._numbers.values(), numbers, strict=True):
            column.append(number)
        self._prices.append(self.price(lot))
        if reason := lot.refusal():
            self._refused[place] = reason
        elif lot.count > 0:
            self._add_offers(lot, place)

    def _add_offers(self, lot: Lot, place: int) -> None:
        key = kind_key(lot.kind)
        if key not in self._blocks:
            self._blocks[key] = _Rows(lot.kind_of_part)
        for number, offer in enumerate(lot.offers()):
            self._blocks[key].add(lot, place, number, offer)

    def figures(self) -> Figures:
        """All that was taken."""
        order = np.array(sorted(range(len(self._ids)), key=self._ids.__getitem__), dtype=np.int64)
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        numbers = {name: _whole(column)[order] for name, column in self._numbers.items()}
        table = LotTable(
            [self._ids[i] for i in order],
            tuple(self._kinds),
            numbers["kind"],
            numbers["count"],
            numbers["condition"],
            np.array(self._prices)[order],
            {i: self._refused[int(was)] for i, was in enumerate(order) if int(was) in self._refused},
        )
        lots = StoredLots(memoryview(bytes(self._entries)), numbers["end"], numbers["start"], self.files)
        ranks = self._ranks()
        blocks = {key: rows.block(place, ranks[key]) for key, rows in self._blocks.items()}
        return Figures(table, blocks, lots)

    def _ranks(self) -> dict[str, npt.NDArray[np.int64]]:
        """For the rows of each block their places among all rows, in order of the names that are shown."""
        shown = [name for rows in self._blocks.values() for name in rows.shown]
        rank = np.empty(len(shown), dtype=np.int64)
        rank[sorted(range(len(shown)), key=shown.__getitem__)] = np.arange(len(shown))
        ends = np.cumsum([len(rows.shown) for rows in self._blocks.values()])
        return dict(zip(self._blocks, np.split(rank, ends[:-1]), strict=True)) if self._blocks else {}


class _Rows:
    """The offers of one kind while they are taken in."""

    def __init__(self, kind: Kind) -> None:
        self.kind = kind
        self.shown: list[str] = []
        self.numbers = array("q")  # lot, offer, pieces and rail of each row
        self.values = array("d")  # lower end, upper end, likely value and minutes of each figure
        self.columns: dict[str, _Column] = {}

    def add(self, lot: Lot, place: int, number: int, offer: Offer) -> None:
        if not self.shown:
            self.columns = {name: _Column() for name in offer.ratings}
        self.shown.append(offer.shown(lot.id))
        self.numbers.extend((place, number, offer.pieces, offer.rail or 0))
        if not self.columns.keys() <= offer.ratings.keys():
            # a figure that only some offers have can be read of none
            self.columns = {n: c for n, c in self.columns.items() if n in offer.ratings}
        for name, column in self.columns.items():
            rating = offer.ratings[name]
            code = column.code_of(rating)
            if code is None:
                code = column.remember(rating, len(self.values) // 4)
                self.values.extend((rating.lo, rating.hi, rating.likely, self.kind.minutes(offer, name)))
            column.codes.append(code)

    def block(self, place: npt.NDArray[np.int64], rank: npt.NDArray[np.int64]) -> Block:
        """All rows in order of their names."""
        order = np.argsort(rank)
        lot, offer, pieces, rail = _whole(self.numbers).reshape(-1, 4)[order].T
        codes = np.array([np.array(c.codes, dtype=np.uint32)[order] for c in self.columns.values()])
        return Block(
            tuple(self.columns),
            place[lot],
            offer,
            pieces,
            rail,
            rank[order],
            codes.reshape(len(self.columns), len(order)).astype(np.uint32),
            np.array(self.values).reshape(-1, 4),
        )


class _Column:
    """One rating of the rows: for each row the place of its figures."""

    def __init__(self) -> None:
        self.codes = array("I")
        self._last: tuple[Rating | None, int] = (None, 0)
        self._shared: dict[int, tuple[int, Rating]] = {}

    def code_of(self, rating: Rating) -> int | None:
        """The place of figures taken before: those of the row above, or of what many lots have in common."""
        if rating is self._last[0]:
            return self._last[1]
        found = self._shared.get(id(rating))
        return found[0] if found else None

    def remember(self, rating: Rating, code: int) -> int:
        """Keep the place of new figures; those nobody wrote, such as unknown ones, come again and again."""
        self._last = (rating, code)
        if not rating.text:
            self._shared[id(rating)] = (code, rating)
        return code


def _whole(column: array[Any]) -> npt.NDArray[np.int64]:
    return np.array(column, dtype=np.int64)
