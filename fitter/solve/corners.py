"""The end of each rating that makes a check worse, and how much each rating matters to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from fitter.checks.base import Check
from fitter.intervals import Interval
from fitter.solve.candidates import Array, Columns

LEAST_WEIGHT = 0.05  # of a rating that seemed not to matter where it was tried


class Corner:
    """One point of each candidate's box: for every rating the end that makes a check worse.

    ``weights`` tells how much each rating matters to the check.
    """

    def __init__(self, columns: Columns, ends: Mapping[str, int], weights: Mapping[str, float]) -> None:
        self.columns = columns
        self.ends = ends
        self.weights = weights

    def __len__(self) -> int:
        return len(self.columns)

    def bounds(self, rating: str) -> tuple[Array, Array]:
        """The chosen end of each candidate, twice."""
        end = self.columns.bounds(rating)[self.ends.get(rating, 0)]
        return end, end

    def minutes(self, rating: str) -> Array:
        """As of the candidates."""
        return self.columns.minutes(rating)


class Corners:
    """Finds the end of each rating that makes a check worse, by trying both at one typical place.

    How far the margins at both ends lie apart tells how much a rating matters.
    """

    def __init__(self) -> None:
        self._found: dict[tuple[object, ...], tuple[int, float]] = {}

    def of(
        self, check: Check, columns: Mapping[str, Columns], read: Mapping[str, Sequence[str]]
    ) -> dict[str, Corner]:
        """The worst corner of each role's candidates; tried once for each check and kind of part."""
        middle = {r: Middle(c) for r, c in columns.items()}
        found: dict[str, Corner] = {}
        for role, ratings in read.items():
            each = {r: self._end(check, middle, role, r) for r in ratings}
            ends, weights = ({r: pair[i] for r, pair in each.items()} for i in (0, 1))
            found[role] = Corner(columns[role], {r: int(e) for r, e in ends.items()}, weights)
        return found

    def _end(self, check: Check, middle: Mapping[str, Middle], role: str, rating: str) -> tuple[int, float]:
        """Which end is worse, and how much the rating matters."""
        view = middle[role]
        key = (type(check), view.kinds, rating)
        if key not in self._found:
            margins = []
            for end in view.hull(rating):
                view.pinned = {rating: end}
                margins.append(float(check.judge(middle).margin.lo))
            view.pinned = {}
            self._found[key] = int(margins[1] < margins[0]), max(_apart(*margins), LEAST_WEIGHT)
        return self._found[key]


def _apart(a: float, b: float) -> float:
    """How far two margins lie apart: the log of their ratio, both held between 1/50 and 50."""
    low, high = (min(max(m, 0.02), 50.0) for m in sorted((a, b)))
    return float(np.log(high / low))


class Middle:
    """A typical candidate of a role: the likely values in the middle of the list."""

    def __init__(self, columns: Columns) -> None:
        self.columns = columns
        self.kinds = columns.kinds
        self.pinned: Mapping[str, float] = {}

    def hull(self, rating: str) -> tuple[float, float]:
        """Least and greatest value among all candidates."""
        lo, hi = self.columns.bounds(rating)
        return float(lo.min()), float(hi.max())

    def __getitem__(self, rating: str) -> Interval:
        if rating in self.pinned:
            return Interval.point(self.pinned[rating])
        return Interval.point(self.columns.likely(rating))
