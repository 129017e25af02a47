"""Sums over many roles during search: what all consumers take, against what there is.

A sum over a dozen roles makes no table, but each of its amounts reads a few roles only and does. A
lower bound of the sum adds up the least that each amount can still be. What the check will say is a
variable of its own, the *outcome*, assigned before all roles: where it says *fits* the sum is a hard
limit for all that follows, and where it says *unproven* the minutes of measuring are paid at once.
Without it every cheap set that just misses *fits* would have to be looked at by itself.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from fitter.checks.sums import SumCheck
from fitter.intervals import Interval
from fitter.solve.candidates import Along, Array, Columns
from fitter.solve.corners import Corners
from fitter.solve.elimination import Table, spread
from fitter.solve.groups import Groups
from fitter.solve.ranked import FORBIDDEN, CostTable, Weighted
from fitter.solve.score import FAIL, open_cost
from fitter.solve.sweeps import Grid, JudgedCost, Pricing

if TYPE_CHECKING:
    import numpy.typing as npt

_Of = Callable[[Mapping[str, Along]], Interval]
SLACK = 1e-6  # how far a sum may pass its limit before it is cut off unjudged: rounding must not decide


class Outcome(Enum):
    """What a sum's check says; ``PASSES`` where nobody asks whether it fits or is unproven."""

    FITS = "fits"
    UNPROVEN = "unproven"
    FAILS = "fails"
    PASSES = "passes"

    @staticmethod
    def under(pricing: Pricing) -> tuple[Outcome, ...]:
        """The outcomes that a set may have."""
        if pricing.strict:
            return (Outcome.FITS,)
        if not pricing.priced:
            return (Outcome.PASSES,)
        return (Outcome.FITS, Outcome.UNPROVEN, Outcome.FAILS)[: 3 if pricing.soft else 2]

    def holds(self, cost: Array) -> npt.NDArray[np.bool_]:
        """Whether a check of this cost has this outcome."""
        held = {
            Outcome.FITS: cost == 0,
            Outcome.UNPROVEN: (cost > 0) & (cost < FAIL),
            Outcome.FAILS: cost == FAIL,
            Outcome.PASSES: cost < FAIL,
        }
        return np.asarray(held[self])


@dataclass(eq=False)
class _Bounded:
    """Lower bounds over groups of a few roles; open roles are minimised out, once for each set of them."""

    table: Table
    _reduced: dict[frozenset[str], Table] = field(default_factory=dict)

    def below(self, assigned: Mapping[str, int], variable: str | None) -> Array | float:
        """The least for what is assigned, for every value of one more role if it counts here."""
        filled = frozenset(r for r in self.table.scope if r in assigned or r == variable)
        if filled not in self._reduced:
            self._reduced[filled] = self.table.least(filled)
        reduced = self._reduced[filled]
        if variable is not None and variable in reduced.scope:
            return reduced.row(assigned, variable)
        return reduced.at(assigned)


@dataclass
class _Excess:
    """What is taken less what there is: amounts with their weights, and the room as a negative amount."""

    amounts: list[_Bounded]
    weights: list[_Bounded | None]  # of each amount; none where it always counts
    room: _Bounded

    def above(self, assigned: Mapping[str, int], variable: str | None) -> Array | np.bool_:
        """Where more is taken for certain than there is, whatever fills the open roles."""
        known: dict[_Bounded | None, Array | float] = {None: 1.0}
        total: Array | float = 0.0
        for amount, weight in zip(self.amounts, self.weights, strict=True):
            if weight not in known and weight is not None:
                known[weight] = weight.below(assigned, variable)
            if _some(known[weight]):
                total = total + amount.below(assigned, variable) * known[weight]
        return _over(total, -self.room.below(assigned, variable)) if _some(total) else np.False_


def _some(amount: Array | float) -> bool:
    return amount != 0 if isinstance(amount, float) else bool(amount.any())


def _over(total: Array | float, room: Array | float) -> Array | np.bool_:
    return np.asarray(total > np.maximum(room, 0.0) * (1 + SLACK) + 1e-12)


