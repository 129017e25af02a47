"""A pool as it most likely is: every rating at its likely value, and what nobody has tried works."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from fitter.ratings import Rating
from fitter.solve.candidates import Array, Candidate, OfferTable, Pool
from fitter.stock.figures import RatingColumn
from fitter.stock.lots import Lot


class LikelyCandidate(Candidate):
    """A candidate all of whose ratings are known to be the likely ones."""

    def rating(self, name: str) -> Rating:
        """The likely value, as a rating that is exact.

        Raises:
            KeyError: The kind has no such rating.
        """
        found = super().rating(name)
        return replace(found, lo=found.likely, hi=found.likely)


class _LikelyTable(OfferTable):
    """Another table with the likely value of every rating."""

    def __init__(self, table: OfferTable) -> None:
        vars(self).update(vars(table))
        self._ratings = {}
        self._likely: dict[int, LikelyCandidate] = {}
        self._of = table

    def candidate(self, row: int) -> Candidate:
        if row not in self._likely:
            known = self._of.candidate(row)
            self._likely[row] = LikelyCandidate(known.lot, known.offer, known.bought, known.unit)
        return self._likely[row]

    def prices(self, price: Callable[[Lot], float]) -> Array:
        return self._of.prices(price)

    def _rating(self, name: str) -> RatingColumn:
        found = self._of.rating(name)
        return RatingColumn(found.likely, found.likely, found.likely, found.minutes)


class LikelyPool(Pool):
    """The candidates of another pool at their likely values."""

    def __init__(self, pool: Pool) -> None:
        vars(self).update(vars(pool))
        self._tables: dict[tuple[str, ...], OfferTable] = {}
        self._columns: dict[tuple[tuple[str, ...], int], Any] = {}
        self._of = pool

    def table(self, kinds: Sequence[str]) -> OfferTable:
        """All offers of some kinds, in the order of the other pool."""
        key = tuple(kinds)
        if key not in self._tables:
            self._tables[key] = _LikelyTable(self._of.table(kinds))
        return self._tables[key]
