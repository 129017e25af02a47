"""Checks over several roles during search: judged for all values of one role at a time."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitter.checks.base import ROUNDING, Check, Judgement
from fitter.intervals import Interval, Number
from fitter.solve.candidates import Along, Array, Columns, Ends, Hull, Place
from fitter.solve.corners import Corner, Corners
from fitter.solve.elimination import Table
from fitter.solve.groups import Grouped, Groups, Splitter
from fitter.solve.ranked import FORBIDDEN, CostTable, Weighted, WideCost
from fitter.solve.score import check_cost

FOCUS = 8.0  # how much more differences count in a role that is looked at closely
FEW = 8  # candidates of a role that are not worth grouping


def longest(columns: Ends, ratings: Iterable[str]) -> Array:
    """The longest open measurement among some ratings, for each candidate."""
    each = [columns.minutes(r) for r in sorted(ratings)]
    return np.max(each, axis=0) if each else np.zeros(len(columns))


@dataclass(frozen=True)
class Pricing:
    """What verdicts cost: a failing check forbids unless ``soft``; minutes count if ``priced``.

    ``strict`` forbids whatever does not fit for certain.
    """

    soft: bool = False
    priced: bool = True
    strict: bool = False

    def cost(self, judgement: Judgement, minutes: Number) -> Array:
        """Cost of a check."""
        cost = check_cost(judgement, minutes, soft=self.soft)
        if self.strict:
            return np.where(cost > 0, FORBIDDEN, 0.0)
        return cost if self.priced else np.where(cost == FORBIDDEN, FORBIDDEN, 0.0)


class JudgedCost(WideCost):
    """A check and the candidates of its roles, each by itself and in groups.

    Two bounds are at hand for a group, or for all candidates of a role. The check fails for certain
    if it does over the hull of its members. It cannot be *fits* if it does not even pass at one point
    of each member's box, and the point that counts is the worst corner: which end of each rating that
    is was found by :class:`Corners`; a wrong guess only makes the bound weaker, never wrong.
    """

    def __init__(
        self, check: Check, columns: Mapping[str, Columns], corners: Corners, pricing: Pricing
    ) -> None:
        self.check = check
        self.roles = check.roles
        self.columns = {r: columns[r] for r in self.roles}
        self.pricing = pricing
        self.corners = corners
        hulls = {r: Hull(c) for r, c in self.columns.items()}
        self.always = bool(check.judge(hulls).margin.lo >= 1 - ROUNDING)
        self.read = {r: sorted(hull.read) for r, hull in hulls.items()}

    @functools.cached_property
    def minutes(self) -> dict[str, Array]:
        """The longest open measurement among the ratings read, for each candidate."""
        return {r: longest(c, self.read[r]) for r, c in self.columns.items()}

    @functools.cached_property
    def worst(self) -> dict[str, Corner]:
        """The worst corner of each candidate's box."""
        return self.corners.of(self.check, self.columns, self.read)

    @functools.cached_property
    def alike(self) -> dict[str, Groups]:
        """Candidates of each role that agree in all that this check reads."""
        return {
            r: Groups.singletons(len(c)) if len(c) <= FEW else c.alike(self.read[r])
            for r, c in self.columns.items()
        }

    def within(
        self, scopes: Sequence[tuple[str, ...]], entries: int, focus: str | None = None
    ) -> dict[str, Groups]:
        """Groups of each role so coarse that a table over any of the scopes keeps to a number of entries.

        All of a role's candidates are one group at first; what differs most in what matters is parted
        first, whichever role that is. A role in focus is parted before the others.
        """
        if all(math.prod(self.alike[r].count for r in scope) <= entries for scope in scopes):
            return self.alike
        parted = {r: self._splitter(r) for r in self.roles}
        open_roles = set(self.roles)
        while open_roles:
            role = max(open_roles, key=lambda r: (parted[r].width * (FOCUS if r == focus else 1.0), r))
            if parted[role].width <= 0 or not _room_for_one(role, parted, scopes, entries):
                open_roles.discard(role)
            else:
                parted[role].split()
        return {r: p.groups for r, p in parted.items()}

    def _splitter(self, role: str) -> Splitter:
        columns = self.columns[role]
        weights = self.worst[role].weights
        return Splitter(columns, weights, (columns.bought, self.minutes[role]), self.alike[role])

    def exactly(self, assigned: Mapping[str, int], variable: str | None = None) -> Array:
        """Cost for every value of one role (or one cost, with none), all others assigned."""
        views = {r: Along(c) if r == variable else Place(c, assigned[r]) for r, c in self.columns.items()}
        minutes = functools.reduce(
            np.maximum, (m if r == variable else m[assigned[r]] for r, m in self.minutes.items())
        )
        cost = self.pricing.cost(self.check.judge(views), minutes)
        return np.broadcast_to(cost, (len(self.columns[variable]),) if variable else ())


