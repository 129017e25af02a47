"""One variant of a project as variables and weighted constraints for the ranked search."""

from __future__ import annotations

import math

import networkx as nx
import numpy as np

from fitter.checks.base import ROUNDING, Check
from fitter.checks.find import find_checks
from fitter.functions import Role
from fitter.solve.candidates import Array, Candidate, Columns, Hull
from fitter.solve.ranked import FORBIDDEN, CostTable, Pieces, Weighted
from fitter.solve.tables import Tables

LARGEST_FULL = 200_000  # entries of a check over several roles that is tabulated whole
EVERYTHING = 1 << 62  # a breadth that leaves no candidate out


class Model:
    """One variant of a project as variables and weighted constraints.

    The checks over many roles, which take longest to set up, come with :meth:`widen`; without them
    the model is a relaxation, good for a bound.

    **Breadth.** Of a large stock only the ``breadth`` most promising candidates of each role are
    taken up. What a candidate can cost at the least, with the best of everything else, is bounded by
    its own cost and what each check can cost with it, other roles taken as the hull of all their
    candidates. :attr:`guarantee` is the least of those bounds over all candidates left out: every
    solution cheaper than that is in the model.
    """

    def __init__(self, graph: nx.DiGraph[str], tables: Tables, breadth: int = EVERYTHING) -> None:
        self.tables = tables
        self.graph = graph
        self.guarantee = FORBIDDEN
        self.checks = find_checks(graph)
        self.roles: dict[str, Role] = {n: d["role"] for n, d in graph.nodes(data=True) if "role" in d}
        own: dict[str, list[Check]] = {r: [] for r in self.roles}
        for check in self.checks:
            if len(check.roles) == 1:
                own[check.roles[0]].append(check)
        self.columns: dict[str, Columns] = {}
        costs: dict[str, Array] = {}
        for name, role in self.roles.items():
            self.columns[name], costs[name] = tables.role(role, own[name])
        if self.possible and max(self.sizes.values()) > breadth:
            self._narrow(costs, breadth)
        self.constraints: list[Weighted] = [CostTable((name,), cost) for name, cost in costs.items()]
        self._wide: list[Check] = []
        if self.possible:
            self.constraints += self._joint()
            self.constraints.append(self._pieces())

    def _narrow(self, costs: dict[str, Array], breadth: int) -> None:
        """Keep the most promising candidates of each role and bound all others."""
        base, beyond = self._bounds(costs)
        for name, columns in self.columns.items():
            bound = beyond[name]
            order = np.argsort(bound, kind="stable")
            keep = np.zeros(len(columns), dtype=bool)
            keep[order[:breadth]] = True
            keep &= bound < FORBIDDEN
            left_out = bound[~keep]
            if len(left_out):
                self.guarantee = min(self.guarantee, base + float(left_out.min()))
            self.columns[name] = self.tables.narrowed(columns, keep)
            costs[name] = costs[name][keep]

    def _bounds(self, costs: dict[str, Array]) -> tuple[float, dict[str, Array]]:
        """What any solution costs at the least, and what each candidate adds to that at the least."""
        base = sum(float(cost.min()) for cost in costs.values())
        beyond = {name: cost - cost.min() for name, cost in costs.items()}
        for check in self.checks:
            if len(set(check.roles)) > 1:
                singles = self.tables.single_bounds(check, self.columns)
                least = max((float(bound.min()) for bound in singles.values()), default=0.0)
                if least == FORBIDDEN:
                    return FORBIDDEN, {name: np.full(len(cost), FORBIDDEN) for name, cost in costs.items()}
                base += least
                for name, bound in singles.items():
                    beyond[name] = beyond[name] + np.maximum(bound - least, 0.0)
        return base, beyond

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