class Sum(JudgedCost):
    """A :class:`SumCheck` with its outcome as a further variable."""

    def __init__(
        self,
        check: SumCheck,
        columns: Mapping[str, Columns],
        corners: Corners,
        pricing: Pricing,
        entries: int,
        focus: str | None = None,
    ) -> None:
        super().__init__(check, columns, corners, pricing)
        self.sum = check
        self.outcome = f"{check.name}: {', '.join(check.roles)}"
        self.first = (self.outcome,)
        self.scope = (self.outcome, *self.roles)
        self.outcomes = Outcome.under(pricing)
        self.entries = entries
        self.focus = focus

    @functools.cached_property
    def grid(self) -> Grid:
        """Groups so coarse that the table of each amount keeps to its size."""
        return Grid(self, self.within([a.roles for a in self.sum.amounts], self.entries, self.focus))

    @property
    def least(self) -> _Excess:
        """Bounds by the lower ends of what is taken."""
        return self._excesses[0]

    @property
    def most(self) -> _Excess:
        """Bounds by the upper ends."""
        return self._excesses[1]

    @functools.cached_property
    def _excesses(self) -> tuple[_Excess, _Excess]:
        low, high = zip(*(self._ends(a.of, a.roles) for a in self.sum.amounts), strict=True)
        room_low, room_high = self._ends(lambda parts: -self.sum.room(parts), self.sum.shared)
        weights = self._weights()
        return (
            _Excess(list(low), weights, room_low),
            _Excess(list(high), weights, room_high),
        )

    def _ends(self, of: _Of, roles: tuple[str, ...]) -> tuple[_Bounded, _Bounded]:
        """Over groups: the least lower end, and the least upper end any member can have."""
        full = of(self.grid.full(roles))
        alike = all(self.grid.groups[r].alike for r in roles)
        upper = full.hi if alike else of(self.grid.corner(roles)).lo
        return self._bounded(full.lo, roles), self._bounded(upper, roles)

    def _bounded(self, values: Array | float, roles: tuple[str, ...]) -> _Bounded:
        costs = np.broadcast_to(np.asarray(values, dtype=float), self.grid.shape(roles))
        return _Bounded(Table(roles, costs, self.grid.groups))

    def _weights(self) -> list[_Bounded | None]:
        found: dict[int, _Bounded | None] = {}
        each = self.sum.weights(self.grid.full(self.sum.shared))
        for weight in each:
            always = np.all(np.asarray(weight.lo) >= 1)
            if id(weight) not in found:
                found[id(weight)] = None if always else self._bounded(weight.lo, self.sum.shared)
        return [found[id(weight)] for weight in each]

    @functools.cached_property
    def paid(self) -> CostTable:
        """The part of the cost that shows in a table: what no filling of the other roles can save."""
        scope = self.sum.shared
        others = max((float(m.min()) for r, m in self.minutes.items() if r not in scope), default=0.0)
        minutes = functools.reduce(
            np.maximum, (self.grid.least(r, self.minutes[r], scope) for r in scope), np.asarray(others)
        )
        shape = self.grid.shape(scope)
        known: dict[Outcome, Array | float] = {Outcome.UNPROVEN: open_cost(minutes), Outcome.FAILS: FAIL}
        return self._table(
            scope, [np.broadcast_to(np.asarray(known.get(o, 0.0)), shape) for o in self.outcomes]
        )

    def tables(self) -> list[Weighted]:
        """The sum itself, and what of it shows in tables."""
        shared = set(self.sum.shared)
        pairs = zip(self.sum.amounts, self.least.amounts, self.most.amounts, strict=True)
        return [
            self,
            self.paid,
            *(
                self._projected(amount.roles, low, high)
                for amount, low, high in pairs
                if shared <= set(amount.roles)
            ),
        ]

    def _projected(self, scope: tuple[str, ...], low: _Bounded, high: _Bounded) -> CostTable:
        """What one amount and the least of all others rule out."""
        each = {o: (self.most, high) if o is Outcome.FITS else (self.least, low) for o in self.outcomes}
        return self._table(scope, [self._ruled_out(o, *each[o], scope) for o in self.outcomes])

    def _ruled_out(self, outcome: Outcome, excess: _Excess, one: _Bounded, scope: tuple[str, ...]) -> Array:
        if outcome is Outcome.FAILS:
            return np.zeros(self.grid.shape(scope))
        shared = frozenset(self.sum.shared)
        total: Array | float = 0.0
        for amount, weight in zip(excess.amounts, excess.weights, strict=True):
            least = amount.table if amount is one else amount.table.least(shared)
            share = spread(least, scope, self.grid.groups)
            total = total + (
                share if weight is None else share * spread(weight.table, scope, self.grid.groups)
            )
        over = _over(total, -spread(excess.room.table, scope, self.grid.groups))
        return np.broadcast_to(np.where(over, FORBIDDEN, 0.0), self.grid.shape(scope))

    def _table(self, scope: tuple[str, ...], costs: list[Array]) -> CostTable:
        """A table with the outcomes along its first axis."""
        groups = {r: self.grid.groups[r] for r in scope}
        groups[self.outcome] = Groups.singletons(len(self.outcomes))
        return CostTable((self.outcome, *scope), np.stack(costs), groups)

    def sweep(self, assigned: Mapping[str, int], variable: str) -> Array:
        if variable == self.outcome:
            each = [self._left({**assigned, self.outcome: o}, None) for o in range(len(self.outcomes))]
            return np.array([float(e) for e in each])
        found = self._left(assigned, variable) if self.outcome in assigned else 0.0
        return np.broadcast_to(found, (len(self.columns[variable]),))

    def _left(self, assigned: Mapping[str, int], variable: str | None) -> Array | float:
        """What is still to be paid, for every value of one role if one is given."""
        outcome = self.outcomes[assigned[self.outcome]]
        if all(r in assigned or r == variable for r in self.roles):
            cost = self.exactly(assigned, variable)
            return np.where(outcome.holds(cost), cost, FORBIDDEN) - self._paid_by(assigned, variable)
        if outcome is Outcome.FAILS:
            return 0.0
        over = (self.most if outcome is Outcome.FITS else self.least).above(assigned, variable)
        left = self._minutes_left(assigned, variable) if outcome is Outcome.UNPROVEN else 0.0
        return np.where(over, FORBIDDEN, left)

    def _minutes_left(self, assigned: Mapping[str, int], variable: str | None) -> Array | float:
        """Cost of the measurements beyond what the table of :attr:`paid` has, while roles are open."""
        if not all(r in assigned or r == variable for r in self.sum.shared):
            return 0.0
        each = (
            m if r == variable else m[assigned[r]] if r in assigned else m.min()
            for r, m in self.minutes.items()
        )
        return open_cost(functools.reduce(np.maximum, each)) - self._paid_by(assigned, variable)

    def _paid_by(self, assigned: Mapping[str, int], variable: str | None) -> Array | float:
        if variable is not None and variable in self.paid.scope:
            return self.paid.table.row(assigned, variable)
        return self.paid.cost(assigned)

    def cost(self, assignment: Mapping[str, int]) -> float:
        return float(self._left(assignment, None))
