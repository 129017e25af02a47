"""Checks over many roles during search: exact when all roles are filled, bounded while some are open."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from fitter.checks.base import ROUNDING, Check
from fitter.intervals import Interval
from fitter.solve.candidates import Along, Array, Columns, Ends, Hull, Place
from fitter.solve.elimination import Table
from fitter.solve.groups import Grouped, Groups, alike, resembling
from fitter.solve.ranked import FORBIDDEN, CostTable, WideCost
from fitter.solve.score import BUY, check_cost

FEW = 8  # candidates of a role that are not worth grouping
LEAST_WEIGHT = 0.05  # of a rating that seemed not to matter where it was tried
TELLING_ROLES = 3  # roles of a wide check whose pairs are tabulated to guide the search
View: TypeAlias = "Along | Hull | Place"


def forbidden_or_free(cost: Array) -> Array:
    """Costs that only say what is ruled out."""
    return np.where(cost == FORBIDDEN, FORBIDDEN, 0.0)


def longest(columns: Ends, ratings: Iterable[str]) -> Array:
    """The longest open measurement among some ratings, for each candidate."""
    each = [columns.minutes(r) for r in sorted(ratings)]
    return np.max(each, axis=0) if each else np.zeros(len(columns))


class Sweep(WideCost):
    """A check over several roles, judged for all values of one role at a time.

    While roles are open two bounds are at hand. The check fails for certain if it does over the
    hull of everything open. It cannot be *fits* if it does not even pass at one point of each
    candidate's box, and the point that counts is the worst corner: which end of each rating that is
    was found by :class:`Corners`; a wrong guess only makes the bound weaker, never wrong.

    Where groups of candidates make a table of fair size, the check is bounded by that
    (:meth:`tabulate`) and judged itself only once all its roles are filled. Else it is judged on
    partial assignments too, and a table over the best pair of roles carries part of the cost
    (:meth:`project_pairs`), so that messages see it; the sweep then gives what is left.
    """

    def __init__(
        self,
        check: Check,
        columns: Mapping[str, Columns],
        corners: Corners,
        *,
        soft: bool,
        priced: bool = True,
    ) -> None:
        self.check = check
        self.scope = tuple(dict.fromkeys(check.roles))
        self.columns = {r: columns[r] for r in self.scope}
        self.soft = soft
        self.priced = priced
        self.corners = corners
        self.worst = corners.of(check, self.columns)
        self.minutes = {r: longest(c, self.worst[r].ends) for r, c in self.columns.items()}
        self.bounding: Table | None = None
        self.paid: CostTable | None = None

    @functools.cached_property
    def _each(self) -> _Level:
        """Every candidate by itself."""
        return _Level(self.columns, self.worst, self.minutes)

    @functools.cached_property
    def alike(self) -> dict[str, Groups]:
        """Candidates of each role that agree in all that this check reads."""
        return {
            r: Groups.singletons(len(c)) if len(c) <= FEW else alike(c, sorted(self.worst[r].ends), c.bought)
            for r, c in self.columns.items()
        }

    def _coarse(self, groups: Mapping[str, Groups]) -> _Level:
        """Groups of candidates."""
        return _Level(
            {r: Grouped(c, groups[r]) for r, c in self.columns.items()},
            {r: Grouped(w, groups[r]) for r, w in self.worst.items()},
            {r: groups[r].least(m) for r, m in self.minutes.items()},
        )

    def _within(self, scope: tuple[str, ...], entries: int) -> dict[str, Groups]:
        """Groups of each role so coarse that a table over some roles keeps to a number of entries."""
        groups = dict(self.alike)
        counts = {r: groups[r].count for r in scope}
        while math.prod(counts.values()) > entries:
            largest = max(scope, key=lambda r: (counts[r], r))
            counts[largest] = (counts[largest] + 1) // 2
        for role in scope:
            weights = self.corners.weights(self.check, self.columns[role].kinds)
            columns = self.columns[role]
            apart = (columns.bought, self.minutes[role])
            groups[role] = resembling(columns, weights, apart, groups[role], counts[role])
        return groups

    def sweep(self, assigned: Mapping[str, int], variable: str) -> Array:
        if any(k not in assigned and k != variable for k in self.check.keys):
            return np.zeros(len(self.columns[variable]))
        cost = self._bound(self._each, assigned, {variable: 0}, 1)
        if self.paid is None:
            return cost
        if not all(v in assigned or v == variable for v in self.paid.scope):
            return np.where(cost == FORBIDDEN, FORBIDDEN, 0.0)
        paid = (
            self.paid.table.row(assigned, variable)
            if variable in self.paid.scope
            else self.paid.cost(assigned)
        )
        left = np.maximum(cost - np.where(np.isinf(paid), 0.0, paid), 0.0)
        return np.where(cost == FORBIDDEN, FORBIDDEN, left)

    def tabulate(self, entries: int) -> CostTable | None:
        """A table over groups of candidates: the exact one if its size allows, else it becomes the bound."""
        groups = self._within(self.scope, entries)
        costs = self._project(self.scope, groups)
        if all(g.alike for g in groups.values()):
            return CostTable(self.scope, costs, groups)
        self.bounding = Table(self.scope, costs, groups)
        return None

    def project_pairs(self, entries: int) -> list[CostTable]:
        """Tables over pairs of the roles with most candidates; the dearest one is paid by the search."""
        if self.check.keys:
            return []
        telling = sorted(self.scope, key=lambda r: (-self.alike[r].count, r))[:TELLING_ROLES]
        found = []
        for pair in itertools.combinations(telling, 2):
            groups = self._within(pair, entries)
            found.append(CostTable(pair, self._project(pair, groups), {r: groups[r] for r in pair}))
        self.paid = max(found, key=lambda t: _spread(t.table.costs))
        return [t if t is self.paid else _only_forbidden(t) for t in found]

    def _project(self, scope: tuple[str, ...], groups: Mapping[str, Groups]) -> Array:
        """Lower bound of the cost over the groups of some roles, whatever fills the others."""
        along = {role: axis for axis, role in enumerate(scope)}
        exact = len(scope) == len(self.scope) and all(g.alike for g in groups.values())
        return self._bound(self._coarse(groups), {}, along, len(scope), exact=exact)

    def _bound(
        self,
        level: _Level,
        assigned: Mapping[str, int],
        along: Mapping[str, int],
        axes: int,
        *,
        exact: bool | None = None,
    ) -> Array:
        judgement = self.check.judge({r: level.full(r, assigned, along, axes) for r in self.scope})
        margin = judgement.margin
        shape = [1] * axes
        for role, axis in along.items():
            shape[axis] = len(level.ends[role])
        undecided = np.any((np.asarray(margin.lo) < 1 - ROUNDING) & (np.asarray(margin.hi) >= 1 - ROUNDING))
        if exact is None:
            exact = all(r in assigned or r in along for r in self.scope)
        if undecided and not exact:
            points = {r: level.corner(r, assigned, along, axes) for r in self.scope}
            judgement = replace(judgement, margin=Interval(self.check.judge(points).margin.hi, margin.hi))
        minutes = functools.reduce(np.maximum, (level.open(r, assigned, along, axes) for r in self.scope))
        cost = check_cost(judgement, minutes, soft=self.soft)
        return np.broadcast_to(cost if self.priced else forbidden_or_free(cost), shape)

    def cost(self, assignment: Mapping[str, int]) -> float:
        places = {r: assignment[r] for r in self.scope}
        paid = self.paid.cost(assignment) if self.paid else 0.0
        return float(self._bound(self._each, places, {}, 0)) - paid


class _Level:
    """What fills the roles of a check, seen candidate by candidate or group by group."""

    def __init__(
        self, ends: Mapping[str, Ends], corners: Mapping[str, Ends], minutes: Mapping[str, Array]
    ) -> None:
        self.ends = ends
        self.corners = corners
        self.minutes = minutes
        self._hulls: dict[tuple[str, bool], Hull] = {}

    def full(self, role: str, assigned: Mapping[str, int], along: Mapping[str, int], axes: int) -> View:
        """The whole ranges of what fills a role."""
        return self._view(self.ends[role], role, assigned, along, axes, corner=False)

    def corner(self, role: str, assigned: Mapping[str, int], along: Mapping[str, int], axes: int) -> View:
        """Only the worst corners."""
        return self._view(self.corners[role], role, assigned, along, axes, corner=True)

    def _view(
        self,
        ends: Ends,
        role: str,
        assigned: Mapping[str, int],
        along: Mapping[str, int],
        axes: int,
        *,
        corner: bool,
    ) -> View:
        if role in along:
            return Along(ends, along[role], axes)
        if role in assigned:
            return Place(ends, assigned[role])
        if (role, corner) not in self._hulls:
            self._hulls[role, corner] = Hull(ends)
        return self._hulls[role, corner]

    def open(
        self, role: str, assigned: Mapping[str, int], along: Mapping[str, int], axes: int
    ) -> Array | float:
        """The longest open measurement among the ratings read; of an open role, the least any has."""
        each = self.minutes[role]
        if role in along:
            return each.reshape([-1 if i == along[role] else 1 for i in range(axes)])
        return float(each[assigned[role]]) if role in assigned else float(each.min())


def _spread(costs: Array) -> float:
    """How much a table tells apart: mean cost, with forbidden entries as dear as a purchase."""
    return float(np.mean(np.minimum(costs, BUY)))


def _only_forbidden(table: CostTable) -> CostTable:
    costs = table.table.costs
    return CostTable(table.scope, np.where(costs == FORBIDDEN, FORBIDDEN, 0.0), table.table.groups)


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
    """Finds the end of each rating that makes a check worse, by trying both at one typical place.

    How far the margins at both ends lie apart tells how much a rating matters (:attr:`weights`).
    """

    def __init__(self) -> None:
        self._ends: dict[tuple[object, ...], int] = {}
        self._weights: dict[tuple[object, ...], float] = {}

    def weights(self, check: Check, kinds: frozenset[str]) -> dict[str, float]:
        """How much each rating of some kinds matters to a check."""
        return {str(k[2]): w for k, w in self._weights.items() if k[:2] == (type(check), kinds)}

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
            self._weights[key] = max(_apart(*margins), LEAST_WEIGHT)
        return self._ends[key]


def _apart(a: float, b: float) -> float:
    """How far two margins lie apart: the log of their ratio, both held between 1/50 and 50."""
    low, high = (min(max(m, 0.02), 50.0) for m in sorted((a, b)))
    return float(np.log(high / low))


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
