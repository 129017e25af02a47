"""Candidates: offers of lots for a role, and their ratings as arrays for whole tables at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Protocol, TypeAlias

import numpy as np

from fitter.functions import Role
from fitter.intervals import Interval
from fitter.kinds import Offer, kind_key
from fitter.ratings import Evidence, Rating
from fitter.stock.lots import Lot

if TYPE_CHECKING:
    import numpy.typing as npt

Array: TypeAlias = "npt.NDArray[np.float64]"
CERTAIN = (Evidence.MEASURED, Evidence.DATASHEET)
SHOP = 0  # the unit number that stands for a shop, which has enough of everything
TRIAL_MINUTES = 10.0  # trying a part that nobody has tested; common practice, no source
_CONDITION = {"working": (1.0, 1.0), "untested": (0.0, 1.0), "worn": (0.0, 1.0), "faulty": (0.0, 0.0)}


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
        return f"{self.lot.id} / {self.offer.key}" if self.offer.key else self.lot.id

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
            return TRIAL_MINUTES if self.lot.condition in ("untested", "worn") else 0.0
        rating = self.rating(name)
        if self.bought or rating.exact or rating.evidence in CERTAIN:
            return 0.0
        source = self.offer.sources.get(name, name).rpartition("].")[2]
        spec = self.lot.kind_of_part.spec(source)
        return spec.minutes if spec else 0.0


def _condition(candidate: Candidate) -> Rating:
    lo, hi = _CONDITION["working" if candidate.bought else candidate.lot.condition]
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
    """All offers of some lots as arrays, a row an offer: what the search works on."""

    def __init__(self, candidates: Iterable[Candidate]) -> None:
        ordered = sorted(candidates, key=lambda c: (c.bought, c.id))
        self._made = ordered
        self.bought = np.array([c.bought for c in ordered], dtype=bool)
        self.unit = np.array([c.unit for c in ordered], dtype=np.int64)
        self.count = np.array([c.lot.count for c in ordered], dtype=np.int64)
        self.pieces = np.array([c.offer.pieces for c in ordered], dtype=np.int64)
        self.lot_ids = np.array([c.lot.id for c in ordered], dtype=object)
        self.kinds = frozenset(c.lot.kind for c in ordered)
        self._ratings: dict[str, RatingColumn] = {}

    def __len__(self) -> int:
        return len(self.bought)

    def candidate(self, row: int) -> Candidate:
        """The offer of one row."""
        return self._made[row]

    def rating(self, name: str) -> RatingColumn:
        """One rating of all rows.

        Raises:
            KeyError: Some row's kind has no such rating, which is a fault of the check that asks.
        """
        if name not in self._ratings:
            self._ratings[name] = RatingColumn.of(self._made, name)
        return self._ratings[name]


@dataclass(frozen=True)
class RatingColumn:
    """One rating of many rows: ends and likely value in SI, and minutes to measure it."""

    lo: Array
    hi: Array
    likely: Array
    minutes: Array

    @staticmethod
    def of(candidates: Sequence[Candidate], name: str) -> RatingColumn:
        """The rating of each candidate."""
        found = [c.rating(name) for c in candidates]
        figures = np.array([(r.lo, r.hi, r.likely) for r in found]).reshape(len(found), 3)
        lo, hi, likely = figures.T.copy()
        return RatingColumn(lo, hi, likely, np.array([c.minutes(name) for c in candidates], dtype=float))

    def at(self, rows: npt.NDArray[np.int64]) -> RatingColumn:
        """The rating of some rows."""
        return RatingColumn(self.lo[rows], self.hi[rows], self.likely[rows], self.minutes[rows])


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

    lot: Lot
    reason: str


def _to_figure(offer: Offer) -> Offer:
    """A part that is yet to be bought has exactly the figures it is sold by: one picks another if not."""
    exact = {n: replace(r, lo=r.likely, hi=r.likely) for n, r in offer.ratings.items()}
    return replace(offer, ratings=exact)


class Pool:
    """All candidates of a stock and a shop, by kind."""

    def __init__(self, lots: Iterable[Lot], shop: Iterable[Lot] = ()) -> None:
        self.lots = sorted(lots, key=lambda lot: lot.id)
        self.refusals: list[Refusal] = []
        self._lots: dict[str, list[tuple[Lot, int]]] = {}
        for unit, lot in enumerate(self.lots, start=1):
            reason = "faulty" if lot.condition == "faulty" else lot.kind_of_part.refusal(lot)
            if reason:
                self.refusals.append(Refusal(lot, reason))
            elif lot.count > 0:
                self._lots.setdefault(kind_key(lot.kind), []).append((lot, unit))
        for lot in sorted(shop, key=lambda lot: lot.id):
            self._lots.setdefault(kind_key(lot.kind), []).append((lot, SHOP))
        self._tables: dict[tuple[str, ...], OfferTable] = {}
        self._columns: dict[tuple[tuple[str, ...], int], Columns] = {}

    def table(self, kinds: Sequence[str]) -> OfferTable:
        """All offers of some kinds, stock before shop, each in order of id."""
        key = tuple(kinds)
        if key not in self._tables:
            self._tables[key] = OfferTable(
                candidate
                for kind in kinds
                for lot, unit in self._lots.get(kind_key(kind), ())
                for candidate in self._offered(lot, unit)
            )
        return self._tables[key]

    @staticmethod
    def _offered(lot: Lot, unit: int) -> Iterator[Candidate]:
        for offer in lot.offers():
            yield (
                Candidate(lot, _to_figure(offer), True)
                if unit == SHOP
                else Candidate(lot, offer, False, unit)
            )

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
        total: dict[str, int] = {}
        for lot in self.lots:
            total[kind_key(lot.kind)] = total.get(kind_key(lot.kind), 0) + lot.count
        return total
