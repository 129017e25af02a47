"""The views of candidates agree: whole tables, single parts, one place of a column, and the hull.

The search judges tables and hulls, the answers judge single parts; the definition is that all say
the same of the same part, and that the hull of some candidates holds what is said of each.
"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from boxes import Boxes, Plan, checks_of, kind_of, lot_of, plans
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.checks.base import Check
from fitter.kinds import Offer
from fitter.ratings import Evidence, Rating
from fitter.solve.candidates import Along, Candidate, Columns, Hull, OfferTable, Place, Single

CANDIDATES = 2  # of each role
SLACK = 1e-9


def candidates(graph: Any, role: str, rng: np.random.Generator) -> Columns:
    """A few parts for a role with random ratings, some of them tried, some not."""
    kind = kind_of(graph, role, rng)
    boxes = Boxes(kind, CANDIDATES, rng)
    made = [
        Candidate(
            lot_of(
                kind,
                id=f"{role} {i}",
                count=int(rng.integers(1, 3)),
                condition=str(rng.choice(["working", "untested", "worn"])),
            ),
            Offer("", "", _ratings(boxes, i), rail=int(rng.integers(0, 2))),
            unit=int(rng.integers(1, 3)),
        )
        for i in range(CANDIDATES)
    ]
    return Columns(OfferTable(made), np.arange(CANDIDATES))


def _ratings(boxes: Boxes, row: int) -> dict[str, Rating]:
    found = {}
    for name in boxes.offer.ratings:
        box = boxes[name]
        lo, hi = float(box.lo[row, 0]), float(box.hi[row, 0])
        found[name] = Rating(lo, hi, lo, Evidence.ESTIMATED)
    return found


def close(a: Any, b: Any) -> bool:
    return bool(np.allclose(a, b, rtol=SLACK, atol=SLACK))


def assert_views_agree(check: Check, columns: dict[str, Columns], rng: np.random.Generator) -> None:
    roles = tuple(dict.fromkeys(check.roles))
    table = check.judge({r: Along(columns[r], axis, len(roles)) for axis, r in enumerate(roles)}).margin
    shape = (CANDIDATES,) * len(roles)
    lo, hi = np.broadcast_to(table.lo, shape), np.broadcast_to(table.hi, shape)
    hull = check.judge({r: Hull(columns[r]) for r in roles}).margin
    assert hull.lo <= lo.min() * (1 + SLACK) + SLACK, check
    assert hull.hi >= hi.max() * (1 - SLACK) - SLACK, check
    every = list(itertools.product(range(CANDIDATES), repeat=len(roles)))
    for i in rng.permutation(len(every))[:6]:
        where = every[int(i)]
        single = check.judge({r: Single(columns[r].candidate(p)) for r, p in zip(roles, where, strict=True)})
        placed = check.judge({r: Place(columns[r], p) for r, p in zip(roles, where, strict=True)})
        assert isinstance(single.margin.lo, float), check
        assert close(single.margin.lo, lo[where]), check
        assert close(single.margin.hi, hi[where]), check
        assert single.margin == placed.margin, check


def assert_partly_open(check: Check, columns: dict[str, Columns], rng: np.random.Generator) -> None:
    """With some roles filled, others along a table and the rest open, every completion is held."""
    roles = tuple(dict.fromkeys(check.roles))
    how = rng.integers(0, 3, len(roles))
    along = [r for r, h in zip(roles, how, strict=True) if h == 0]
    views: dict[str, Any] = {}
    for role, h in zip(roles, how, strict=True):
        if h == 0:
            views[role] = Along(columns[role], along.index(role), max(len(along), 1))
        else:
            views[role] = Place(columns[role], 0) if h == 1 else Hull(columns[role])
    bound = check.judge(views).margin
    shape = (CANDIDATES,) * max(len(along), 1)
    lo, hi = np.broadcast_to(bound.lo, shape), np.broadcast_to(bound.hi, shape)
    where = {r: int(rng.integers(0, CANDIDATES)) if h != 1 else 0 for r, h in zip(roles, how, strict=True)}
    exact = check.judge({r: Single(columns[r].candidate(p)) for r, p in where.items()}).margin
    at = tuple(where[r] for r in along) or (0,)
    assert lo[at] <= exact.lo * (1 + SLACK) + SLACK, check
    assert hi[at] >= exact.hi * (1 - SLACK) - SLACK, check


@pytest.mark.parametrize("plan", plans(), ids=str)
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=5, deadline=None)
def test_tables_single_parts_and_hulls_agree(plan: Plan, seed: int) -> None:
    rng = np.random.default_rng(seed)
    graph, checks = checks_of(plan, rng)
    columns = {node: candidates(graph, node, rng) for node, data in graph.nodes(data=True) if "role" in data}
    for check in checks:
        assert_views_agree(check, columns, rng)
        assert_partly_open(check, columns, rng)
