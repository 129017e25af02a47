"""The ranked search against its slow twin: all products, sorted.

The judge is exhaustive enumeration, which needs no source: it is the definition of the answer.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import constraint
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_problems import Sum, product_and_sort

from fitter.solve import elimination
from fitter.solve.ranked import FORBIDDEN, CostTable, Pieces, RankedSolver, Search, Weighted

FIRST = 10


def random_problem(seed: int) -> tuple[dict[str, int], list[Weighted]]:
    """A small problem with cycles, ties, forbidden pairs, a rail sum and shared pieces."""
    rng = np.random.default_rng(seed)
    names = [f"v{i}" for i in range(int(rng.integers(2, 6)))]
    sizes = {v: int(rng.integers(1, 6)) for v in names}
    found: list[Weighted] = []
    for v in names:
        found.append(CostTable((v,), rng.integers(0, 4, sizes[v]).astype(float)))
    for a, b in itertools.combinations(names, 2):
        if rng.random() < 0.6:
            costs = rng.integers(0, 3, (sizes[a], sizes[b])).astype(float)
            costs[rng.random(costs.shape) < rng.choice([0.1, 0.4])] = FORBIDDEN
            found.append(CostTable((a, b), costs))
    if rng.random() < 0.7:
        amounts = {v: rng.integers(0, 5, sizes[v]) for v in names}
        found.append(Sum(amounts, float(rng.integers(0, 4 * len(names)))))
    sources = {v: rng.integers(-1, 4, sizes[v]) for v in names}
    pieces = {v: rng.integers(1, 3, sizes[v]) for v in names}
    found.append(Pieces(sources, pieces, rng.integers(1, 4, 4)))
    return sizes, found


def problem_of(sizes: Mapping[str, int], constraints: list[Weighted]) -> constraint.Problem:
    problem = constraint.Problem(RankedSolver())
    for variable, size in sizes.items():
        problem.addVariable(variable, list(range(size)))
    for weighted in constraints:
        problem.addConstraint(weighted, list(weighted.scope))
    return problem


@pytest.mark.parametrize("block", range(10))
def test_first_ten_equal_product_and_sort(block: int) -> None:
    for seed in range(40 * block, 40 * block + 40):
        sizes, constraints = random_problem(seed)
        search = Search(sizes, constraints)
        truth = product_and_sort(sizes, constraints, search.order)
        found = list(itertools.islice(iter(lambda: search.next(), None), FIRST))
        assert [(c, tuple(a[v] for v in search.order)) for c, a in found] == truth[:FIRST], seed
        if len(truth) < FIRST:
            assert search.bound == FORBIDDEN, seed


def test_some_random_problems_have_no_solution_and_some_have_ties() -> None:
    """The test above means little unless its problems are varied."""
    truths = []
    for seed in range(400):
        sizes, constraints = random_problem(seed)
        truths.append(product_and_sort(sizes, constraints, tuple(sizes)))
    assert sum(not t for t in truths) > 40
    assert sum(len(t) > 1 and t[0][0] == t[1][0] for t in truths) > 40


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_split_messages_change_nothing_but_effort(seed: int) -> None:
    sizes, constraints = random_problem(seed)
    tables = [c.table for c in constraints if isinstance(c, CostTable)]
    full = elimination.eliminate(sizes, tables)
    split = elimination.eliminate(sizes, tables, limit=5)
    assert split.bound <= full.bound
    best = min(
        (
            sum(t.at(dict(zip(sizes, values, strict=True))) for t in tables)
            for values in itertools.product(*(range(n) for n in sizes.values()))
        ),
        default=FORBIDDEN,
    )
    assert full.bound == best, "within the limit the bound is the exact optimum of the tables"


@pytest.mark.parametrize("seed", range(30))
def test_all_solver_methods_agree_with_the_librarys_own_solver(seed: int) -> None:
    sizes, constraints = random_problem(seed)
    ours = problem_of(sizes, constraints)
    theirs = problem_of(sizes, constraints)
    theirs.setSolver(constraint.BacktrackingSolver())
    mine = ours.getSolutions()
    assert sorted(sorted(s.items()) for s in mine) == sorted(sorted(s.items()) for s in theirs.getSolutions())
    costs = [sum(c.cost(s) for c in constraints) for s in mine]
    assert costs == sorted(costs)
    assert ours.getSolution() == (mine[0] if mine else None)
    assert list(ours.getSolutionIter()) == mine


def test_a_limit_stops_and_can_be_resumed() -> None:
    sizes, constraints = random_problem(5)
    whole = [a for _, a in iter(lambda s=Search(sizes, constraints): s.next(), None)]
    search, pieced = Search(sizes, constraints), []
    while search.bound < FORBIDDEN:
        found = search.next(nodes=1)
        if found is not None:
            pieced.append(found[1])
    assert pieced == whole
    dear = Search(sizes, constraints)
    assert dear.next(limit=dear.bound - 1) is None
    assert dear.next(limit=FORBIDDEN) is not None


def test_values_must_be_places() -> None:
    problem = constraint.Problem(RankedSolver())
    problem.addVariable("v", ["a", "b"])
    problem.addConstraint(CostTable(("v",), np.zeros(2)), ["v"])
    with pytest.raises(ValueError, match="0, 1"):
        problem.getSolution()
