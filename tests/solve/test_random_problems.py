"""The first ten of hundreds of random problems, against product and sort (definition of the answer).

Each family stresses one thing; what the draws of a family must contain is tested too.
"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from random_problems import SharedUnit, Sum, draw, product_and_sort

from fitter.solve.ranked import FORBIDDEN, CostTable, Pieces, Search

FIRST = 10
FAMILIES: dict[str, dict[str, Any]] = {
    "mixed": {"variables": (3, 7), "values": (2, 5), "density": 0.3, "spare": (2, 6)},
    "every set ties": {"variables": (3, 6), "values": (2, 6), "density": 0.4, "dearest": 1},
    "scarce pieces": {"variables": (3, 6), "values": (2, 5), "density": 0.2, "spare": (1, 3)},
    "many values": {"variables": (2, 4), "values": (8, 18), "density": 0.8, "dearest": 3},
    "long chains": {"variables": (6, 8), "values": (2, 4), "density": 0.15, "spare": (3, 8)},
}
SEEDS = 60


@pytest.mark.parametrize("family", FAMILIES)
def test_first_ten_equal_product_and_sort(family: str) -> None:
    truths = []
    for seed in range(SEEDS):
        sizes, constraints = draw(seed, **FAMILIES[family])
        search = Search(sizes, constraints)
        truth = product_and_sort(sizes, constraints, search.order)
        found = list(itertools.islice(iter(search.next, None), FIRST))
        assert [(cost, tuple(a[v] for v in search.order)) for cost, a in found] == truth[:FIRST], seed
        if len(truth) < FIRST:
            assert search.bound == FORBIDDEN, seed
        truths.append(truth)
    assert sum(not t for t in truths) >= 3, "some have no solution"
    assert sum(len(t) > 0 for t in truths) >= SEEDS // 3
    assert sum(len(t) > 1 and t[0][0] == t[1][0] for t in truths) >= 10, "some tie for the first place"


def test_shared_units_decide_some_of_the_draws() -> None:
    """Problems in which the optimum would be another if units were not shared."""
    decided = 0
    for seed in range(SEEDS):
        sizes, constraints = draw(seed, **FAMILIES["mixed"])
        without = [c for c in constraints if not isinstance(c, SharedUnit)]
        decided += Search(sizes, constraints).next() != Search(sizes, without).next()
    assert decided >= 5


def test_pieces_decide_some_of_the_draws() -> None:
    decided = 0
    for seed in range(SEEDS):
        sizes, constraints = draw(seed, **FAMILIES["scarce pieces"])
        without = [c for c in constraints if not isinstance(c, Pieces)]
        decided += Search(sizes, constraints).next() != Search(sizes, without).next()
    assert decided >= 20


def test_ties_come_in_order_of_values() -> None:
    """All costs zero: the sets come as an odometer counts (the order that the search promises)."""
    search = Search({"a": 3, "b": 4}, [CostTable((v,), np.zeros(n)) for v, n in (("a", 3), ("b", 4))])
    found = [tuple(a[v] for v in search.order) for _, a in iter(search.next, None)]
    assert found == sorted(found)
    assert len(found) == 12


def test_a_sum_that_nothing_meets_is_proven_without_listing() -> None:
    """6^12 sets, each of the least amount one: a sum below 12 is seen at once to be out of reach."""
    names = [f"v{i}" for i in range(12)]
    constraints = [CostTable((v,), np.zeros(6)) for v in names]
    rail = Sum({v: np.arange(1, 7) for v in names}, 11.0)
    search = Search(dict.fromkeys(names, 6), [*constraints, rail])
    assert search.next() is None
    assert search.bound == FORBIDDEN
    assert search.nodes <= 12
