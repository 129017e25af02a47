"""One variant of a project as variables and weighted constraints for the ranked search."""

from __future__ import annotations

import networkx as nx
import numpy as np

from fitter.checks.base import Check
from fitter.checks.find import find_checks
from fitter.functions import Role
from fitter.solve.candidates import Array, Candidate, Columns
from fitter.solve.ranked import CostTable, Pieces, Weighted
from fitter.solve.tables import Tables

MOST_ROLES = 6  # checks over more roles are not tabulated but judged on partial assignments


class Model:
    """One variant of a project as variables and weighted constraints.

    The checks over many roles, which take longest to set up, come with :meth:`widen`; without them
    the model is a relaxation, good for a bound.
    """

    def __init__(self, graph: nx.DiGraph[str], tables: Tables) -> None:
        self.tables = tables
        self.graph = graph
        self.checks = [c for c in find_checks(graph) if c.name not in tables.filters.unchecked]
        self.roles: dict[str, Role] = {n: d["role"] for n, d in graph.nodes(data=True) if "role" in d}
        own: dict[str, list[Check]] = {r: [] for r in self.roles}
        for check in self.checks:
            if len(check.roles) == 1:
                own[check.roles[0]].append(check)
        self.columns: dict[str, Columns] = {}
        costs: dict[str, Array] = {}
        for name, role in self.roles.items():
            self.columns[name], costs[name] = tables.role(role, own[name])
        self.constraints: list[Weighted] = [CostTable((name,), cost) for name, cost in costs.items()]
        self._wide: list[Check] = []
        if self.possible:
            for check in self.checks:
                self._add(check)
            self.constraints.append(self._pieces())

    def _add(self, check: Check) -> None:
        """A check over several roles: tabulated, or kept for :meth:`widen`."""
        roles = len(set(check.roles))
        if 2 <= roles <= MOST_ROLES:
            self.constraints += self.tables.joint(check, self.columns)
        elif roles > MOST_ROLES:
            self._wide.append(check)

    def widen(self) -> None:
        """Add the checks over many roles."""
        for check in self._wide:
            self.constraints += self.tables.wide(check, self.columns)
        self._wide = []

    @property
    def possible(self) -> bool:
        """Whether every role has a candidate left."""
        return all(len(c) for c in self.columns.values())

    @property
    def sizes(self) -> dict[str, int]:
        """Number of candidates of each role."""
        return {r: len(c) for r, c in self.columns.items()}

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
