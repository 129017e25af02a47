"""Checks over many roles during search: exact when all roles are filled, bounded while some are open."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from fitter.checks.base import ROUNDING, Check
from fitter.intervals import Interval
from fitter.solve.candidates import Along, Array, Columns, Ends, Hull, Place
from fitter.solve.elimination import Table
from fitter.solve.ranked import FORBIDDEN, CostTable, WideCost
from fitter.solve.score import BUY, check_cost

TELLING_ROLES = 3  # roles of a wide check whose pairs are tabulated to guide the search
LARGEST_PAIR = 250_000  # entries of a table over two roles


def longest(columns: Ends, ratings: Iterable[str]) -> Array:
    """The longest open measurement among some ratings, for each candidate."""
    each = [columns.minutes(r) for r in sorted(ratings)]
    return np.max(each, axis=0) if each else np.zeros(len(columns))


class Sweep(WideCost):
    """A check over three roles or more, judged for all values of one role at a time.

    While roles are open two bounds are at hand. The check fails for certain if it does over the
    hull of everything open. It cannot be *fits* if it does not even pass at one point of each
    candidate's box, and the point that counts is the worst corner: which end of each rating that is
    was found by :class:`Corners`; a wrong guess only makes the bound weaker, never wrong.

    The best pair of roles carries part of the cost as a table (``charged``), so that messages see
    it; the sweep then gives what is left.
    """

    def __init__(self, check: Check, columns: Mapping[str, Columns], corners: Corners, *, soft: bool) -> None:
        self.check = check
        self.scope = tuple(dict.fromkeys(check.roles))
        self.columns = {r: columns[r] for r in self.scope}
        self.soft = soft
        self.worst = corners.of(check, self.columns)
        self.hulls = {r: Hull(c) for r, c in self.columns.items()}
        self.worst_hulls = {r: Hull(w) for r, w in self.worst.items()}
        self.minutes = {r: longest(c, self.worst[r].ends) for r, c in self.columns.items()}
        self.least_minutes = {r: float(m.min()) for r, m in self.minutes.items()}
        self.charged: Table | None = None

    def sweep(self, assigned: Mapping[str, int], variable: str) -> Array:
        if any(k not in assigned and k != variable for k in self.check.keys):
            return np.zeros(len(self.columns[variable]))
        cost = self._bound(assigned, {variable: 0}, 1)
        paid = self._paid(assigned, variable)
        if paid is None:
            return np.where(cost == FORBIDDEN, FORBIDDEN, 0.0)
        return np.where(cost == FORBIDDEN, FORBIDDEN, np.maximum(cost - paid, 0.0))

    def _paid(self, assigned: Mapping[str, int], variable: str) -> Array | float | None:
        """What the charged table has already added; none while one of its roles is open."""
        if self.charged is None:
            return 0.0
        if all(v in assigned or v == variable for v in self.charged.scope):
            return self.charged.row(assigned, variable)
        return None

    def project(self, pair: tuple[str, ...]) -> Array:
        """Lower bound of the cost over a few roles, whatever fills the others."""
        return self._bound({}, {role: axis for axis, role in enumerate(pair)}, len(pair))

    def _bound(self, assigned: Mapping[str, int], along: Mapping[str, int], axes: int) -> Array:
        full = {r: self._view(r, assigned, along, axes, self.columns, self.hulls) for r in self.scope}
        judgement = self.check.judge(full)
        margin = judgement.margin
        shape = [1] * axes
        for role, axis in along.items():
            shape[axis] = len(self.columns[role])
        undecided = np.any((np.asarray(margin.lo) < 1 - ROUNDING) & (np.asarray(margin.hi) >= 1 - ROUNDING))
        if undecided and len(assigned) + len(along) < len(self.scope):
            points = {
                r: self._view(r, assigned, along, axes, self.worst, self.worst_hulls) for r in self.scope
            }
            judgement = replace(judgement, margin=Interval(self.check.judge(points).margin.hi, margin.hi))
        minutes = functools.reduce(np.maximum, (self._minutes(r, assigned, along, axes) for r in self.scope))
        return np.broadcast_to(check_cost(judgement, minutes, soft=self.soft), shape)

    def _view(
        self,
        role: str,
        assigned: Mapping[str, int],
        along: Mapping[str, int],
        axes: int,
        columns: Mapping[str, Columns | Corner],
        hulls: Mapping[str, Hull],
    ) -> Along | Hull | Place:
        if role in along:
            return Along(columns[role], along[role], axes)
        if role in assigned:
            return Place(columns[role], assigned[role])
        return hulls[role]

    def _minutes(
        self, role: str, assigned: Mapping[str, int], along: Mapping[str, int], axes: int
    ) -> Array | float:
        """The longest open measurement among the ratings read; of an open role, the least any has."""
        each = self.minutes[role]
        if role in along:
            return each.reshape([-1 if i == along[role] else 1 for i in range(axes)])
        return float(each[assigned[role]]) if role in assigned else self.least_minutes[role]

    def cost(self, assignment: Mapping[str, int]) -> float:
        places = {r: assignment[r] for r in self.scope if r in assignment}
        paid = self.charged.at(assignment) if self.charged else 0.0
        return float(self._bound(places, {}, 0)) - paid


def projections(sweep: Sweep) -> list[CostTable]:
    """Tables over the pairs of the roles with most candidates; the dearest one is charged for the sweep."""
    if sweep.check.keys:
        return []
    telling = sorted(sweep.scope, key=lambda r: (-len(sweep.columns[r]), r))[:TELLING_ROLES]
    pairs = [
        pair
        for pair in itertools.combinations(telling, 2)
        if len(sweep.columns[pair[0]]) * len(sweep.columns[pair[1]]) <= LARGEST_PAIR
    ]
    costs = {pair: sweep.project(pair) for pair in pairs}
    if not costs:
        return []
    dearest = max(pairs, key=lambda p: _spread(costs[p]))
    sweep.charged = Table(dearest, np.where(costs[dearest] == FORBIDDEN, 0.0, costs[dearest]))
    return [
        CostTable(pair, cost if pair == dearest else np.where(cost == FORBIDDEN, FORBIDDEN, 0.0))
        for pair, cost in costs.items()
    ]


def _spread(costs: Array) -> float:
    """How much a table tells apart: mean cost, with forbidden entries as dear as a purchase."""
    return float(np.mean(np.minimum(costs, BUY)))


class Corner:
    """One point of each candidate's box: for every rating the end that makes a check worse."""

    def __init__(self, columns: Columns, ends: Mapping[str, int]) -> None:
        self.columns = columns
        self.ends = ends

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
    """Finds the end of each rating that makes a check worse, by trying both at one typical place."""

    def __init__(self) -> None:
        self._ends: dict[tuple[object, ...], int] = {}

    def of(self, check: Check, columns: Mapping[str, Columns]) -> dict[str, Corner]:
        """The worst corner of each role's candidates; tried once for each check and kind of part."""
        middle = {r: Middle(c) for r, c in columns.items()}
        check.judge(middle)
        return {
            role: Corner(columns[role], {r: self._end(check, middle, role, r) for r in sorted(view.read)})
            for role, view in middle.items()
        }

    def _end(self, check: Check, middle: Mapping[str, Middle], role: str, rating: str) -> int:
        view = middle[role]
        key = (type(check), view.kinds, rating)
        if key not in self._ends:
            margins = []
            for end in view.hull(rating):
                view.pinned = {rating: end}
                margins.append(float(check.judge(middle).margin.lo))
            view.pinned = {}
            self._ends[key] = int(margins[1] < margins[0])
        return self._ends[key]


class Middle:
    """A typical candidate of a role: the likely values in the middle of the list."""

    def __init__(self, columns: Columns) -> None:
        self.columns = columns
        self.kinds = columns.kinds
        self.read: set[str] = set()
        self.pinned: Mapping[str, float] = {}

    def hull(self, rating: str) -> tuple[float, float]:
        """Least and greatest value among all candidates."""
        lo, hi = self.columns.bounds(rating)
        return float(lo.min()), float(hi.max())

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        if rating in self.pinned:
            return Interval.point(self.pinned[rating])
        return Interval.point(self.columns.likely(rating))