def _room_for_one(
    role: str, parted: Mapping[str, Splitter], scopes: Sequence[tuple[str, ...]], entries: int
) -> bool:
    """Whether one group more of a role keeps all tables within a number of entries."""
    return all(
        math.prod(parted[r].count + (r == role) for r in scope) <= entries
        for scope in scopes
        if role in scope
    )


class Sweep(JudgedCost):
    """A check as a table over groups, and judged itself once all its roles but one are filled."""

    @property
    def scope(self) -> tuple[str, ...]:  # type: ignore[override]
        return self.roles

    def tabulated(self, entries: int, focus: str | None = None) -> Weighted:
        """The exact table if its size allows; else the sweep itself, with a table that bounds it."""
        groups = self.within([self.roles], entries, focus)
        grid = Grid(self, groups)
        exact = all(g.alike for g in groups.values())
        costs = self._costs(grid, exact=exact)
        if exact:
            return CostTable(self.scope, costs, groups)
        self.bounding = Table(self.scope, costs, groups)
        return self

    def _costs(self, grid: Grid, *, exact: bool) -> Array:
        judgement = self.check.judge(grid.full(self.roles))
        margin = judgement.margin
        if not exact and np.any(
            (np.asarray(margin.lo) < 1 - ROUNDING) & (np.asarray(margin.hi) >= 1 - ROUNDING)
        ):
            at_worst = self.check.judge(grid.corner(self.roles)).margin
            judgement = replace(judgement, margin=Interval(at_worst.hi, margin.hi))
        minutes = functools.reduce(
            np.maximum, (grid.least(r, m, self.roles) for r, m in self.minutes.items())
        )
        return np.broadcast_to(self.pricing.cost(judgement, minutes), grid.shape(self.roles))

    def sweep(self, assigned: Mapping[str, int], variable: str) -> Array:
        return self.exactly(assigned, variable)

    def cost(self, assignment: Mapping[str, int]) -> float:
        return float(self.exactly(assignment))


class Grid:
    """Groups of candidates along the axes of a table, one axis a role."""

    def __init__(self, judged: JudgedCost, groups: Mapping[str, Groups]) -> None:
        self.judged = judged
        self.groups = groups
        self._columns = {r: Grouped(c, groups[r]) for r, c in judged.columns.items()}

    @functools.cached_property
    def _corners(self) -> dict[str, Grouped]:
        return {r: Grouped(c, self.groups[r]) for r, c in self.judged.worst.items()}

    def full(self, scope: Sequence[str]) -> dict[str, Along]:
        """The whole ranges of each group."""
        return {r: Along(self._columns[r], axis, len(scope)) for axis, r in enumerate(scope)}

    def corner(self, scope: Sequence[str]) -> dict[str, Along]:
        """Only the worst corners of each member."""
        return {r: Along(self._corners[r], axis, len(scope)) for axis, r in enumerate(scope)}

    def least(self, role: str, values: Array, scope: Sequence[str]) -> Array:
        """The least value of each group, along the axis of its role."""
        return self.groups[role].least(values).reshape([-1 if r == role else 1 for r in scope])

    def shape(self, scope: Sequence[str]) -> tuple[int, ...]:
        """Shape of a table over some roles."""
        return tuple(self.groups[r].count for r in scope)
