"""Candidates: offers of lots for a role, and their ratings as arrays for whole tables at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from typing import TYPE_CHECKING, Protocol, TypeAlias

import numpy as np

from fitter.functions import Role
from fitter.intervals import Interval
from fitter.kinds import KINDS, Offer, kind_key
from fitter.ratings import Evidence, Rating
from fitter.solve.groups import Groups, agreeing, refined
from fitter.stock.figures import Figures, LotTable, RatingColumn
from fitter.stock.lots import CONDITIONS, Lot

if TYPE_CHECKING:
    import numpy.typing as npt

Array: TypeAlias = "npt.NDArray[np.float64]"
SHOP = 0  # the unit number that stands for a shop, which has enough of everything
TRIAL_MINUTES = 10.0  # trying a part that nobody has tested; common practice, no source
_TRIED = {  # whether a part works, from and to, and minutes to try it
    "working": (1.0, 1.0, 0.0),
    "untested": (0.0, 1.0, TRIAL_MINUTES),
    "worn": (0.0, 1.0, TRIAL_MINUTES),
    "faulty": (0.0, 0.0, 0.0),
}


@dataclass(frozen=True, eq=False)
class Candidate:
    """One offer of one lot, from stock or from a shop."""

    lot: Lot
    offer: Offer
    bought: bool = False
    unit: int = 0

    @property
    def id(self) -> str:
        """Lot and offer; candidates are ordered by it, those in stock first."""
        return self.offer.shown(self.lot.id)

    def rating(self, name: str) -> Rating:
        """A rating of the offer, or one of the part's own state.

        Raises:
            KeyError: The kind has no such rating, which is a fault of the check that asks.
        """
        if name in _STATE:
            return _STATE[name](self)
        try:
            return self.offer.ratings[name]
        except KeyError:
            raise KeyError(f"a {self.lot.kind} has no rating {name!r} for a check to read") from None

    def path(self, name: str) -> str:
        """The rating to measure so that this figure becomes known."""
        source = self.offer.sources.get(name, name)
        if source.endswith((".min", ".max")):
            source = source[:-4]
        return f"{self.lot.id}.{source}"

    def minutes(self, name: str) -> float:
        """What it takes to measure a rating that is not certain; zero where nothing is open."""
        if name == "condition":
            return _TRIED[self.lot.condition][2]
        return 0.0 if self.bought or name in _STATE else self.lot.kind_of_part.minutes(self.offer, name)


def _condition(candidate: Candidate) -> Rating:
    lo, hi, _ = _TRIED["working" if candidate.bought else candidate.lot.condition]
    return Rating(lo, hi, hi, Evidence.MEASURED)


def _unit(candidate: Candidate) -> Rating:
    """A number for the very unit: parts of a lot of several are taken as different units."""
    shared = candidate.lot.count == 1 and not candidate.bought
    code = float(candidate.unit if shared else -1)
    return Rating(code, code, code, Evidence.MEASURED)


def _rail(candidate: Candidate) -> Rating:
    code = float(candidate.offer.rail or 0)
    return Rating(code, code, code, Evidence.MEASURED)


_STATE = {"condition": _condition, "unit": _unit, "rail": _rail}


class OfferTable:
    """All offers of some lots as arrays, a row an offer: what the search works on.

    ``kind`` and ``condition`` are places in ``kind_names`` and in :data:`CONDITIONS`.
    """

    def __init__(self, candidates: Iterable[Candidate]) -> None:
        ordered = sorted(candidates, key=lambda c: (c.bought, c.id))
        self._made = dict(enumerate(ordered))
        self._ratings: dict[str, RatingColumn] = {}
        self.bought = np.array([c.bought for c in ordered], dtype=bool)
        self.unit = _whole(c.unit for c in ordered)
        self.count = _whole(c.lot.count for c in ordered)
        self.pieces = _whole(c.offer.pieces for c in ordered)
        self.condition = _whole(CONDITIONS.index(c.lot.condition) for c in ordered)
        self.lot_ids = np.array([c.lot.id for c in ordered], dtype=object)
        self.kind_names = tuple(dict.fromkeys(c.lot.kind for c in ordered))
        self.kind = _whole(self.kind_names.index(c.lot.kind) for c in ordered)

    def __len__(self) -> int:
        return len(self.bought)

    @property
    def kinds(self) -> frozenset[str]:
        """Kinds of the lots."""
        return frozenset(self.kind_names)

    def candidate(self, row: int) -> Candidate:
        """The offer of one row."""
        return self._made[row]

    def prices(self, price: Callable[[Lot], float]) -> Array:
        """Price new of the lot of each row, in euro, as ``price`` gives it."""
        return np.array([price(self._made[row].lot) for row in range(len(self))], dtype=float)

    def rating(self, name: str) -> RatingColumn:
        """One rating of all rows.

        Raises:
            KeyError: Some row's kind has no such rating, which is a fault of the check that asks.
        """
        if name not in self._ratings:
            self._ratings[name] = self._rating(name)
        return self._ratings[name]

    def _rating(self, name: str) -> RatingColumn:
        made = [self._made[row] for row in range(len(self))]
        found = [c.rating(name) for c in made]
        figures = np.array([(r.lo, r.hi, r.likely) for r in found]).reshape(len(found), 3)
        lo, hi, likely = figures.T.copy()
        return RatingColumn(lo, hi, likely, np.array([c.minutes(name) for c in made], dtype=float))


class StoredTable(OfferTable):
    """Offers of a stock that is kept as arrays, and after them those of a shop; candidates made on demand."""

    def __init__(self, figures: Figures, keys: Sequence[str], sold: OfferTable) -> None:
        self._figures = figures
        self._sold = sold
        self._blocks = {key: figures.blocks[key] for key in keys if key in figures.blocks}
        self._made = {}
        self._ratings = {}
        self._order = np.argsort(self._joined("rank"))
        stock = figures.table
        self._lot, self._offer, self._rail = (self._ordered(name) for name in ("lot", "offer", "rail"))
        owned = len(self._lot)
        self.bought = np.arange(owned + len(sold)) >= owned
        self.unit = np.concatenate((self._lot + 1, sold.unit))
        self.count = np.concatenate((stock.count[self._lot], sold.count))
        self.pieces = np.concatenate((self._ordered("pieces"), sold.pieces))
        self.condition = np.concatenate((stock.condition[self._lot], sold.condition))
        self.lot_ids = np.concatenate((stock.id_array[self._lot], sold.lot_ids))
        self.kind_names = (*(KINDS[key].name for key in self._blocks), *sold.kind_names)
        sizes = [len(block.lot) for block in self._blocks.values()]
        own_kinds = np.repeat(np.arange(len(sizes)), sizes)[self._order]
        self.kind = np.concatenate((own_kinds, sold.kind + len(sizes)))

    def _joined(self, name: str) -> npt.NDArray[np.int64]:
        """A column of numbers of all blocks, one after the other."""
        return np.concatenate([np.empty(0, np.int64), *(getattr(b, name) for b in self._blocks.values())])

    def _ordered(self, name: str) -> npt.NDArray[np.int64]:
        return self._joined(name)[self._order]

    def candidate(self, row: int) -> Candidate:
        """The offer of one row, made when first asked for."""
        if self.bought[row]:
            return self._sold.candidate(row - len(self._lot))
        if row not in self._made:
            lot = self._figures.lots[int(self._lot[row])]
            offer = lot.offers()[int(self._offer[row])]
            self._made[row] = Candidate(lot, offer, False, int(self.unit[row]))
        return self._made[row]

    def prices(self, price: Callable[[Lot], float]) -> Array:
        """As kept with the stock, which has them by the same rule."""
        return np.concatenate((self._figures.table.price[self._lot], self._sold.prices(price)))

    def _rating(self, name: str) -> RatingColumn:
        if name in _STATE:
            own = self._state(name)
        else:
            found = [block.rating(KINDS[key].name, name) for key, block in self._blocks.items()]
            own = reduce(RatingColumn.then, found, _NO_ROWS).at(self._order)
        return own.then(self._sold.rating(name))

    def _state(self, name: str) -> RatingColumn:
        """Condition, unit or rail of the rows of the stock."""
        owned = len(self._lot)
        code = self._rail.astype(float)
        if name == "unit":
            code = np.where(self.count[:owned] == 1, self.unit[:owned], -1).astype(float)
        if name != "condition":
            return RatingColumn(code, code, code, np.zeros(owned))
        lo, hi, minutes = (np.array(each) for each in zip(*_TRIED.values(), strict=True))
        tried = self.condition[:owned]
        return RatingColumn(lo[tried], hi[tried], hi[tried], minutes[tried])


def _whole(numbers: Iterable[int]) -> npt.NDArray[np.int64]:
    return np.array(list(numbers), dtype=np.int64)


_NO_ROWS = RatingColumn(*(np.empty(0) for _ in range(4)))


class Columns:
    """The candidates of a role: rows of a table, their ratings as arrays made when first asked for."""

    def __init__(self, table: OfferTable, rows: npt.NDArray[np.int64]) -> None:
        self.table = table
        self.rows = rows
        self.bought = table.bought[rows]
        self.unit = table.unit[rows]
        self.count = table.count[rows]
        self.pieces = table.pieces[rows]
        self.lot_ids = table.lot_ids[rows]
        self.kinds = table.kinds
        self._alike: dict[str, Groups] = {}
        self._ratings: dict[str, RatingColumn] = {}

    def __len__(self) -> int:
        return len(self.rows)

    def candidate(self, place: int) -> Candidate:
        """The candidate at one place."""
        return self.table.candidate(int(self.rows[place]))

    def rating(self, name: str) -> RatingColumn:
        """One rating of all candidates, shape ``(n,)``."""
        if name not in self._ratings:
            self._ratings[name] = self.table.rating(name).at(self.rows)
        return self._ratings[name]

    def bounds(self, rating: str) -> tuple[Array, Array]:
        """Lower and upper ends, SI, shape ``(n,)``."""
        column = self.rating(rating)
        return column.lo, column.hi

    def likely(self, rating: str) -> float:
        """Likely value of the candidate in the middle of the list."""
        return float(self.rating(rating).likely[len(self) // 2])

    def minutes(self, rating: str) -> Array:
        """Minutes to measure the rating of each candidate, shape ``(n,)``."""
        return self.rating(rating).minutes

    def alike(self, ratings: Sequence[str]) -> Groups:
        """Candidates that agree in some ratings and the minutes to measure them; bought ones apart."""
        each = [self._agreeing(name) for name in ratings]
        return refined([agreeing(self.bought), *each])

    def _agreeing(self, rating: str) -> Groups:
        if rating not in self._alike:
            self._alike[rating] = agreeing(*self.bounds(rating), self.minutes(rating))
        return self._alike[rating]

    def select(self, keep: npt.NDArray[np.bool_]) -> Columns:
        """The columns of some of the candidates."""
        return self if keep.all() else Columns(self.table, self.rows[keep])


class Ends(Protocol):
    """Lower and upper ends of the ratings of a role's candidates."""

    def __len__(self) -> int: ...

    def bounds(self, rating: str) -> tuple[Array, Array]:
        """Arrays of shape ``(n,)``."""
        ...

    def minutes(self, rating: str) -> Array:
        """Minutes to measure, shape ``(n,)``."""
        ...


