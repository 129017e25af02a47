"""The same optimum as OR-Tools CP-SAT, an engine of another kind, on problems too large to list.

Models are built here and in `cpsat_peer.py` from the same tables of costs and the same judgements of checks;
nothing of the search is used in them.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
import synthetic
from random_problems import SharedUnit, Sum, draw

pytest.importorskip("ortools", reason="OR-Tools (extra 'dev') is not installed")
from cpsat_peer import Engine, best
from exhaustive import Shelf
from ortools.sat.python import cp_model

from fitter.advice.data import shop
from fitter.projects import Project, bind
from fitter.recipes import load_recipes
from fitter.solve.builds import judge
from fitter.solve.candidates import Pool
from fitter.solve.ranked import FORBIDDEN, CostTable, Pieces, Search, Weighted
from fitter.solve.score import Waste
from fitter.solve.variants import Limit, ranked_builds
from fitter.stock.files import load_stock

RECIPES = load_recipes()
SEEDS = range(24)
MEDIUM: dict[str, Any] = {"variables": (7, 11), "values": (3, 11), "density": 0.3, "spare": (2, 5)}
QUICK = Engine(presolve=False)


# ---------------------------------------------------------------- weighted problems


class Model:
    """A weighted problem for CP-SAT: tables as tables, rails as sums, pieces as sums."""

    def __init__(self, sizes: Mapping[str, int], constraints: list[Weighted]) -> None:
        self.model = cp_model.CpModel()
        self.place = {v: self.model.new_int_var(0, n - 1, v) for v, n in sizes.items()}
        self.is_at = {v: [self._literal(v, i) for i in range(n)] for v, n in sizes.items()}
        self.costs: list[Any] = []
        for each in constraints:
            self._add(each)
        self.model.minimize(sum(self.costs))

    def _literal(self, variable: str, value: int) -> Any:
        literal = self.model.new_bool_var("")
        self.model.add(self.place[variable] == value).only_enforce_if(literal)
        self.model.add(self.place[variable] != value).only_enforce_if(literal.negated())
        return literal

    def _add(self, constraint: Weighted) -> None:
        if isinstance(constraint, CostTable):
            self._table(constraint)
        elif isinstance(constraint, Sum):
            self._rail(constraint)
        elif isinstance(constraint, SharedUnit):
            self._shared(constraint)
        elif isinstance(constraint, Pieces):
            self._pieces(constraint)

    def _table(self, table: CostTable) -> None:
        sizes = [len(self.is_at[v]) for v in table.scope]
        rows = []
        for places in itertools.product(*map(range, sizes)):
            cost = table.cost(dict(zip(table.scope, places, strict=True)))
            if cost < FORBIDDEN:
                rows.append((*places, int(cost)))
        cost = self.model.new_int_var(0, 10**6, "")
        self.costs.append(cost)
        self.model.add_allowed_assignments([*(self.place[v] for v in table.scope), cost], rows)

    def _rail(self, rail: Sum) -> None:
        total = self._sum(rail.amounts)
        near = self.model.new_bool_var("")
        self.model.add(total <= int(rail.limit))
        self.model.add(total <= int(rail.limit) - 1).only_enforce_if(near.negated())
        self.costs.append(near * 3)

    def _sum(self, amounts: Mapping[str, Any]) -> Any:
        return sum(
            int(amount) * literal
            for v, each in amounts.items()
            for amount, literal in zip(each, self.is_at[v], strict=True)
        )

    def _shared(self, shared: SharedUnit) -> None:
        first, second = shared.sources
        total = self._sum(shared.loads)
        for i, j in itertools.product(range(len(self.is_at[first])), range(len(self.is_at[second]))):
            if shared.units[first][i] == shared.units[second][j]:
                both = (self.is_at[first][i], self.is_at[second][j])
                self.model.add(total <= int(shared.limit)).only_enforce_if(*both)

    def _pieces(self, pieces: Pieces) -> None:
        for source, available in enumerate(pieces.available):
            self.model.add(
                sum(
                    int(pieces.pieces[v][i]) * self.is_at[v][i]
                    for v in pieces.scope
                    for i in np.flatnonzero(pieces.sources[v] == source)
                )
                <= int(available)
            )

    def optimum(self) -> float:
        """Least cost; infinite where nothing is allowed."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.cp_model_presolve = False
        status = solver.solve(self.model)
        assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
        return solver.objective_value if status == cp_model.OPTIMAL else FORBIDDEN


@pytest.mark.parametrize("seed", SEEDS)
def test_same_optimum_on_weighted_problems(seed: int) -> None:
    sizes, constraints = draw(seed, **MEDIUM)
    found = Search(sizes, constraints).next()
    ours = FORBIDDEN if found is None else found[0]
    assert ours == Model(sizes, constraints).optimum()
    if found is not None:
        assert sum(c.cost(found[1]) for c in constraints) == ours


def test_the_weighted_problems_are_varied() -> None:
    """The test above means little unless some have a solution, some none, and most are large."""
    drawn = [draw(seed, **MEDIUM) for seed in SEEDS]
    products = [float(np.prod([float(n) for n in sizes.values()])) for sizes, _ in drawn]
    assert np.median(products) > 1e6
    solved = [Search(*problem).next() is not None for problem in drawn]
    assert len(solved) // 2 <= sum(solved) < len(solved)


# ---------------------------------------------------------------- recipes


@pytest.fixture(scope="module")
def stocks(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Synthetic stocks by size and seed, with the shop beside them."""
    kept: dict[tuple[int, int], Shelf] = {}

    def stock(size: int, seed: int) -> Shelf:
        if (size, seed) not in kept:
            path = tmp_path_factory.mktemp("stocks") / f"{size}-{seed}.yaml"
            sizes = shop()
            lots = load_stock(synthetic.write(path, size, seed)).lots
            pool = Pool(lots, (lot for several in sizes.values() for lot in several))
            kept[size, seed] = Shelf(pool, Waste(pool, sizes), {}, ())
        return kept[size, seed]

    return stock


def assert_same(project: Project, shelf: Shelf) -> float | None:
    """The optimum of both, which must agree and be proven."""
    tables, limit = shelf.tables(), Limit(seconds=60)
    found = next(ranked_builds(project, tables, limit), None)
    peer = best(project, shelf, seconds=60, engine=QUICK)
    assert peer.proven
    assert not limit.reached
    assert (None if found is None else found.score) == peer.score
    if found is not None:
        judge(found, tables)
    return peer.score


CASES = [
    ("camera-slider", 150, 3, {}),
    ("camera-slider", 200, 4, {"payload": "6 kg", "speed": "60 mm/s"}),
    ("lab-supply", 300, 3, {}),
    ("lab-supply", 200, 4, {"current": "3 A", "voltage": "12 V"}),
    ("drawer-rails", 300, 3, {}),
    ("pen-plotter", 100, 3, {}),
]


@pytest.mark.parametrize(("recipe", "size", "seed", "demands"), CASES)
def test_same_optimum_on_recipes(
    stocks: Any, recipe: str, size: int, seed: int, demands: Mapping[str, str]
) -> None:
    assert assert_same(bind(RECIPES[recipe], demands), stocks(size, seed)) is not None


def test_both_know_that_there_is_none(stocks: Any) -> None:
    project = bind(RECIPES["drawer-rails"], {"load": "150 kg"})
    assert assert_same(project, stocks(150, 3)) is None
