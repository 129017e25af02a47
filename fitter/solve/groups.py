"""Values of a variable in groups: a large stock seen coarsely, so that tables stay small.

A check reads only some ratings of a part, and many parts agree in those: a pulley's bore says
nothing about torque. So each table has groups of its own for each of its variables. Where the
members of every group agree, the table is exact; where they only resemble each other, each rating
of a group is the hull of its members', and the table is a bound.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from fitter.solve.candidates import Array, Ends

    Places = npt.NDArray[np.int64]


class Groups:
    """Which group each value of a variable belongs to; ``alike`` where members agree in all that counts."""

    def __init__(self, of: Places, *, alike: bool = True) -> None:
        self.of = of
        self.count = int(of.max()) + 1 if len(of) else 0
        self.alike = alike

    @staticmethod
    def singletons(size: int) -> Groups:
        """Every value by itself."""
        return Groups(np.arange(size))

    @property
    def single(self) -> bool:
        """Whether every value is by itself, in order."""
        return self.count == len(self.of)

    @cached_property
    def _sorted(self) -> tuple[Places, Places]:
        """Values sorted by group, and where each group starts."""
        order = np.argsort(self.of, kind="stable")
        return order, np.searchsorted(self.of[order], np.arange(self.count))

    @cached_property
    def first(self) -> Places:
        """The first member of each group."""
        order, starts = self._sorted
        return order[starts]

    def of_each(self, values: Array) -> Array:
        """The entry of its group for each value."""
        return np.asarray(values[self.of])

    def least(self, values: Array) -> Array:
        """Least value in each group, along the first axis."""
        return self._reduce(np.minimum, values)

    def greatest(self, values: Array) -> Array:
        """Greatest value in each group."""
        return self._reduce(np.maximum, values)

    def _reduce(self, what: np.ufunc, values: Array) -> Array:
        order, starts = self._sorted
        return np.asarray(what.reduceat(values[order], starts))


def refined(several: Iterable[Groups]) -> Groups:
    """The coarsest groups whose members share a group in each of several."""
    return _refined(tuple(dict.fromkeys(several)))


@lru_cache(maxsize=4096)
def _refined(distinct: tuple[Groups, ...]) -> Groups:
    finest = max(distinct, key=lambda g: g.count)
    if len(distinct) == 1 or finest.single:
        return finest
    code = distinct[0].of
    for other in distinct[1:]:
        code = code * other.count + other.of
    _, of = np.unique(code, return_inverse=True)
    return Groups(of)


class Grouped:
    """The ratings of groups of candidates: hulls of their members'."""

    def __init__(self, members: Ends, groups: Groups) -> None:
        self.members = members
        self.groups = groups
        self._bounds: dict[str, tuple[Array, Array]] = {}

    def __len__(self) -> int:
        return self.groups.count

    def bounds(self, rating: str) -> tuple[Array, Array]:
        """Hull of each group, shape ``(groups,)``."""
        if rating not in self._bounds:
            lo, hi = self.members.bounds(rating)
            if self.groups.alike:
                self._bounds[rating] = lo[self.groups.first], hi[self.groups.first]
            else:
                self._bounds[rating] = self.groups.least(lo), self.groups.greatest(hi)
        return self._bounds[rating]

    def minutes(self, rating: str) -> Array:
        """The least that any member takes to measure."""
        return self.groups.least(self.members.minutes(rating))


def agreeing(*values: Array) -> Groups:
    """Those that agree in each of several figures."""
    return refined([Groups(np.unique(v, return_inverse=True)[1]) for v in values])


class Splitter:
    """Groups of like candidates, joined at first and split one by one where they differ most.

    The widest group is halved, along the rating in which it is widest. Width counts places among the
    distinct values of both ends, times how much a rating matters (``weights``). Candidates that differ
    in what stands in ``apart`` are parted before all others.
    """

    def __init__(
        self, ends: Ends, weights: Mapping[str, float], apart: Sequence[Array], alike: Groups
    ) -> None:
        self.alike = alike
        rows = [_places(values[alike.first].astype(float)) * _BEFORE_ALL for values in apart]
        for name, weight in sorted(weights.items()):
            rows += [_places(end[alike.first]) * weight for end in ends.bounds(name)]
        self._ranks = np.stack(rows, axis=1)
        self._of = np.zeros(alike.count, dtype=np.int64)
        self._heap: list[tuple[float, int, int, Places]] = []
        self._push(0, np.arange(alike.count))
        self.count = 1

    def _push(self, number: int, members: Places) -> None:
        ranks = self._ranks[members]
        spans = ranks.max(axis=0) - ranks.min(axis=0)
        widest = int(spans.argmax())
        heapq.heappush(self._heap, (-float(spans[widest]), number, widest, members))

    @property
    def width(self) -> float:
        """Of the widest group; zero where splitting gains nothing."""
        return -self._heap[0][0]

    def split(self) -> None:
        """Halve the widest group; equal values stay together."""
        _, number, widest, members = heapq.heappop(self._heap)
        ranks = self._ranks[members, widest]
        low = ranks <= (ranks.max() + ranks.min()) / 2
        self._of[members[~low]] = self.count
        self._push(number, members[low])
        self._push(self.count, members[~low])
        self.count += 1

    @property
    def groups(self) -> Groups:
        """The groups as they are now."""
        if self.count == self.alike.count:
            return self.alike
        return Groups(self._of[self.alike.of], alike=False)


_BEFORE_ALL = 100.0


def _places(values: Array) -> Array:
    """Place of each value among the distinct ones, from 0 to 1."""
    place = np.unique(values, return_inverse=True)[1]
    return place / max(float(place.max()), 1.0)