class Along:
    """All candidates of a role along one axis of a table; remembers which ratings were read."""

    def __init__(self, columns: Ends, axis: int = 0, axes: int = 1) -> None:
        self.columns = columns
        self.shape = tuple(len(columns) if i == axis else 1 for i in range(axes))
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        lo, hi = self.columns.bounds(rating)
        return Interval(lo.reshape(self.shape), hi.reshape(self.shape))


class Single:
    """One candidate, its ratings as plain numbers."""

    def __init__(self, candidate: Candidate) -> None:
        self.candidate = candidate
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        found = self.candidate.rating(rating)
        return Interval(found.lo, found.hi)


class Place:
    """The candidate at one place of a role's columns, its ratings as plain numbers."""

    def __init__(self, columns: Ends, place: int) -> None:
        self.columns = columns
        self.place = place
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        lo, hi = self.columns.bounds(rating)
        return Interval(float(lo[self.place]), float(hi[self.place]))


class Hull:
    """Everything that may still fill a role: the hull of its candidates."""

    def __init__(self, columns: Ends) -> None:
        self.columns = columns
        self.read: set[str] = set()
        self._hulls: dict[str, Interval] = {}

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        if rating not in self._hulls:
            lo, hi = self.columns.bounds(rating)
            self._hulls[rating] = Interval(float(lo.min()), float(hi.max()))
        return self._hulls[rating]


