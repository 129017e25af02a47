"""The score of a set: fewest purchases, then fewest and easiest open measurements, then least waste.

A score is one whole number made of three parts that cannot reach into each other:

    purchases x 10^12  +  minutes of open measurements x 10^7  +  waste in cents

- *Purchases*: roles filled from a shop.
- *Minutes*: every unproven check counts the longest measurement among the open ratings it reads,
  one minute at least.
- *Waste*: for every role the price new of what is used up (stated in the stock, else that of the
  nearest size in a shop), plus 2 euro divided by the pieces of that kind in stock, so that a scarce
  part is not spent on an easy job, plus 2 euro for an untested and 3 euro for a worn part. A strong,
  dear part on an easy job thus ranks behind a plain one.

Lower is better. Ties go by id. When a combination that fails is to be explained, each failing check
counts 10^14 instead of forbidding the set.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from fitter.checks.base import ROUNDING, Judgement
from fitter.intervals import Number
from fitter.kinds import kind_key
from fitter.solve.candidates import Array, Candidate, Columns, OfferTable, Pool
from fitter.stock.lots import CONDITIONS, Lot

FAIL = 1e14
BUY = 1e12
MINUTE = 1e7
FORBIDDEN = float("inf")
_MOST_WASTE = 99_999
_CONDITION = {"working": 0, "untested": 200, "worn": 300, "faulty": 0}
_USUAL_PRICE = 5.0  # euro, for kinds no shop carries; common practice, no source


def check_cost(judgement: Judgement, minutes: Number, *, soft: bool) -> Array:
    """Cost of a check: nothing where it fits, minutes where unproven, forbidden where it fails."""
    lo, hi = np.asarray(judgement.margin.lo), np.asarray(judgement.margin.hi)
    cost = np.where(lo >= 1 - ROUNDING, 0.0, open_cost(minutes))
    return np.where(hi < 1 - ROUNDING, FAIL if soft else FORBIDDEN, cost)


def open_cost(minutes: Number) -> Array:
    """Cost of an unproven check whose longest open measurement takes so long."""
    return np.asarray(np.ceil(np.maximum(minutes, 1.0)) * MINUTE)


class Prices:
    """Prices new in euro: stated in the stock, else those of the nearest size in a shop."""

    def __init__(self, shop: Mapping[str, list[Lot]]) -> None:
        self.shop = {kind: [(lot, _stated(lot)) for lot in lots] for kind, lots in shop.items()}
        self._known: dict[str, float] = {}

    def of(self, lot: Lot) -> float:
        """Price of a lot."""
        if lot.price_new is not None:
            return lot.price_new
        if lot.id not in self._known:
            self._known[lot.id] = self._nearest(lot)
        return self._known[lot.id]

    def _nearest(self, lot: Lot) -> float:
        stated = _stated(lot)
        sizes = [(_distance(stated, s), each.id, each) for each, s in self.shop.get(kind_key(lot.kind), ())]
        nearest = min(sizes, default=(0.0, "", None))[2]
        return nearest.price_new if nearest and nearest.price_new is not None else _USUAL_PRICE


class Waste:
    """Waste of candidates, from prices and how many pieces there are."""

    def __init__(self, pool: Pool, shop: Mapping[str, list[Lot]]) -> None:
        self.pool = pool
        self.price = Prices(shop).of
        self._shares: dict[OfferTable, tuple[Array, Array, Array]] = {}

    def cents(self, columns: Columns, count: int) -> Array:
        """Waste of putting each candidate into a role that takes ``count`` of it, whole cents."""
        price, scarce, condition = (share[columns.rows] for share in self._shares_of(columns.table))
        return np.minimum(np.rint(price * (count * columns.pieces) + scarce + condition), _MOST_WASTE)

    def _shares_of(self, table: OfferTable) -> tuple[Array, Array, Array]:
        """For each row, in cents: price of a piece, what a scarce part adds, and what its condition adds."""
        if table not in self._shares:
            stocked = np.array([self._stocked(kind) for kind in table.kind_names], dtype=float)
            states = np.array([_CONDITION[name] for name in CONDITIONS], dtype=float)
            self._shares[table] = (
                100 * table.prices(self.price),
                np.where(table.bought, 0.0, 200 / stocked[table.kind]),
                np.where(table.bought, 0.0, states[table.condition]),
            )
        return self._shares[table]

    def _stocked(self, kind: str) -> int:
        return max(self.pool.pieces_by_kind.get(kind_key(kind), 1), 1)

    def of(self, candidate: Candidate, count: int) -> int:
        """Waste of one candidate in a role that takes ``count`` of it, cents."""
        pieces = count * candidate.offer.pieces
        total = 100 * self.price(candidate.lot) * pieces
        if not candidate.bought:
            total += 200 / self._stocked(candidate.lot.kind)
            total += _CONDITION[candidate.lot.condition]
        return min(round(total), _MOST_WASTE)


def _stated(lot: Lot) -> dict[str, float]:
    """Logarithms of the figures a lot states, and of the power of each rail."""
    figures = {name: rating.likely for name, rating in lot.ratings.items()}
    for number, rail in enumerate(lot.rails):
        figures[f"rail {number}"] = rail["voltage"].likely * rail["current"].likely
    return {name: math.log(value) for name, value in figures.items() if value > 0}


def _distance(a: Mapping[str, float], b: Mapping[str, float]) -> float:
    """How far apart two parts are: mean of the ratios of the figures both state, as logarithms."""
    apart = [abs(value - b[name]) for name, value in a.items() if name in b]
    return round(sum(apart) / len(apart), 9) if apart else math.inf  # equal to nine digits: the id decides
