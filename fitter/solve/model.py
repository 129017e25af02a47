"""One variant of a project as variables and weighted constraints for the ranked search."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from functools import partial

import networkx as nx
import numpy as np

from fitter.checks.base import Check
from fitter.checks.find import find_checks
from fitter.functions import Role
from fitter.kinds.model import WHOLE_UNIT
from fitter.solve.candidates import Candidate, Columns
from fitter.solve.ranked import CostTable, Pieces, Weighted
from fitter.solve.sums import Sum
from fitter.solve.tables import Mask, Tables

MANY = 1_000  # candidates in all roles together of which a first look is a coarse one

SHARES = 1000  # into which a supply unit is divided among roles; more than a project has
EMPTY = np.zeros(0, dtype=np.int64)


class Model:
    """One variant of a project as variables and weighted constraints."""

    def __init__(self, graph: nx.DiGraph[str], tables: Tables) -> None:
        self.tables = tables
        self.graph = graph
        self.checks = [c for c in find_checks(graph) if c.name not in tables.filters.unchecked]
        self.roles: dict[str, Role] = {n: d["role"] for n, d in graph.nodes(data=True) if "role" in d}
        own: dict[str, list[Check]] = {r: [] for r in self.roles}
        for check in self.checks:
            if len(check.roles) == 1:
                own[check.roles[0]].append(check)
        found = {name: tables.role(role, own[name]) for name, role in self.roles.items()}
        columns = {r: c for r, (c, _) in found.items()}
        coarse = sum(map(len, columns.values())) > MANY
        costs = {r: cost for r, (_, cost) in found.items()}
        self._weigh(columns, costs, partial(tables.joint, coarse=coarse), coarse=coarse)

    def _weigh(
        self,
        columns: dict[str, Columns],
        costs: dict[str, CostTable],
        weighted: Callable[[Check, Mapping[str, Columns]], list[Weighted]],
        *,
        coarse: bool = False,
    ) -> None:
        """Work out what the choice among some candidates costs."""
        self.columns = columns
        self.costs = costs
        self.coarse = coarse
        self.constraints: list[Weighted] = list(costs.values())
        if self.possible:
            for check in self.checks:
                if len(check.roles) > 1:
                    self.constraints += weighted(check, columns)
            self.constraints.append(self._pieces())

    def ruled(self, keep: Mapping[str, Mask], focus: str | None = None) -> Model:
        """The same with only some of the candidates of some roles, and finer tables.

        With a role in ``focus`` the tables are finest in that.
        """
        if not keep and focus is None:
            return self
        other = copy.copy(self)
        every = {r: keep.get(r, np.ones(len(c), dtype=bool)) for r, c in self.columns.items()}
        other._weigh(
            {r: c.select(every[r]) for r, c in self.columns.items()},
            {r: CostTable((r,), c.table.costs[every[r]]) for r, c in self.costs.items()},
            partial(self.tables.weighted, focus=focus),
        )
        return other

    @property
    def possible(self) -> bool:
        """Whether every role has a candidate left."""
        return all(len(c) for c in self.columns.values())

    @property
    def sizes(self) -> dict[str, int]:
        """Number of values of each variable: candidates of a role, outcomes of a sum."""
        sums = {c.outcome: len(c.outcomes) for c in self.constraints if isinstance(c, Sum)}
        return {**{r: len(c) for r, c in self.columns.items()}, **sums}

    def _pieces(self) -> Pieces:
        """What each candidate takes of its lot.

        A supply unit that is there once may serve several roles, rail by rail; but an offer that needs the
        unit for itself takes all shares of it.
        """
        units = np.unique(np.concatenate([c.unit for c in self.columns.values()]))
        available = np.zeros(len(units), dtype=np.int64)
        rails = {n: c for n, c in self.columns.items() if self.graph.nodes[n].get("makes_rail")}
        whole = {n: c.rating("rail").lo == WHOLE_UNIT for n, c in rails.items()}
        stacked = np.unique(np.concatenate([EMPTY, *(rails[n].unit[at] for n, at in whole.items())]))
        sources, pieces = {}, {}
        for name, columns in self.columns.items():
            place = np.searchsorted(units, columns.unit)
            sources[name] = np.where(columns.bought, -1, place)
            pieces[name] = self.roles[name].count * columns.pieces
            available[place] = self.tables.filters.available(columns)
            if name in rails:
                shared = columns.count == 1
                split = shared & np.isin(columns.unit, stacked)
                sources[name] = np.where(shared & ~split, -1, sources[name])
                pieces[name] = np.where(split, np.where(whole[name], SHARES, 1), pieces[name])
                available[place[split]] = SHARES
        return Pieces(sources, pieces, available)

    def candidate(self, role: str, value: int) -> Candidate:
        """The candidate that a value stands for."""
        return self.columns[role].candidate(value)