@dataclass(frozen=True)
class Refusal:
    """Why a lot is not even a candidate: a kind that is never placed, or a faulty part."""

    lot: str
    kind: str
    reason: str


def _to_figure(offer: Offer) -> Offer:
    """A part that is yet to be bought has exactly the figures it is sold by: one picks another if not."""
    exact = {n: replace(r, lo=r.likely, hi=r.likely) for n, r in offer.ratings.items()}
    return replace(offer, ratings=exact)


class Pool:
    """All candidates of a stock and a shop, by kind.

    Args:
        lots: The stock.
        shop: Sizes that shops carry.
        figures: The same stock as arrays, where it is kept so.
    """

    def __init__(self, lots: Iterable[Lot], shop: Iterable[Lot] = (), figures: Figures | None = None) -> None:
        self.figures = figures
        self.lots: Sequence[Lot] = figures.lots if figures else sorted(lots, key=lambda lot: lot.id)
        self.refusals: list[Refusal] = []
        self._lots: dict[str, list[tuple[Lot, int]]] = {}
        if figures:
            self._refuse(figures.table)
        else:
            self._take(self.lots)
        for lot in sorted(shop, key=lambda lot: lot.id):
            self._lots.setdefault(kind_key(lot.kind), []).append((lot, SHOP))
        self._tables: dict[tuple[str, ...], OfferTable] = {}
        self._columns: dict[tuple[tuple[str, ...], int], Columns] = {}

    def with_sold(self, lots: Iterable[Lot]) -> Pool:
        """The same stock, with further sizes from a shop."""
        other, added = copy(self), list(lots)
        other._lots = {kind: list(found) for kind, found in self._lots.items()}
        for lot in added:
            other._lots.setdefault(kind_key(lot.kind), []).append((lot, SHOP))
        kinds = {kind_key(lot.kind) for lot in added}
        other._tables = {k: t for k, t in self._tables.items() if kinds.isdisjoint(map(kind_key, k))}
        other._columns = {k: c for k, c in self._columns.items() if kinds.isdisjoint(map(kind_key, k[0]))}
        return other

    def _take(self, lots: Iterable[Lot]) -> None:
        for unit, lot in enumerate(lots, start=1):
            if reason := lot.refusal():
                self.refusals.append(Refusal(lot.id, lot.kind, reason))
            elif lot.count > 0:
                self._lots.setdefault(kind_key(lot.kind), []).append((lot, unit))

    def _refuse(self, table: LotTable) -> None:
        for place, reason in table.refused.items():
            self.refusals.append(Refusal(table.ids[place], table.kinds[table.kind[place]], reason))

    def table(self, kinds: Sequence[str]) -> OfferTable:
        """All offers of some kinds, stock before shop, each in order of id."""
        key = tuple(kinds)
        if key not in self._tables:
            keys = list(dict.fromkeys(map(kind_key, kinds)))
            made = OfferTable(
                candidate
                for kind in keys
                for lot, unit in self._lots.get(kind, ())
                for candidate in self._offered(lot, unit)
            )
            self._tables[key] = StoredTable(self.figures, keys, made) if self.figures else made
        return self._tables[key]

    @staticmethod
    def _offered(lot: Lot, unit: int) -> Iterator[Candidate]:
        for offer in lot.offers():
            if unit != SHOP:
                yield Candidate(lot, offer, False, unit)
            elif not offer.owned_only:
                yield Candidate(lot, _to_figure(offer), True)

    def columns(self, role: Role) -> Columns:
        """The candidates of a role that have pieces enough, as columns shared by like roles."""
        key = (role.kinds, role.count)
        if key not in self._columns:
            table = self.table(role.kinds)
            enough = table.bought | (table.count >= role.count * table.pieces)
            self._columns[key] = Columns(table, np.flatnonzero(enough))
        return self._columns[key]

    @cached_property
    def pieces_by_kind(self) -> Mapping[str, int]:
        """Pieces in stock of each kind."""
        if self.figures:
            stock = self.figures.table
            pieces = np.bincount(stock.kind, weights=stock.count, minlength=len(stock.kinds))
            return {kind_key(kind): int(n) for kind, n in zip(stock.kinds, pieces, strict=True)}
        total: dict[str, int] = {}
        for lot in self.lots:
            total[kind_key(lot.kind)] = total.get(kind_key(lot.kind), 0) + lot.count
        return total
