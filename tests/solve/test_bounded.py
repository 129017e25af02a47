"""Effort is bounded by the limit, whatever the stock: nodes, memory, and an answer that says it was stopped.

Nothing is timed; stocks are the hard ones of the benchmarks.
"""

from __future__ import annotations

import itertools
import tracemalloc
from pathlib import Path

import adversarial
import numpy as np
import pytest
from random_problems import Sum

from fitter.projects import bind
from fitter.shed import Shed
from fitter.solve.builds import judge
from fitter.solve.ranked import FORBIDDEN, CostTable, Search
from fitter.solve.variants import Limit, ranked_builds

VALUES, VARIABLES = 400, 6
RECIPES = ("camera-slider", "lab-supply", "drawer-rails")


def plateau(limit: float) -> Search:
    """Sets without number, all of one cost, nearly all rejected by a sum that shows only at the end."""
    rng = np.random.default_rng(1)
    names = [f"v{i}" for i in range(VARIABLES)]
    amounts = {v: rng.integers(10, 90, VALUES) for v in names}
    for v in names:
        amounts[v][:3] = (0, 1, 2)
    tables = [CostTable((v,), np.where(amounts[v] < 3, 1.0, 0.0)) for v in names]
    return Search(dict.fromkeys(names, VALUES), [*tables, Sum(amounts, limit)])


@pytest.mark.parametrize("nodes", [1, 50, 400])
def test_a_limit_of_nodes_bounds_nodes_and_memory(nodes: int) -> None:
    """A node holds a few arrays of the values of its variable: 16 of them are more than enough."""
    search = plateau(1.0)
    search.next(nodes=1)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    search.next(nodes=nodes)
    held = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    assert search.nodes <= nodes + 1
    assert held < (nodes + 10) * VALUES * 8 * 16
    assert search.bound < FORBIDDEN, "stopped, not proven"


def test_the_first_of_a_dense_tie_are_found_without_opening_the_tie() -> None:
    """400^6 equal sets: ten are found after about one node a variable each."""
    search = plateau(1e9)
    found = list(itertools.islice(iter(search.next, None), 10))
    assert {cost for cost, _ in found} == {0.0}
    assert len({tuple(a.values()) for _, a in found}) == 10
    assert search.nodes <= 10 * VARIABLES


@pytest.mark.parametrize("sort", adversarial.STOCKS)
def test_hard_stocks_keep_to_the_limit(tmp_path: Path, sort: str) -> None:
    """What is found within the limit is sound, and no more nodes are opened than allowed."""
    shed = Shed.open(adversarial.write(tmp_path / "hard.yaml", sort, 150))
    for recipe in RECIPES:
        tables, limit = shed.tables(), Limit(nodes=100, seconds=30)
        project = bind(shed.recipe(recipe))
        found = list(itertools.islice(ranked_builds(project, tables, limit), 3))
        scores = [judge(f, tables).score for f in found]
        assert scores == sorted(scores)
        assert limit.used <= 100
        assert limit.reached or len(found) == 3 or scores == [f.score for f in ranked_builds(project, tables)]


def test_copies_of_one_lot_are_all_as_good(tmp_path: Path) -> None:
    """Interchangeable lots: the first sets tie exactly, and each is another choice of lots."""
    shed = Shed.open(adversarial.write(tmp_path / "same.yaml", "interchangeable lots", 600))
    found = list(itertools.islice(ranked_builds(bind(shed.recipe("lab-supply")), shed.tables()), 10))
    assert len({f.score for f in found}) == 1
    assert len({tuple(sorted((r, c.id) for r, c in f.parts.items())) for f in found}) == 10
