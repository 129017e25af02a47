"""Checks turned into costs: tables over one or two roles, and sweeps over more.

A check is judged once for all candidates of its roles together, as arrays. Tables are kept and
shared by all variants of a project in which the same check stands.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

import networkx as nx
import numpy as np

from fitter.checks.base import ROUNDING, Check
from fitter.checks.find import find_checks
from fitter.functions import Role
from fitter.intervals import Interval
from fitter.solve.candidates import Along, Array, Candidate, Columns, Ends, Hull, Place, Pool
from fitter.solve.elimination import Table
from fitter.solve.ranked import FORBIDDEN, CostTable, Pieces, Weighted, WideCost
from fitter.solve.score import BUY, Waste, check_cost

if TYPE_CHECKING:
    import numpy.typing as npt

Mask: TypeAlias = "npt.NDArray[np.bool_]"
TELLING_ROLES = 3  # roles of a wide check whose pairs are tabulated to guide the search
LARGEST_PAIR = 250_000  # entries of a table over two roles
LARGEST_FULL = 200_000  # entries of a check over more roles that is tabulated whole


class Filters:
    """What the maker fixes or rules out by hand: ``--with`` and ``--without``."""

    def __init__(self, fixed: Mapping[str, str] | None = None, without: Sequence[str] = ()) -> None:
        self.fixed = dict(fixed or {})
        self.without = frozenset(without)

    def keep(self, role: str, columns: Columns) -> Mask:
        """Which candidates of a role remain."""
        keep = np.ones(len(columns), dtype=bool)
        for lot in self.without:
            keep &= columns.bought | (columns.lot_ids != lot)
        if role in self.fixed:
            keep &= ~columns.bought & (columns.lot_ids == self.fixed[role])
        return keep


class Tables:
    """Costs of all checks of a project over the candidates of a pool."""

    def __init__(
        self,
        pool: Pool,
        waste: Waste,
        filters: Filters | None = None,
        *,
        soft: bool = False,
        buying: bool = True,
    ) -> None:
        self.pool = pool
        self.waste = waste
        self.filters = filters or Filters()
        self.soft = soft
        self.buying = buying
        self.corners = Corners()
        self._sweeps: dict[tuple[Check, tuple[Columns, ...]], tuple[Sweep, list[CostTable]]] = {}
        self._costs: dict[tuple[Check, tuple[Columns, ...]], Array] = {}
        self._columns: dict[tuple[Role, tuple[Check, ...]], tuple[Columns, Array]] = {}

    def role(self, role: Role, checks: Sequence[Check]) -> tuple[Columns, Array]:
        """Candidates of a role that pass its own checks, and what each costs by itself."""
        key = (role, tuple(checks))
        if key not in self._columns:
            self._columns[key] = self._role(role, checks)
        return self._columns[key]

    def _role(self, role: Role, checks: Sequence[Check]) -> tuple[Columns, Array]:
        columns = self.pool.columns(role)
        if not self.buying:
            columns = columns.select(~columns.bought)
        columns = columns.select(self.filters.keep(role.name, columns))
        cost = BUY * columns.bought + self.waste.cents(columns, role.count)
        for check in checks:
            if len(columns):
                cost = cost + self.cost(check, (columns,))
        keep = cost < FORBIDDEN
        return columns.select(keep), cost[keep]

    def cost(self, check: Check, columns: tuple[Columns, ...]) -> Array:
        """Costs of a check, one axis a role, for every combination of candidates."""
        key = (check, columns)
        if key not in self._costs:
            views = {
                role: Along(c, axis, len(columns))
                for axis, (role, c) in enumerate(zip(dict.fromkeys(check.roles), columns, strict=True))
            }
            shape = tuple(len(c) for c in columns)
            self._costs[key] = np.broadcast_to(self.judge(check, views), shape).astype(float)
        return self._costs[key]

    def wide(self, check: Check, columns: Mapping[str, Columns]) -> tuple[Sweep, list[CostTable]]:
        """A check over many roles as a sweep, and the tables that bound it for pairs of roles."""
        key = (check, tuple(columns[r] for r in check.roles))
        if key not in self._sweeps:
            sweep = Sweep(check, columns, self)
            self._sweeps[key] = sweep, _projections(sweep)
        return self._sweeps[key]

    def judge(self, check: Check, views: Mapping[str, Along]) -> Array:
        """Cost of a check for all candidates of its roles."""
        judgement = check.judge(views)
        minutes: float | Array = 0.0
        for view in views.values():
            minutes = np.maximum(minutes, _longest(view.columns, view.read).reshape(view.shape))
        return check_cost(judgement, minutes, soft=self.soft)


def _longest(columns: Ends, ratings: Iterable[str]) -> Array:
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

    def __init__(self, check: Check, columns: Mapping[str, Columns], tables: Tables) -> None:
        self.check = check
        self.scope = tuple(dict.fromkeys(check.roles))
        self.columns = {r: columns[r] for r in self.scope}
        self.tables = tables
        self.worst = tables.corners.of(check, self.columns)
        self.hulls = {r: Hull(c) for r, c in self.columns.items()}
        self.worst_hulls = {r: Hull(w) for r, w in self.worst.items()}
        self.minutes = {r: _longest(c, self.worst[r].ends) for r, c in self.columns.items()}
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
        return np.broadcast_to(check_cost(judgement, minutes, soft=self.tables.soft), shape)

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


def _projections(sweep: Sweep) -> list[CostTable]:
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


class Model:
    """One variant of a project as variables and weighted constraints.

    The checks over many roles, which take longest to set up, come with :meth:`widen`; without them
    the model is a relaxation, good for a bound.
    """

    def __init__(self, graph: nx.DiGraph[str], tables: Tables) -> None:
        self.tables = tables
        self.graph = graph
        self.checks = find_checks(graph)
        self.roles: dict[str, Role] = {n: d["role"] for n, d in graph.nodes(data=True) if "role" in d}
        own: dict[str, list[Check]] = {r: [] for r in self.roles}
        for check in self.checks:
            if len(check.roles) == 1:
                own[check.roles[0]].append(check)
        self.columns: dict[str, Columns] = {}
        self.constraints: list[Weighted] = []
        for name, role in self.roles.items():
            self.columns[name], cost = tables.role(role, own[name])
            self.constraints.append(CostTable((name,), cost))
        self._wide: list[Check] = []
        if self.possible:
            self.constraints += self._joint()
            self.constraints.append(self._pieces())

    def widen(self) -> None:
        """Add the checks over many roles."""
        for check in self._wide:
            sweep, projections = self.tables.wide(check, self.columns)
            self.constraints += [sweep, *projections]
        self._wide = []

    @property
    def possible(self) -> bool:
        """Whether every role has a candidate left."""
        return all(len(c) for c in self.columns.values())

    @property
    def sizes(self) -> dict[str, int]:
        """Number of candidates of each role."""
        return {r: len(c) for r, c in self.columns.items()}

    def _joint(self) -> list[Weighted]:
        found: list[Weighted] = []
        for check in self.checks:
            scope = tuple(dict.fromkeys(check.roles))
            if len(scope) < 2:
                continue
            if len(scope) == 2 or math.prod(len(self.columns[r]) for r in scope) <= LARGEST_FULL:
                costs = self.tables.cost(check, tuple(self.columns[r] for r in scope))
                if costs.any():
                    found.append(CostTable(scope, costs))
            elif not self._always_fits(check):
                self._wide.append(check)
        return found

    def _always_fits(self, check: Check) -> bool:
        """Whether a check passes whatever fills its roles, so that it can be left out."""
        margin = check.judge({r: Hull(self.columns[r]) for r in dict.fromkeys(check.roles)}).margin
        return bool(margin.lo >= 1 - ROUNDING)

    def _pieces(self) -> Pieces:
        units = np.unique(np.concatenate([c.unit for c in self.columns.values()]))
        available = np.zeros(len(units), dtype=np.int64)
        sources, pieces = {}, {}
        for name, columns in self.columns.items():
            place = np.searchsorted(units, columns.unit)
            shares = bool(self.graph.nodes[name].get("makes_rail"))
            unlimited = columns.bought | (shares & (columns.count == 1))
            sources[name] = np.where(unlimited, -1, place)
            pieces[name] = self.roles[name].count * columns.pieces
            available[place] = columns.count
        return Pieces(sources, pieces, available)

    def candidate(self, role: str, value: int) -> Candidate:
        """The candidate that a value stands for."""
        return self.columns[role].candidate(value)
