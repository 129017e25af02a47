"""Checks turned into costs: tables over one or two roles, and sweeps over more.

A check is judged once for all candidates of its roles together, as arrays. Tables are kept and
shared by all variants of a project in which the same check stands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from fitter.checks.base import Check
from fitter.functions import Role
from fitter.solve.candidates import Along, Array, Columns, Pool
from fitter.solve.ranked import FORBIDDEN, CostTable
from fitter.solve.score import BUY, Waste, check_cost
from fitter.solve.sweeps import Corners, Sweep, longest, projections

if TYPE_CHECKING:
    import numpy.typing as npt

Mask: TypeAlias = "npt.NDArray[np.bool_]"


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
        self._singles: dict[tuple[Check, tuple[Columns, ...]], dict[str, Array]] = {}
        self._narrowed: dict[tuple[Columns, bytes], Columns] = {}
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
            sweep = Sweep(check, columns, self.corners, soft=self.soft)
            self._sweeps[key] = sweep, projections(sweep)
        return self._sweeps[key]

    def single_bounds(self, check: Check, columns: Mapping[str, Columns]) -> dict[str, Array]:
        """For every role of a check, the least that the check can cost with each of its candidates."""
        key = (check, tuple(columns[r] for r in dict.fromkeys(check.roles)))
        if key not in self._singles:
            sweep = Sweep(check, columns, self.corners, soft=self.soft)
            self._singles[key] = {} if check.keys else {role: sweep.project((role,)) for role in sweep.scope}
        return self._singles[key]

    def narrowed(self, columns: Columns, keep: Mask) -> Columns:
        """Some candidates of a role; the same columns whenever the same ones are kept."""
        key = (columns, keep.tobytes())
        if key not in self._narrowed:
            self._narrowed[key] = columns.select(keep)
        return self._narrowed[key]

    def judge(self, check: Check, views: Mapping[str, Along]) -> Array:
        """Cost of a check for all candidates of its roles."""
        judgement = check.judge(views)
        minutes: float | Array = 0.0
        for view in views.values():
            minutes = np.maximum(minutes, longest(view.columns, view.read).reshape(view.shape))
        return check_cost(judgement, minutes, soft=self.soft)
