"""Random weighted problems: cycles, ties, forbidden combinations, rails, shared units, scarce pieces."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

import numpy as np

from fitter.solve.ranked import FORBIDDEN, CostTable, Pieces, Weighted, WideCost

Range = tuple[int, int]  # from the first up to the second, not included


class Sum(WideCost):
    """A rail: the sum of amounts must not pass a limit; costs 3 when it comes within one of it."""

    def __init__(self, amounts: Mapping[str, Any], limit: float) -> None:
        self.scope = tuple(amounts)
        self.amounts = amounts
        self.limit = limit

    def sweep(self, assigned: Mapping[str, int], variable: str) -> Any:
        total = self.amounts[variable].astype(float)
        for other in self.scope:
            if other != variable:
                amounts = self.amounts[other]
                total = total + (amounts[assigned[other]] if other in assigned else amounts.min())
        complete = all(o in assigned or o == variable for o in self.scope)
        near = np.where(complete & (total > self.limit - 1), 3.0, 0.0)
        return np.where(total > self.limit, FORBIDDEN, near)

    def cost(self, assignment: Mapping[str, int]) -> float:
        total = sum(self.amounts[v][assignment[v]] for v in self.scope)
        return FORBIDDEN if total > self.limit else (3.0 if total > self.limit - 1 else 0.0)


class SharedUnit(WideCost):
    """Two sources that may be one unit: if they are, what both feed together must stay within it."""

    def __init__(self, units: Mapping[str, Any], loads: Mapping[str, Any], limit: float) -> None:
        self.sources = tuple(units)
        self.scope = (*units, *loads)
        self.units = units
        self.loads = loads
        self.limit = limit

    def sweep(self, assigned: Mapping[str, int], variable: str) -> Any:
        size = len(self.units[variable] if variable in self.units else self.loads[variable])
        if any(s not in assigned and s != variable for s in self.sources):
            return np.zeros(size)
        first, second = (self.units[s] if s == variable else self.units[s][assigned[s]] for s in self.sources)
        total: Any = 0.0
        for v, load in self.loads.items():
            total = total + (load if v == variable else load[assigned[v]] if v in assigned else load.min())
        return np.broadcast_to(np.where((first == second) & (total > self.limit), FORBIDDEN, 0.0), size)

    def cost(self, assignment: Mapping[str, int]) -> float:
        first, second = (self.units[s][assignment[s]] for s in self.sources)
        total = sum(load[assignment[v]] for v, load in self.loads.items())
        return FORBIDDEN if first == second and total > self.limit else 0.0


def draw(
    seed: int,
    variables: Range = (2, 6),
    values: Range = (1, 6),
    density: float = 0.6,
    dearest: int = 4,
    spare: Range = (1, 4),
) -> tuple[dict[str, int], list[Weighted]]:
    """One problem.

    Args:
        seed: Of everything drawn.
        variables: How many.
        values: How many each.
        density: Share of the pairs of variables that have a table.
        dearest: Costs are whole numbers below it; with 1 every allowed set ties.
        spare: Pieces of each of four sources; from 0 there may be none.
    """
    rng = np.random.default_rng(seed)
    names = [f"v{i}" for i in range(int(rng.integers(*variables)))]
    sizes = {v: int(rng.integers(*values)) for v in names}
    found: list[Weighted] = [CostTable((v,), _costs(rng, dearest, sizes[v])) for v in names]
    share = rng.choice([0.1, 0.4])
    for scope in (*itertools.combinations(names, 2), *itertools.combinations(names, 3)):
        if rng.random() < (density if len(scope) == 2 else density / (2 * len(names))):
            costs = _costs(rng, dearest, *(sizes[v] for v in scope))
            costs[rng.random(costs.shape) < share] = FORBIDDEN
            found.append(CostTable(scope, costs))
    if rng.random() < 0.7:
        amounts = {v: rng.integers(0, 5, sizes[v]) for v in names}
        found.append(Sum(amounts, float(rng.integers(0, 4 * len(names)))))
    if len(names) > 3 and rng.random() < 0.5:
        first, second, *fed = (str(v) for v in rng.permutation(names))
        units = {s: rng.integers(0, 3, sizes[s]) for s in (first, second)}
        loads = {v: rng.integers(0, 5, sizes[v]) for v in fed}
        found.append(SharedUnit(units, loads, float(rng.integers(0, 3 * len(fed)))))
    sources = {v: rng.integers(-1, 4, sizes[v]) for v in names}
    pieces = {v: rng.integers(1, 3, sizes[v]) for v in names}
    found.append(Pieces(sources, pieces, rng.integers(*spare, 4)))
    return sizes, found


def _costs(rng: np.random.Generator, dearest: int, *shape: int) -> Any:
    return rng.integers(0, dearest, shape).astype(float)


def product_and_sort(
    sizes: Mapping[str, int], constraints: list[Weighted], order: tuple[str, ...]
) -> list[tuple[float, tuple[int, ...]]]:
    """All allowed assignments by cost, then by values in a given order of the variables."""
    found = []
    for values in itertools.product(*(range(sizes[v]) for v in order)):
        assignment = dict(zip(order, values, strict=True))
        cost = sum(c.cost(assignment) for c in constraints)
        if cost < FORBIDDEN:
            found.append((cost, values))
    return sorted(found)
